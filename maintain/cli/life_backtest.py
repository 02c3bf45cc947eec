"""maintain life backtest."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from maintain.cli._options import Refit
from maintain.cli._pictures import pictured

if TYPE_CHECKING:
    from maintain.results.base import Pictured
    from maintain.results.trust import Backtest
    from maintain.services.unit import Desk


@pictured(drawn_by="maintain.render.trust:draw_backtest")
def backtest(
    desk: Desk,
    last: Annotated[
        int | None, typer.Option(help="Only so many of the last battles.", min=2, show_default="all")
    ] = None,
    refit: Refit = False,
) -> Pictured:
    """Forecast past battles from what was known before each, and score that: do the forecasts deserve trust?"""
    from maintain.render.progress import bar
    from maintain.results.trust import Backtest
    from maintain.services.kept import kept
    from maintain.services.trust import remember

    def fresh() -> Backtest:
        from maintain.services import backtest as use_case

        with bar() as progress:
            return use_case.backtest(desk, last, progress)

    answer = kept(desk, Backtest, {"last": last}, fresh, refit=refit)
    remember(desk, answer, every=last is None)
    return answer
