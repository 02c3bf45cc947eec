"""What renewing a part costs, and what its failing in battle costs."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

# Common practice, no source: all are stated with the answer, and the first may be set by whoever asks.
HOUR_CENTS = 1500
HOURS_LOST = {"vital": 6.0, "degrades": 2.0, "nuisance": 0.0}  # of a battle day, by how much the ship depends on it
FITTING_MINUTES = 30  # where nobody recorded them


@dataclass(frozen=True)
class Stakes:
    """
    What is at stake.

    Attributes
    ----------
    hour_cents : int
        What an hour of a member is worth, at the bench or in battle.
    failure_cents : int, optional
        What a failure in battle costs, whatever the part; None: worked out.
    """

    hour_cents: int = HOUR_CENTS
    failure_cents: int | None = None

    def renewal(self, family: dict[str, Any]) -> float:
        """Cents for a new part of a family (its row) and the work; a part of unknown price counts as its work alone."""
        minutes = FITTING_MINUTES if family["fitting_minutes"] is None else family["fitting_minutes"]
        return (family["unit_cost_cents"] or 0) + minutes / 60 * self.hour_cents

    def failure(self, family: dict[str, Any], dependence: list[str]) -> float:
        """Cents that a failure in battle costs, on average over the positions its parts are in."""
        if self.failure_cents is not None:
            return float(self.failure_cents)
        lost = sum(HOURS_LOST[each] for each in dependence) / len(dependence)
        return self.renewal(family) + lost * self.hour_cents

    def told(self, currency: str) -> tuple[str, ...]:
        """What was assumed, one line each."""
        hour = f"{self.hour_cents / 100:.2f} {currency}"
        renewing = (
            f"renewing costs the part and its fitting minutes at {hour} an hour ({FITTING_MINUTES} if not recorded)"
        )
        if self.failure_cents is not None:
            return (renewing, f"a failure in battle costs {self.failure_cents / 100:.2f} {currency}, as asked")
        lost = ", ".join(f"{hours:g} in a {name} position" for name, hours in HOURS_LOST.items())
        return (
            renewing,
            f"a failure in battle costs that and the hours it takes from the day, at {hour} each: {lost}; set it with "
            "--cost-of-failure (common practice, no source)",
        )
