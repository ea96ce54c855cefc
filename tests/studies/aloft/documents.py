"""Documents of charges aloft: one that was computed, and what is rare made of it."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache

from aloft_findings import found
from baypulse.members.chances import chance
from baypulse.run.result import Result
from baypulse.studies.aloft.document import document
from baypulse.studies.aloft.first_failure import Height
from baypulse.studies.aloft.result import Aloft

INFINITE = Height(math.inf, 4000.0, math.inf)
NOWHERE = Height(-math.inf, -math.inf, -math.inf)


def shut(result: Result) -> Result:
    """Return a run with the numbers of one that does not separate."""
    nothing = {"clear_time": None, "clear_velocity": None, "cord_load": None}
    return replace(result, numbers=replace(result.numbers, **nothing))


@cache
def made(name: str) -> Aloft:
    """Return a study, or one changed into what is rare."""
    if name in ("loose", "cold gas", "weak"):
        return found(name)
    study = found("loose")
    sources = study.sources
    if name == "holds everywhere":
        sources = tuple(replace(each, height=INFINITE) for each in sources)
        opens = replace(study.highest.trial, opens=chance("separates", 256, 256))
        high = replace(study.highest, trial=opens)
        return replace(study, sources=sources, levels=(*study.levels[:-1], high))
    # nothing opens: no least charge, no source
    none = [chance("separates", 0, 256)] * len(sources[0].chances)
    levels = tuple(
        replace(each, result=shut(each.result), trial=replace(each.trial, opens=none[0]))
        for each in study.levels
    )
    need = replace(study.home_need, least=None, share_at_highest=0.3, charge=None, opens=None)
    lost = replace(
        study,
        sources=tuple(replace(s, height=NOWHERE, chances=tuple(none)) for s in sources[:2]),
        levels=levels,
        home_need=need,
        needs=tuple(replace(need, altitude=each.altitude) for each in study.needs),
        steps=tuple(replace(each, result=shut(each.result), least=None) for each in study.steps),
        missing="No cold gas is compared.",
        warnings=("mind <b> this",),
    )
    return replace(lost, case=replace(study.case, title="A <b> title", note="A <i> note"))


DOCUMENTS = {
    f"aloft {name}": lambda name=name: document(made(name))
    for name in ("loose", "cold gas", "holds everywhere", "nothing")
}
