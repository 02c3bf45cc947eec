"""Published data sets as lives, each with its source."""

from __future__ import annotations

import numpy as np

from maintain.core.lives import Lives, lives_from_intervals, lives_from_times
from tests.published.reading import column, numbers


def freireich(group: str) -> Lives:
    """Freireich et al. (1963), Blood 21, 699-716: weeks of remission."""
    rows = column("freireich", "group") == group
    return lives_from_times(numbers("freireich", "weeks")[rows], column("freireich", "event")[rows] == "1")


def channing(sex: str) -> Lives:
    """Channing House residents, Hyde (1980), without the five rows that leave before they enter."""
    entry, out = numbers("channing", "entry_months", "exit_months").T
    rows = (column("channing", "sex") == sex) & (out > entry)
    return lives_from_times(out[rows], column("channing", "event")[rows] == "1", entry[rows])


def diesel_fans() -> Lives:
    """Nelson (1969), J. Quality Technology 1, 27-52: hours of generator fans."""
    return lives_from_times(numbers("diesel_fans", "hours"), column("diesel_fans", "event") == "1")


def nist_hours(name: str) -> Lives:
    """NIST/SEMATECH e-Handbook of Statistical Methods, sections 8.2.1.5 and 8.4.1.3: hours of units on test."""
    return lives_from_times(numbers(name, "hours"), column(name, "event") == "1")


def ball_bearings(copy: str) -> Lives:
    """Lieblein and Zelen (1956), J. Research NBS 57: millions of turns; copies differ in the seventh value."""
    return lives_from_times(numbers(f"ball_bearings_{copy}", "megacycles"))


def shock_absorbers(modes: str) -> Lives:
    """O'Connor (1985) through Meeker and Escobar (1998), Appendix C: kilometres to a failure of some modes."""
    mode = column("shock_absorber", "mode")
    return lives_from_times(numbers("shock_absorber", "km"), np.isin(mode, list(modes)))


def devices_g(*causes: str) -> Lives:
    """Meeker and Escobar (1998), chapter 15: kilocycles to a failure of some causes."""
    return lives_from_times(numbers("device_g", "kilocycles"), np.isin(column("device_g", "cause"), causes))


def cosmesis(group: str) -> Lives:
    """Finkelstein and Wolfe (1985), Biometrics 41, 933-945: months until a check found a change."""
    rows = column("breast_cosmesis", "treat") == group
    lower, upper = numbers("breast_cosmesis", "lower_months", "upper_months")[rows].T
    return lives_from_intervals(lower, np.where(np.isnan(upper), np.inf, upper))


def heat_exchanger() -> Lives:
    """Meeker and Escobar (1998), chapters 1 and 3: 300 tubes looked at for cracks in three years."""
    lower, upper, count = numbers("heat_exchanger", "lower", "upper", "count").T
    count = count.astype(int)
    return lives_from_intervals(np.repeat(lower, count), np.repeat(np.where(np.isnan(upper), np.inf, upper), count))
