"""Documents of shots that agree with their case, and of shots that contradict it."""

from typing import Any

import pytest

from baypulse.case.casefile import reads
from baypulse.case.casefile.shot_file import ShotRow
from baypulse.observed.shot_log import ShotLog, shot_of
from baypulse.show.document import Document
from baypulse.studies.shots.compute import ShotStudy, answer
from baypulse.studies.shots.document import document
from quick_bays import QUICK


def shots(*given: Any, **how: Any) -> ShotStudy:
    """Return all that a report of shots shows."""
    return answer(*given, **how).whole(None)


def made(charge: float, saw: str, note: str) -> Document:
    case = reads(QUICK, "bench")
    row = ShotRow(charge=charge, saw=(saw,), note=note)
    log = ShotLog("bench.shots.toml", (shot_of(case, row),) * 2)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("baypulse.studies.shots.compute.BUILDS", 32)
        patch.setattr("baypulse.studies.shots.compute.CURVE_MEMBERS", 64)
        return document(shots(case, log, members=256))


DOCUMENTS = {
    "shots that agree": lambda: made(0.5e-3, "separated", "hot & <dry>"),
    "shots that contradict": lambda: made(2.0e-3, "no separation", ""),
}
"""What makes each, by a name for the test."""
