"""What can be done for a ship tonight."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Deed:
    """
    Something to do tonight.

    Attributes
    ----------
    position, part, family : str, optional
        None where it is done to the whole ship.
    failing : float, optional
        Chance that the part has failed or will; None where it is done to the whole ship.
    before, after : float
        The ship's odds of getting through with everything vital.
    minutes : int, optional
        Of work; None if unknown.
    """

    ship: str
    action: str
    position: str | None
    part: str | None
    family: str | None
    failing: float | None
    why: str
    before: float
    after: float
    minutes: int | None

    @property
    def told(self) -> str:
        """What to do, and to what."""
        return f"{self.action}: {self.position}" if self.position else self.action

    @property
    def gain(self) -> float:
        """By how much it raises the odds."""
        return self.after - self.before

    @property
    def per_minute(self) -> float | None:
        """Odds bought by a minute of it."""
        return None if self.minutes is None else self.gain / max(self.minutes, 1)
