"""What a general library says of the same lives."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class SecondOpinion:
    """
    The answer of another library, and whether it is ours.

    Attributes
    ----------
    library, version : str
    parameters : dict of str to float
        Of its law, in the unit of the lives; of its curve, the median if it is reached. Empty without an answer.
    log_likelihood : float, optional
        Of its law.
    largest_difference : float, optional
        Between its answer and ours: of parameters as a share of ours (of mu, which is a log, as it is); of curves the
        largest between two shares still working.
    digits : int, optional
        To how many both agree.
    reason : str, optional
        Why it has no answer, or why its answer is not ours; None: they agree.
    """

    library: str
    version: str
    parameters: dict[str, float]
    log_likelihood: float | None
    largest_difference: float | None
    digits: int | None
    reason: str | None
