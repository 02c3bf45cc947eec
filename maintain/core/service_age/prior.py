"""What is believed of a category's service age before its failures are seen; docs/service_age.md says why."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from math import log

import numpy as np

from maintain.core.lives import Floats

YEAR = 365.0
# Years of service age in which 63 in 100 parts of a category fail (common practice, no source); ANY_YEARS for others.
YEARS = {
    "servo": 6, "receiver": 6, "speed controller": 6, "motor": 6, "battery": 5, "seal": 4, "pump": 10, "switch": 10,
    "valve": 10, "regulator": 10, "cylinder": 30, "cannon": 30, "shaft": 10, "recovery gear": 10,
}  # fmt: skip
ANY_YEARS = 8
CLOCKS = ("days", "minutes afloat", "wet sorties", "immersions")  # of service age, in this order


@dataclass(frozen=True)
class Layout:
    """
    How many of each kind of parameter a fit has, and where they stand: log scale, log shape, log worth of each clock
    but the first, log ratio of each zone, log ratio of each method, log scale of each family about the category's, log
    shape of each family about the category's, log of the longest service before first sight.
    """

    clocks: int
    zones: int = 0
    methods: int = 0
    families: int = 0

    @cached_property
    def size(self) -> int:
        """Parameters in all."""
        return 2 + self.clocks + self.zones + self.methods + 2 * self.families

    @cached_property
    def worth(self) -> slice:
        """Of the clocks but the first."""
        return slice(2, 1 + self.clocks)

    @cached_property
    def zone(self) -> slice:
        """Of the zones."""
        return slice(1 + self.clocks, 1 + self.clocks + self.zones)

    @cached_property
    def method(self) -> slice:
        """Of the methods."""
        return slice(self.zone.stop, self.zone.stop + self.methods)

    @cached_property
    def family(self) -> slice:
        """Of the families' scales."""
        return slice(self.method.stop, self.method.stop + self.families)

    @cached_property
    def family_shape(self) -> slice:
        """Of the families' shapes."""
        return slice(self.family.stop, self.family.stop + self.families)

    @cached_property
    def longest(self) -> int:
        """Of the longest service before first sight, the last of all."""
        return self.size - 1


@dataclass(frozen=True)
class Prior:
    """
    Every parameter is normal on the log scale, and independent of the others.

    Attributes
    ----------
    shape, log_shape_sd : float
        Middle of the Weibull shape, and its spread; 0 takes it as known.
    scale : float
        Middle of the scale in days of service age; it does not look at the records, so that short ones frighten nobody.
    log_scale_sd : float
        The middle 80 % reach from a quarter to about four times the middle.
    worth : tuple of float
        Middle of what a unit of each clock but the first costs, in days; as many as there are such clocks.
    log_worth_sd : float
        The middle 80 % reach from a fifth to five times the middle; nothing keeps a cost from vanishing, as the
        likelihood does not change any more below a fraction of a day.
    ratio_sd : float
        Of the log hazard ratio of zones and methods, about 0: no effect.
    between_sd : float
        How far families of one category differ: the standard deviation of their log scales is half-normal with this
        scale, on BETWEEN_NODES.
    shape_between : float
        Standard deviation of the families' log shapes, as a share of that of their log scales: families alike in life
        are alike in how they wear.
    longest, log_longest_sd : float
        Middle of the longest service, in days, that parts may have seen before anybody wrote it down, and its spread.
    """

    shape: float = 1.3
    log_shape_sd: float = 0.4
    scale: float = ANY_YEARS * YEAR
    log_scale_sd: float = 1.0
    worth: tuple[float, ...] = (0.05, 1.0, 20.0)
    log_worth_sd: float = 1.2
    ratio_sd: float = 0.5
    between_sd: float = 0.6
    shape_between: float = 0.5
    longest: float = 3 * YEAR
    log_longest_sd: float = 0.8

    @classmethod
    def of(cls, category: str) -> Prior:
        """What is believed of parts of a category."""
        return cls(scale=YEARS.get(category, ANY_YEARS) * YEAR)

    def mean(self, layout: Layout) -> Floats:
        """Return the middle of every parameter."""
        found = np.zeros(layout.size)
        found[:2] = log(self.scale), log(self.shape)
        found[layout.worth] = np.log(self.worth[: layout.clocks - 1])
        found[layout.longest] = log(self.longest)
        return found

    def sd(self, layout: Layout, between: float) -> Floats:
        """Return the spread of every parameter; 0 where it is known."""
        found = np.full(layout.size, self.ratio_sd)
        found[:2] = self.log_scale_sd, self.log_shape_sd
        found[layout.worth] = self.log_worth_sd
        found[layout.family] = between
        found[layout.family_shape] = self.shape_between * between
        found[layout.longest] = self.log_longest_sd
        return found

    def draw(self, rng: np.random.Generator, layout: Layout, size: int) -> Floats:
        """Return draws of all parameters as they are believed to be, shape = (size, n_parameters)."""
        between = self.between_sd * rng.choice(BETWEEN_NODES, size, p=between_shares())
        found = rng.standard_normal((size, layout.size)) * self.sd(layout, 1.0)
        for block in (layout.family, layout.family_shape):
            found[:, block] *= between[:, None]
        return found + self.mean(layout)


BETWEEN_NODES = np.array([0.1, 0.5, 1.0, 1.8])  # in units of Prior.between_sd


def between_shares() -> Floats:
    """Prior probability of each of BETWEEN_NODES: half-normal density times the width of the node's cell."""
    inner = (BETWEEN_NODES[1:] + BETWEEN_NODES[:-1]) / 2
    edges = np.concatenate([[0.0], inner, [2 * BETWEEN_NODES[-1] - inner[-1]]])
    share = np.exp(-0.5 * BETWEEN_NODES**2) * np.diff(edges)
    return np.asarray(share / share.sum())
