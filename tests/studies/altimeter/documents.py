"""Documents of altimeters, for what holds for the document of every study."""

from __future__ import annotations

from functools import cache

import pytest

from baypulse.case.casefile import reads
from baypulse.studies.altimeter import compute
from baypulse.studies.altimeter.compute import electronics_bay
from baypulse.studies.altimeter.document import document
from baypulse.studies.altimeter.result import Altimeters, ElectronicsBay
from baypulse.studies.altimeter.static_ports import static_ports
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


def whole(pulse: Altimeters, climb: float | None = 200.0) -> ElectronicsBay:
    return ElectronicsBay(pulse.case, static_ports(pulse.case, climb, 30.0, 1.0), pulse)


def without_a_way() -> ElectronicsBay:
    case = reads(BENCH + ELECTRONICS.split("[[")[0] + PORTS.replace("3 mm", "0.2 mm"), "ports only")
    return electronics_bay(case)


DOCUMENTS = {
    "altimeter leaks": lambda: document(whole(found())),
    "altimeter tight": lambda: document(whole(found("0.2 mm"), None)),
    "altimeter no ports": lambda: document(whole(found("4 mm", False))),
    "altimeter shut": lambda: document(whole(found("3 mm", True, "0.02 g"), 30.0)),
    "altimeter ports only": lambda: document(without_a_way()),
}
