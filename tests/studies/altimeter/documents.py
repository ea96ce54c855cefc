"""Documents of altimeters, for what holds for the document of every study."""

from __future__ import annotations

from functools import cache

import pytest

from baypulse.case.casefile import reads
from baypulse.studies.altimeter import compute
from baypulse.studies.altimeter.document import document
from baypulse.studies.altimeter.result import Altimeters
from report_cases import BENCH

ELECTRONICS = """
[electronics]
volume = "500 cm^3"

[[openings]]
name = "wires"
between = "bay"
to = "electronics"
diameter = "{leak}"
"""
PORTS = """
[[openings]]
name = "ports"
between = "electronics"
to = "outside"
diameter = "3 mm"
count = 2
"""


@cache
def found(leak: str = "4 mm", ports: bool = True, mass: str = "1.00 g") -> Altimeters:
    text = BENCH.replace("1.00 g", mass) + ELECTRONICS.format(leak=leak) + PORTS * ports
    with pytest.MonkeyPatch.context() as patch:
        for name, value in (("MEMBERS", 32), ("FOLLOWED", 8), ("LEAKS", 6), ("PORT_SIZES", 4)):
            patch.setattr(compute, name, value)
        return compute.altimeter(reads(text, "leaky"), wanted=0.9)


DOCUMENTS = {
    "altimeter leaks": lambda: document(found()),
    "altimeter tight": lambda: document(found("0.2 mm")),
    "altimeter no ports": lambda: document(found("4 mm", False)),
    "altimeter shut": lambda: document(found("3 mm", True, "0.02 g")),
}
