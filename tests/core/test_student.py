"""Student's t without a library."""

from __future__ import annotations

import pytest
from scipy.stats import t

from maintain.core.student import two_sided_t
from maintain.errors import InvalidRecord


@pytest.mark.parametrize("conf", [0.01, 0.5, 0.8, 0.9, 0.95, 0.99, 0.9999])
@pytest.mark.parametrize("df", [1, 2, 3, 4, 5, 8, 29, 30, 101, 1000])
def test_the_quantile_is_that_of_scipy(conf: float, df: int) -> None:
    assert two_sided_t(conf, df) == pytest.approx(t.ppf((1 + conf) / 2, df), rel=1e-9)


@pytest.mark.parametrize(("df", "printed"), [(1, 12.706), (2, 4.303), (5, 2.571), (10, 2.228), (30, 2.042)])
def test_the_quantile_is_that_of_printed_tables(df: int, printed: float) -> None:
    # NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.2, upper 0.975.
    assert round(two_sided_t(0.95, df), 3) == printed


@pytest.mark.parametrize(("conf", "df"), [(0.0, 3), (1.0, 3), (float("nan"), 3), (0.95, 0)])
def test_what_has_no_quantile_is_refused(conf: float, df: int) -> None:
    with pytest.raises(InvalidRecord):
        two_sided_t(conf, df)
