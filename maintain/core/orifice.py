"""Water through a hole below the waterline, and how many such holes a pump can carry."""

from __future__ import annotations

import math

from maintain.errors import InvalidRecord

GRAVITY = 9.80665  # m/s², standard
# A sharp-edged hole in a thin wall: contraction 0.64 by velocity 0.97. W. C. Unwin, "Hydraulics", Encyclopaedia
# Britannica, 11th ed. (1911), vol. 14. A torn hole in balsa has no such edge: its inflow is known to a tenth or two.
SHARP_EDGED = 0.62
SOURCE = "Cd 0.62, sharp-edged hole: Unwin, Hydraulics, Encyclopaedia Britannica, 11th ed. (1911)"


def inflow_litres_per_minute(diameter_mm: float, depth_mm: float, coefficient: float = SHARP_EDGED) -> float:
    """
    Water that a round hole lets in.

    Q = Cd · A · sqrt(2 · g · h), into a hull that has no water above the hole inside.

    Parameters
    ----------
    diameter_mm : float
        Of the hole, in mm.
    depth_mm : float
        Of its middle below the waterline, in mm.
    coefficient : float
        Discharge coefficient Cd.

    Raises
    ------
    InvalidRecord
        If a size is not a positive number.

    Examples
    --------
    >>> round(inflow_litres_per_minute(4.5, 25), 2), round(inflow_litres_per_minute(6.4, 25), 2)
    (0.41, 0.84)
    """
    for what, size in (("hole", diameter_mm), ("depth", depth_mm)):
        if not (math.isfinite(size) and size > 0):
            raise InvalidRecord(f"a {what} of {size:g} mm lets no water in", hint="write a size above 0 in mm")
    area = math.pi * (diameter_mm / 1000) ** 2 / 4
    return coefficient * area * math.sqrt(2 * GRAVITY * depth_mm / 1000) * 60_000


def flow_litres_per_minute(seconds_per_litre: float) -> float:
    """
    What a pump throws that takes so long for a litre.

    Raises
    ------
    InvalidRecord
        If the time is not a positive number.
    """
    if not (math.isfinite(seconds_per_litre) and seconds_per_litre > 0):
        raise InvalidRecord(f"no pump takes {seconds_per_litre:g} s for a litre", hint="write for example 24.5")
    return 60 / seconds_per_litre


def holes_carried(flow: float, inflow: float) -> int:
    """
    Whole holes that a pump keeps up with.

    Parameters
    ----------
    flow, inflow : float
        Of the pump and of one hole, in L/min.

    Examples
    --------
    >>> holes_carried(flow_litres_per_minute(20), inflow_litres_per_minute(4.5, 25))
    7
    """
    return math.floor(flow / inflow + 1e-9)
