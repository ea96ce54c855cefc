"""Runs that the tests of plots and reports share, each made once."""

import dataclasses
from functools import cache

from baypulse.case.casefile import reads
from baypulse.engine.status import Status
from baypulse.run.result import Result, Verdict
from baypulse.run.simulation import simulate

BENCH = """
title = "A bay for the tests"
note = "Invented."

[powder]
grade = "3F"
mass = "1.00 g"

[bay]
bore = "76 mm"
tube_length = "320 mm"
wall = "fibre glass"
wall_thickness = "2.0 mm"

[contents]
mass = "260 g"
volume = "420 cm^3"

[nose]
mass = "480 g"

[airframe]
mass = "1.9 kg"

[joint]
shoulder_length = "76 mm"
pull_off = { value = "22 N", spread = "20 %" }

[pins]
count = 3
thread = "#2-56"

[[openings]]
name = "vent"
diameter = "3.2 mm"

[cord]
type = "tubular nylon 9/16 in"
length = "4.5 m"

[limits]
separation_velocity = "30 m/s"
"""


def without(text: str, table: str) -> str:
    """Leave a table out."""
    head, _, rest = text.partition(f"[{table}]\n")
    return head.removesuffix("[") + rest.partition("\n\n")[2]


TEXTS = {
    "separates": BENCH,
    "separates too hard": BENCH.replace('"30 m/s"', '"3 m/s"'),
    "no separation": BENCH.replace("1.00 g", "0.20 g"),
    "bare": without(without(without(without(BENCH, "pins"), "contents"), "[openings]"), "cord"),
    "flight": BENCH + '\n[setting]\nkind = "flight"\nattitude = "60 deg"\n',
    "cold gas": without(BENCH, "powder")
    + '\n[cold_gas]\ngas = "nitrogen"\nvolume = "60 cm^3"\npressure = "300 psig"\n'
    'orifice = "5 mm"\n',
    # the pressure is spent through a large hole before the shoulder is out
    "partial separation": without(BENCH, "pins")
    .replace('"22 N"', '"60 N"')
    .replace("3.2 mm", "10 mm")
    .replace("1.00 g", "0.28 g"),
}


@cache
def run(name: str) -> Result:
    """Return the run of a text above, or one whose solver had to stop."""
    if name == "undecided":
        return dataclasses.replace(
            run("separates"), status=Status.STALLED, message="The solver had to stop early.",
            verdict=Verdict.UNDECIDED, reasons=["The solver had to stop early."],
        )  # fmt: skip
    return simulate(reads(TEXTS[name], name))
