"""Studied cords that the tests of cords and documents share, each made once."""

from __future__ import annotations

from functools import cache

from baypulse.case.casefile import reads
from baypulse.studies.cord.compute import cord
from baypulse.studies.cord.result import Cords
from report_cases import BENCH

BRAKE = '\n[[brakes]]\nname = "tape <b> & folds"\ncount = 3\nforce = "60 N"\nstroke = "120 mm"\n'

# a charge that separates in every shot
SURE = BENCH.replace('mass = "1.00 g"', 'mass = "1.60 g"')

TEXTS = {
    "plain": SURE,
    "brake": SURE + BRAKE,
    "strong brake": SURE.replace("[cord]\n", '[cord]\nanchor_strength = "9 kN"\n')
    + BRAKE.replace('"60 N"', '"4 kN"').replace("count = 3", "count = 1"),
    "weak": SURE.replace("[cord]\n", '[cord]\nanchor_strength = "300 N"\n'),
    # a nose that slides along the ground
    "never pulls": SURE.replace('length = "4.5 m"', 'length = "150 m"')
    + "\n[setting]\nground_friction = 0.4\n",
}


@cache
def found(name: str) -> Cords:
    return cord(reads(TEXTS[name], name), wanted=3.0, members=64)
