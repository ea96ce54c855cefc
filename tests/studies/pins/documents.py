"""The document of a small study of pins."""

from functools import cache
from typing import Any

import pytest

from baypulse.case.casefile import reads
from baypulse.case.model import Case
from baypulse.studies.pins.compute import answer
from baypulse.studies.pins.document import document
from baypulse.studies.pins.result import PinStudy
from quick_bays import QUICK


def pins(case: Case, **how: Any) -> PinStudy:
    """Return all that a report of pins shows."""
    return answer(case, **how).whole(None)


@cache
def study() -> PinStudy:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("baypulse.studies.pins.compute.BURNING_MEMBERS", 64)
        return pins(reads(QUICK, "bench"), counts=(0, 3, 8), threads=("#2-56", "#4-40"), members=24)


DOCUMENTS = {"pins": lambda: document(study())}
"""What makes it, by a name for the test."""
