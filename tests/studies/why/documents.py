"""Documents of small diagnoses, for what holds for the document of every study."""

from dataclasses import replace
from functools import cache

import pytest

from baypulse.case.casefile import reads
from baypulse.observed.sightings import sightings
from baypulse.studies.why.cause_file import shipped
from baypulse.studies.why.document import document
from baypulse.studies.why.explanation import Explained, answer
from quick_bays import STRAND, strand_text
from report_cases import TEXTS, without
from studies.why.few_members import few_members

WEAK = STRAND.replace("0.50 g", "0.04 g")

# a loose joint with a wide hole: the pressure is spent before the shoulder is out
MEASURED = strand_text(TEXTS["partial separation"]).replace("0.28 g", "0.08 g")

SEEN = {
    "shut": (STRAND, ("no separation", "pins whole", "pop")),
    "numbers": (MEASURED, ("partial separation", "moved 20 mm", "peak 4 psi", "time 60 ms")),
    "hard": (STRAND, ("separated too hard", "velocity 32 m/s")),
    "silent": (STRAND, ("no separation", "no sound", "no smoke")),
    "design": (WEAK, ("no separation", "whoosh")),
    "bare": (without(without(STRAND, "pins"), "cord"), ("no separation",)),
    "nothing fits": (STRAND, ("no separation", "all sheared", "velocity 15 m/s", "peak 0.1 psi")),
}
"""Case and what was seen, by a name."""

FEW = ("as designed", "igniter dead", "motor end open", "less powder", "more powder",
       "unburnt powder", "more friction", "packed too tight")  # fmt: skip
"""Causes of the shipped list that are tried here."""


@cache
def begun(name: str) -> tuple[Explained, Explained]:
    """Return what is told first of one of :data:`SEEN`, and the whole of it."""
    text, said = SEEN[name]
    case = reads(text.replace("A bay for", "A <b> bay for"), name.replace(" ", "-"))
    whole = shipped()
    few = replace(whole, causes=tuple(c for c in whole.causes if c.name in FEW))
    with pytest.MonkeyPatch.context() as patch:
        few_members(patch)
        if name == "shut":
            # it is looked at whether its members are enough
            patch.setattr("baypulse.studies.why.compute.FINER_MEMBERS", 1024)
            patch.setattr("baypulse.studies.why.compute.FINER_PAIR", 256)
        answered = answer(case, sightings(case, said), members=64, listed=few)
        return answered.findings, answered.whole(None)


def found(name: str) -> Explained:
    """Return the diagnosis of one of :data:`SEEN`."""
    return begun(name)[1]


DOCUMENTS = {f"why {name}": lambda name=name: document(found(name)) for name in SEEN}
