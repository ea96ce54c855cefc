"""Bays whose powder burns by the quick law of a strand, for tests of what a study does with shots.

A study's counts, searches and tables do not depend on how powder burns. Under the law of a strand a
bay separates or does not separate within milliseconds, its members take a fraction of the time, and
what they do does not move when the library's numbers of a bed are learnt anew. Without contents one
volume of gas is left.
"""

from __future__ import annotations

from dataclasses import replace

from baypulse.case.model import Case
from report_cases import BENCH, without


def strand_text(text: str) -> str:
    """Return the text of a case with powder that burns by the law of a strand."""
    return text.replace("[powder]\n", '[powder]\nburning = "strand"\n')


QUICK = without(strand_text(BENCH), "contents")
"""The bay for the tests with the quick law, and nothing in it."""

STRAND = strand_text(BENCH).replace('mass = "1.00 g"\n', 'mass = "0.50 g"\n')
"""The bay for the tests with the quick law, and the charge that is its nominal one under it."""

HALF = 0.5e-3
"""Charge that opens the bench bay under the quick law, and not too hard [kg]."""


def strand(case: Case, mass: float | None = None) -> Case:
    """Return a case of powder with the quick law, and with another charge if one is given."""
    powder = case.powder
    assert powder is not None
    chosen = powder.mass if mass is None else mass
    return replace(case, powder=replace(powder, burning="strand", mass=chosen))


def empty(case: Case, mass: float | None = None) -> Case:
    """Return a case of powder with the quick law and no contents: the cheapest of members."""
    kept = {path: s for path, s in case.spreads.items() if not path.startswith("contents.")}
    return replace(strand(case, mass), contents=None, spreads=kept)
