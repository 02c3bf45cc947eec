"""What few failures say together with what is believed of such parts, each kind of part lending to its own."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from maintain.core.bounds import known_shape_bound, total_use
from maintain.core.lives import Floats, Lives
from maintain.core.posterior import Prior, category_posterior
from maintain.results.life import Figure, Posterior
from maintain.services.lives.samples import Sample

FEW = 10  # failures; below, the prior is worth showing beside the fit (common practice, no source)


def posterior_of(one: Sample, sample: Sample, prior: Prior | None, *, settled: bool) -> Posterior:
    """
    Weigh the lives of one group against a prior; of the records, other families of its category have a say.

    Parameters
    ----------
    one : Sample
        The group.
    sample : Sample
        All that was chosen.
    prior : Prior, optional
    settled : bool
        Whether the group settles a law by itself; where not, or where none of it failed, a verdict would be the
        belief's and its kin's alone.
    """
    belief = prior or Prior()
    lives, member, kind = _with_kin(one, sample)
    found = category_posterior(lives, member, int(member.max()) + 1, belief)
    kin = member > 0
    spared = one.lives.failures == 0 and bool(np.any(kin & lives.failed)) and total_use(one.lives) > 0
    return Posterior(
        prior=in_words(belief, borrowing=kind is not None),
        borrowed_lives=int(kin.sum()),
        borrowed_failures=int(np.sum(kin & lives.failed)),
        kind=kind,
        shape=_spread(found.shape_quantiles(_chances(0.95))),
        shape_80=_spread(found.shape_quantiles(_chances(0.8))),
        median=_spread(found.life_quantiles(0, 0.5, _chances(0.95))),
        b10=_spread(found.life_quantiles(0, 0.1, _chances(0.95))),
        chance_of_wear=found.chance_shape_above(1.0),
        verdict=found.verdict if settled and one.lives.failures else None,
        b10_at_least=_b10_at_least(one.lives, found.shape_interval(0.8)) if spared else None,
    )


def _b10_at_least(spared: Lives, shapes: tuple[float, float]) -> float:
    """When a tenth may have failed at the soonest, of lives of which none did, whichever of two shapes they have."""
    return min(known_shape_bound(spared, shape, 0.95).quantile(0.1) for shape in shapes)


def _with_kin(one: Sample, sample: Sample) -> tuple[Lives, NDArray[np.intp], str | None]:
    """The group's lives as 0, and other lives of its category in numbered families; the category."""
    own = np.zeros(one.lives.n, dtype=np.intp)
    kinds = set(one.columns["category"].tolist()) if one.others is not None else set()
    if one.others is None or len(kinds) != 1:
        return one.lives, own, None
    kind = kinds.pop()
    others = one.others()
    rest = sample.take(sample.group != one.group[0])
    category = np.concatenate((rest.columns["category"], others.labels["category"]))
    family = np.concatenate((rest.columns["family"], others.labels["family"])).astype(str)
    alike = category == kind
    if not alike.any():
        return one.lives, own, None
    both = [one.lives, rest.lives.take(alike[: rest.lives.n]), others.lives.take(alike[rest.lives.n :])]
    lives = Lives(*(np.concatenate([getattr(each, name) for each in both]) for name in ("entry", "lower", "upper")))
    codes = 1 + np.unique(family[alike], return_inverse=True)[1]
    return lives, np.concatenate((own, codes)), str(kind)


def in_words(prior: Prior, *, borrowing: bool) -> str:
    """
    Say what was believed before any life was seen.

    Examples
    --------
    >>> in_words(Prior(), borrowing=False)
    'shape about 1.3, with 95 % between 0.49 and 3.5; of how long they last next to nothing was believed'
    """
    if prior.log_shape_sd == 0:
        shape = f"shape {prior.shape:g}, taken as known"
    else:
        low, high = (prior.shape * math.exp(side * 1.96 * prior.log_shape_sd) for side in (-1, 1))
        shape = f"shape about {prior.shape:g}, with 95 % between {low:.2g} and {high:.2g}"
    lasting = "of how long they last next to nothing was believed"
    families = "; families of a kind share their shape and differ in life by a factor of some 2 to 6"
    return f"{shape}; {lasting}" + (families if borrowing else "")


def _chances(level: float) -> list[float]:
    return [(1 - level) / 2, 0.5, (1 + level) / 2]


def _spread(quantiles: Floats) -> Figure:
    low, middle, high = quantiles.tolist()
    return Figure(middle, low, high)
