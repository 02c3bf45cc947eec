"""maintain life causes"""

from __future__ import annotations

from typing import TYPE_CHECKING

from maintain.cli._lives import At, Conf, lives_with, times
from maintain.cli._pictures import pictured

if TYPE_CHECKING:
    from maintain.results.base import Pictured
    from maintain.services.lives.samples import Sample
    from maintain.services.unit import Desk


@pictured("maintain.render.life_causes:plot")
@lives_with("cause")
def causes(desk: Desk, sample: Sample, at: At = None, conf: Conf = 0.95) -> Pictured:
    """Show what parts fail by: the share each cause takes while all the others are at work."""
    from maintain.services import life_causes as service
    from maintain.services.life import Question

    return service.causes(sample, Question(times(at), conf))
