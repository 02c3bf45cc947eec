"""maintain spares families"""

from __future__ import annotations

from typing import TYPE_CHECKING

from maintain.cli._options import Service, UntilBattle, UntilDay, UntilYearsEnd, day

if TYPE_CHECKING:
    from maintain.results.base import Result
    from maintain.services.unit import Desk


def families(
    desk: Desk,
    until: UntilDay = None,
    battle: UntilBattle = None,
    season: UntilYearsEnd = False,
    service: Service = 0.95,
) -> Result:
    """What sharing would save: one family in place of two, one shelf for all ships."""
    from maintain.services import spares_families
    from maintain.services.spell import Until

    ahead = Until(day=day(desk, until, "--until"), battle=battle, season=season)
    return spares_families.families(desk, ahead, service)
