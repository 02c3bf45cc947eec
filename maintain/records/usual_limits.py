"""Limits of readings that are common practice; those a club sets itself come first."""

from __future__ import annotations

from dataclasses import dataclass

from maintain.results.battle_day import Limit

_PRACTICE = "common practice, no source"


@dataclass(frozen=True)
class FirstShare:
    """A limit in per cent of the first reading of a part: what fades is held against what it was."""

    bound: str
    percent: float
    source: str

    def of(self, first: float | None, unit: str) -> Limit | None:
        """The limit of a part whose first reading was `first`; None if there was none."""
        if first is None:
            return None
        source = f"{self.percent:g} % of its first {first:g} {unit}; {self.source}"
        return Limit(self.bound, self.percent / 100 * first, unit, source)


LIMITS: dict[str, Limit | FirstShare] = {
    "pump seconds per litre": Limit("at most", 30.0, "s/L", f"a litre in 20 to 30 s a unit; {_PRACTICE}"),
    "range": Limit("at least", 40.0, "paces", f"a helper walks 40 to 50 paces off; {_PRACTICE}"),
    "downstream pressure": Limit("at most", 10.0, "bar", "club rule; public rule sets say about 150 psi"),
    "battery capacity": FirstShare("at least", 80.0, _PRACTICE),
}
