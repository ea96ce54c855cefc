"""Documents of pins against charge, for what holds for the document of every study."""

from functools import cache

from baypulse.case.casefile import reads
from baypulse.studies.pins.compute import PinStudy, pins
from baypulse.studies.pins.document import document
from report_cases import BENCH, without


@cache
def study() -> PinStudy:
    return pins(reads(BENCH, "bench"), counts=(0, 3, 8), threads=("#2-56", "#4-40"), members=24)


@cache
def without_cord() -> PinStudy:
    case = reads(without(BENCH, "cord"), "loose")
    return pins(case, counts=(2,), threads=("#2-56",), members=8)


DOCUMENTS = {
    "pins": lambda: document(study()),
    "pins of a bay without a cord": lambda: document(without_cord()),
}
