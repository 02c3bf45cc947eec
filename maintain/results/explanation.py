"""The whole reasoning about one part."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from maintain.results.base import Pictured, plain
from maintain.results.life import GroupCurve, group_document
from maintain.results.outlook import DueLine


@dataclass(frozen=True)
class Reason:
    """One step of the reasoning in plain words, and what it is about."""

    about: str
    told: str


@dataclass(frozen=True)
class Explanation(Pictured):
    """
    Why a part gets its advice.

    Attributes
    ----------
    line : DueLine
        The forecast and the advice.
    reasons : tuple of Reason
        From its history to what the advice buys.
    curve : GroupCurve, optional
        How long parts of its family last, in days; None where the records hold no life of known age.
    """

    line: DueLine
    reasons: tuple[Reason, ...]
    curve: GroupCurve | None

    def document(self) -> dict[str, Any]:
        """Forecast and advice, the reasons, and the curve they rest on."""
        curve = None if self.curve is None else group_document(self.curve)
        return {"line": plain(self.line), "reasons": plain(self.reasons), "curve": curve, **self.plot()}
