"""Studies of charges aloft that several tests share, each made once."""

from functools import cache
from unittest.mock import patch

from baypulse.case.casefile import reads
from baypulse.members.answered import Answered
from baypulse.studies.aloft.compute import answer
from baypulse.studies.aloft.result import Aloft
from quick_bays import QUICK, strand_text
from report_cases import BENCH, TEXTS

ALTITUDES = (3000.0, 9000.0)

CASES = {
    # half as much again as opens 99 % of the shots at home: a margin to keep, and to lose; what the
    # model leaves out, which is the same for every source, is taken as known
    "loose": QUICK.replace("1.00 g", "0.70 g").replace("[bay]\n", '[bay]\nmodel_agreement = "1"\n'),
    "held": strand_text(BENCH).replace(
        "[bay]\n", '[holder]\nvolume = "1 cm^3"\nburst = "60 psig"\nopening = "10 mm"\n\n[bay]\n'
    ),
    "cold gas": TEXTS["cold gas"],
    "weak": TEXTS["cold gas"].replace('"300 psig"', '"120 psig"'),
}


@cache
def found(name: str) -> Aloft:
    """Return the study of a case above; all but the first with fewer members than users may ask."""
    if name == "loose":
        return answer(reads(CASES[name], name), ALTITUDES, members=256, workers=2).whole(None)
    return quick(name, 2)


def quick(name: str, workers: int) -> Aloft:
    """Make the study of a case with few members and a chance for which they are enough."""
    return begun(name, workers).whole(None)


def begun(name: str, workers: int) -> Answered[Aloft]:
    """Return the answer of the same, and how the rest is found."""
    with patch("baypulse.studies.aloft.compute.LEAST_MEMBERS", 48):
        return answer(reads(CASES[name], name), ALTITUDES, wanted=0.9, members=48, workers=workers)
