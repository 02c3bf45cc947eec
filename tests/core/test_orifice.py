"""Water through holes, against published values."""

from __future__ import annotations

import pytest

from maintain.core.orifice import SHARP_EDGED, flow_litres_per_minute, holes_carried, inflow_litres_per_minute
from maintain.errors import InvalidRecord

_FOOT_MM = 304.8


# Coefficients of a sharp-edged round hole of 0.196 square inches by head in feet: W. C. Unwin, "Hydraulics",
# Encyclopaedia Britannica, 11th ed. (1911), vol. 14, with the g of Montreal, 32.176 ft/s².
@pytest.mark.parametrize(("head_ft", "measured"), [(1, 0.620), (2, 0.613), (4, 0.608), (10, 0.605), (20, 0.603)])
def test_the_flow_is_that_of_measured_holes_in_other_units(head_ft: float, measured: float) -> None:
    diameter_in = (4 * 0.196 / 3.141592653589793) ** 0.5
    cubic_feet = measured * 0.196 / 144 * (2 * 32.176 * head_ft) ** 0.5
    litres_a_minute = cubic_feet * 28.316846592 * 60
    ours = inflow_litres_per_minute(diameter_in * 25.4, head_ft * _FOOT_MM, measured)
    assert ours == pytest.approx(litres_a_minute, rel=1e-3)  # g differs from place to place in the fourth digit
    assert inflow_litres_per_minute(diameter_in * 25.4, head_ft * _FOOT_MM) == pytest.approx(litres_a_minute, rel=0.03)


def test_the_coefficient_is_contraction_by_velocity() -> None:
    # Unwin, as above, section 17: "c = 0.97 × 0.64 = 0.62".
    assert round(0.97 * 0.64, 2) == SHARP_EDGED


@pytest.mark.parametrize(
    ("diameter_mm", "depth_mm", "litres"),
    [(4.5, 10, 0.25), (4.5, 25, 0.4), (4.5, 50, 0.57), (6.4, 10, 0.5), (6.4, 25, 0.8), (6.4, 50, 1.1)],
)
def test_holes_of_the_pond_let_in_what_captains_reckon(diameter_mm: float, depth_mm: float, litres: float) -> None:
    # Common practice, no source: a table that goes from hand to hand.
    assert inflow_litres_per_minute(diameter_mm, depth_mm) == pytest.approx(litres, rel=0.09)


def test_a_hole_of_twice_the_width_lets_in_four_times_and_four_times_as_deep_twice() -> None:
    one = inflow_litres_per_minute(4.5, 25)
    assert inflow_litres_per_minute(9, 25) == pytest.approx(4 * one)
    assert inflow_litres_per_minute(4.5, 100) == pytest.approx(2 * one)


def test_a_pump_carries_whole_holes_only() -> None:
    assert flow_litres_per_minute(20) == 3
    assert [holes_carried(flow, 0.5) for flow in (0.0, 0.49, 0.5, 0.99, 1.5)] == [0, 0, 1, 1, 3]


@pytest.mark.parametrize("size", [0, -1, float("nan"), float("inf")])
def test_impossible_sizes_are_refused(size: float) -> None:
    with pytest.raises(InvalidRecord):
        inflow_litres_per_minute(size, 25)
    with pytest.raises(InvalidRecord):
        inflow_litres_per_minute(4.5, size)
    with pytest.raises(InvalidRecord):
        flow_litres_per_minute(size)
