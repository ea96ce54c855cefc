"""The document of a small study of pins."""

from functools import cache

from baypulse.case.casefile import reads
from baypulse.studies.pins.compute import PinStudy, pins
from baypulse.studies.pins.document import document
from report_cases import BENCH


@cache
def study() -> PinStudy:
    return pins(reads(BENCH, "bench"), counts=(0, 3, 8), threads=("#2-56", "#4-40"), members=24)


DOCUMENTS = {"pins": lambda: document(study())}
"""What makes it, by a name for the test."""
