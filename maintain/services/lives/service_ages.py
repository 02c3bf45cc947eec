"""The service age of a category: which clocks, families, zones and methods it tells apart, and what is learnt."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from maintain.core.lives import Floats
from maintain.core.posterior import Draws
from maintain.core.service_age.ages import NO_EFFECT, Ages, Index, Kinds
from maintain.core.service_age.cost import Cost, costs
from maintain.core.service_age.draws import ServiceDraws
from maintain.core.service_age.posterior import ServiceAge, service_age
from maintain.core.service_age.prior import CLOCKS, Layout, Prior
from maintain.core.shape import STEADY_FROM, STEADY_TO
from maintain.services.lives.columns import Words
from maintain.services.lives.labels import UNTREATED

DRAWS = 4000
KEPT = 500  # draws kept for what parts do together
_MANY = 5000  # fitted parts, from which on those are all that is drawn: each part's limits waver by a percent or two
SEED = 1
_SURE = 0.9  # chance asked for before saying which way the hazard goes


@dataclass(frozen=True)
class Names:
    """
    What a fit tells apart, each in the order of its parameters.

    Attributes
    ----------
    category : str
    clocks, family, zone, method : tuple of str
        Empty where all are alike; the untreated are no method: methods are compared with them.
    """

    category: str
    clocks: tuple[str, ...]
    family: tuple[str, ...]
    zone: tuple[str, ...]
    method: tuple[str, ...]

    @classmethod
    def of(cls, clocks: tuple[str, ...], *labelled: dict[str, Words]) -> Names:
        """Read the names off the labels of lives and of fitted parts, all of one category."""
        found = {
            label: sorted(set().union(*(set(each[label].tolist()) for each in labelled)))
            for label in ("family", "zone", "waterproofing")
        }
        methods = [name for name in found["waterproofing"] if name != UNTREATED]
        several = {label: tuple(names) if len(names) > 1 else () for label, names in found.items()}
        category, treated = str(labelled[0]["category"][0]), tuple(methods) if several["waterproofing"] else ()
        return cls(category, clocks, several["family"], several["zone"], treated)

    @property
    def layout(self) -> Layout:
        """How many parameters of each kind that makes."""
        return Layout(len(self.clocks), len(self.zone), len(self.method), len(self.family))

    @property
    def prior(self) -> Prior:
        """The usual belief about the category and these clocks."""
        belief = Prior.of(self.category)
        usual = dict(zip(CLOCKS[1:], belief.worth, strict=True))
        return replace(belief, worth=tuple(usual[clock] for clock in self.clocks[1:]))

    def kinds(self, labels: dict[str, Words]) -> Kinds:
        """Number the labels."""
        pairs = ((self.family, "family"), (self.zone, "zone"), (self.method, "waterproofing"))
        return Kinds(*(_numbered(labels[label], names) for names, label in pairs))


def _numbered(words: Words, names: tuple[str, ...]) -> Index:
    place = {name: i for i, name in enumerate(names)}
    return np.array([place.get(word, NO_EFFECT) for word in words.tolist()], dtype=np.intp)


@dataclass(frozen=True)
class Learnt:
    """
    What the failures of a category say of its service age.

    Attributes
    ----------
    names : Names
    ages : Ages
        The lives it is learnt from.
    size : int
        How many draws are made of it.
    theta : array, optional
        The draws, if they are known from before; nothing is fitted then.
    """

    names: Names
    ages: Ages
    size: int = DRAWS
    theta: Floats | None = None

    @cached_property
    def posterior(self) -> ServiceAge:
        """The fit."""
        return service_age(self.ages, self.names.layout, self.names.prior)

    @cached_property
    def seen(self) -> tuple[int, int]:
        """Lives it was learnt from, and failures among them."""
        return self.ages.n, self.ages.failures

    @cached_property
    def drawn(self) -> ServiceDraws:
        """Joint draws; seeded, so that the same records give the same answer, and every category in its own order."""
        if self.theta is not None:
            return ServiceDraws(self.theta, self.names.layout)
        return self.posterior.sample(np.random.default_rng([SEED, *self.names.category.encode()]), self.size)

    @cached_property
    def worth(self) -> dict[str, Floats]:
        """What a unit of each clock costs, draw by draw."""
        return dict(zip(self.names.clocks, self.drawn.worth.T, strict=True))

    @cached_property
    def worth_middle(self) -> dict[str, float]:
        """The same, in the middle."""
        return {clock: float(np.median(each)) for clock, each in self.worth.items()}

    @property
    def longest(self) -> Floats:
        """Days that parts may have served before first sight, draw by draw."""
        return self.drawn.longest

    @cached_property
    def verdict(self) -> str:
        """How the hazard goes with service age."""
        if not self.ages.failures:
            return "can't tell yet"  # use without failures bounds the rate; it is no evidence of how it goes with age
        shape = self.drawn.shape
        rising, falling = float(np.mean(shape > 1)), float(np.mean(shape < 1))
        if rising >= _SURE:
            return "wear-out"
        if falling >= _SURE:
            return "early failures"
        steady = float(np.mean((shape > STEADY_FROM) & (shape < STEADY_TO)))
        return "steady" if steady >= _SURE else "can't tell yet"

    def costs(self, level: float) -> tuple[Cost, ...]:
        """What a unit of each clock but days costs, with intervals."""
        return costs(self.drawn.worth, self.names.clocks, self.names.prior, level)

    def draws(self, labels: dict[str, Words]) -> Draws:
        """Weibull shape, and scale of each part so labelled."""
        kinds = self.names.kinds(labels)
        return self.drawn.groups(kinds.family, kinds.zone, kinds.method)

    def age(self, use: dict[str, Floats]) -> Floats:
        """Service age of parts, draw by draw, shape = (n_draws, n_parts)."""
        return np.asarray(self.drawn.worth @ np.stack([use[clock] for clock in self.names.clocks]))


def learn(names: Names, ages: Ages, size: int = DRAWS) -> Learnt:
    """Learn the service age of these lives."""
    return Learnt(names, ages, size)


def believe(names: Names, size: int = DRAWS) -> Learnt:
    """Return what is believed of a category of which nothing was seen."""
    rng = np.random.default_rng([SEED, *names.category.encode()])
    return Learnt(names, Ages.none(len(names.clocks)), size, names.prior.draw(rng, names.layout, size))


def draws_for(parts: int) -> int:
    """How many draws are made for so many fitted parts."""
    return DRAWS if parts <= _MANY else KEPT
