"""Documents of vents, of findings that are changed by hand."""

from __future__ import annotations

import dataclasses
import math
from functools import cache
from typing import Any

from baypulse.case.casefile import reads
from baypulse.members.answered import Answered
from baypulse.members.chances import chance
from baypulse.studies.vents.compute import answer
from baypulse.studies.vents.document import document
from baypulse.studies.vents.drill_patterns import patterns
from baypulse.studies.vents.result import (
    FOUND,
    NO_BOUND,
    NOT_ENOUGH,
    NOT_NEEDED,
    Lower,
    Upper,
    VentRemedy,
    Vents,
)
from quick_bays import QUICK

ASCENT = """
[ascent]
burnout_height = "250 m"
burnout_speed = "160 m/s"
drag_area = "40 cm^2"
"""


@cache
def answered() -> Answered[Vents]:
    case = reads(QUICK.replace("A bay for the tests", "A <bay> & more") + ASCENT, "usual")
    return answer(case, share=0.1, wanted=0.9, members=128, workers=2)


@cache
def usual() -> Vents:
    return answered().whole(None)


LOWERS = {
    "found": Lower(FOUND, 0.0012, 400.0),
    "not needed": Lower(NOT_NEEDED, 0.0, 400.0),
    "not enough": Lower(NOT_ENOUGH, math.inf, 400.0),
    "large": Lower(FOUND, 0.02, 400.0),
}
UPPERS = {
    "found": Upper(FOUND, 0.009, 0.008, 0.0101, chance("separates", 1521, 1536)),
    "no bound": Upper(NO_BOUND, math.inf, math.nan, math.nan, chance("separates", 1536, 1536)),
    "not enough": Upper(NOT_ENOUGH, 0.0, math.nan, math.nan, chance("separates", 100, 1536)),
}


def made(lower: str, upper: str, **changes: Any) -> Vents:
    ends = LOWERS[lower], UPPERS[upper]
    found = patterns(*ends, usual().greatest)
    held = {"lower": ends[0], "upper": ends[1], "patterns": found, **changes}
    return dataclasses.replace(usual(), **held)


GOOD = VentRemedy("4 pins in place of 3", LOWERS["found"], UPPERS["found"])
BAD = VentRemedy("2 pins in place of 3", LOWERS["large"], UPPERS["found"])

DOCUMENTS = {
    "vents usual": lambda: document(usual()),
    "vents found": lambda: document(made("found", "found")),
    "vents without ends": lambda: document(made("not needed", "no bound")),
    "vents empty": lambda: document(made("large", "found", remedies=(GOOD, BAD))),
    "vents charge too small": lambda: document(made("not enough", "not enough")),
}
