"""Shots of bays of which only tube, charge and outcome were published, with wide spreads."""

from __future__ import annotations

import warnings
from dataclasses import dataclass
from functools import cache

import baypulse
from baypulse.case.model import Case
from baypulse.errors import RangeWarning
from baypulse.members.chances import Chance, chance
from baypulse.members.draws import many_points, values
from baypulse.members.factors import dimensions, factors
from baypulse.members.outcomes import run_members
from recorded import FOLDER

MEMBERS = 512

LEAST_CHANCE = 0.05
"""Chance that what was seen must have."""

ROWS = {
    "drogue-64": True, "main-64": True, "drogue-64-flight": False, "large-kit": False,
    "class-6-inch": True, "kit-4-inch": True, "cold-gas-6-inch": True,
}  # fmt: skip
"""Case file below ``records/ground``, and whether the joint opened."""


@dataclass(frozen=True)
class Row:
    """A shot with its outcome.

    Attributes
    ----------
    case : Case
        As read through the front door.
    opened : bool
        What was seen.
    seen : Chance
        The chance of that, over all that scatters.
    """

    case: Case
    opened: bool
    seen: Chance


@cache
def row(name: str) -> Row:
    """Return a shot by the name of its case, and the chance of what was seen."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", RangeWarning)
        case = baypulse.load(FOLDER / "ground" / f"{name}.toml")
    found = factors(case)
    points = many_points(17, MEMBERS, dimensions(found))
    flown = run_members(case, values(case, found, points), MEMBERS)
    alike = flown.opened == ROWS[name]
    return Row(case, ROWS[name], chance("as seen", int(alike.sum()), MEMBERS))
