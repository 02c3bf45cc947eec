"""Draws from what was learnt of each category, kept like answers: another question of the same records fits nothing."""

from __future__ import annotations

import base64
from dataclasses import dataclass, field, replace

import numpy as np
import sqlalchemy as sa

from maintain.core.lives import Floats
from maintain.records import fitted
from maintain.services.kept import fingerprint_of, store
from maintain.services.lives.service_ages import Learnt
from maintain.services.unit import Desk


@dataclass(frozen=True)
class KeptDraws:
    """
    What is kept of these records on this day.

    Attributes
    ----------
    connection : Connection
        To read with.
    desk : Desk
    fingerprint : str
    made : dict of str
        What had to be drawn, by the question under which `keep` puts it away.
    """

    connection: sa.Connection
    desk: Desk
    fingerprint: str
    made: dict[str, str] = field(default_factory=dict)

    @classmethod
    def at(cls, connection: sa.Connection, desk: Desk) -> KeptDraws:
        """Look for what is kept."""
        return cls(connection, desk, fingerprint_of(connection, desk))

    def of(self, learnt: Learnt) -> Learnt:
        """The same with its draws as kept; without any, it is fitted and drawn now."""
        question = f"draws of {learnt.names.category}"
        found = fitted.read(self.connection, question, self.fingerprint)
        if found is not None:
            return replace(learnt, theta=_numbers(found, learnt.names.layout.size))
        self.made[question] = _text(learnt.drawn.theta)
        return learnt

    def keep(self) -> None:
        """Put away what had to be drawn."""
        if self.made:
            store(self.desk, self.fingerprint, self.made)


def _text(theta: Floats) -> str:
    return base64.b64encode(np.ascontiguousarray(theta, dtype="<f8").tobytes()).decode("ascii")


def _numbers(text: str, columns: int) -> Floats:
    numbers = np.frombuffer(base64.b64decode(text), dtype="<f8").astype(np.float64)
    return numbers.reshape(-1, columns)
