"""Ascents that the tests of documents share, each followed once."""

from __future__ import annotations

from functools import cache

from baypulse.case.casefile import reads
from baypulse.observed.flight_profile import profile
from baypulse.studies.ascent.compute import AscentResult, ascent
from report_cases import BENCH

WAY_UP = """
[ascent]
burnout_height = "600 m"
burnout_speed = "250 m/s"
drag_area = "30 cm^2"
"""
SEALED = BENCH.replace('diameter = "3.2 mm"', 'diameter = "0 mm"') + WAY_UP
ELECTRONICS = """
[electronics]
volume = "500 cm^3"

[[openings]]
name = "ports"
between = "electronics"
diameter = "1.5 mm"
"""
TEXTS = {
    "vented": BENCH + WAY_UP,
    "drag": BENCH + WAY_UP + 'fore_drag_area = "1 cm^2"\n',
    "pressed": BENCH + WAY_UP + 'fore_drag_area = "29 cm^2"\n',
    "sealed": SEALED + 'fore_drag_area = "6 cm^2"\n',
    "weak": SEALED.replace('"#2-56"', '"#2-56"\nstrength = "5 N"'),
    "lag": BENCH + WAY_UP + ELECTRONICS,
}


@cache
def found(name: str) -> AscentResult:
    case = reads(TEXTS[name], name)
    return ascent(case, profile(case))
