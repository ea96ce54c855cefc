"""Which opening is the vent, the case with another one, and members whose vent can be set."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from baypulse.case.casefile import consistency
from baypulse.case.held_value import with_value
from baypulse.case.model import Case, Opening
from baypulse.members.charges import Charges, works
from baypulse.members.outcomes import Outcomes
from baypulse.members.parts import StudyError
from baypulse.studies.vents.result import Vent

NAME = "vent"
"""What the vent is called, in a case that does not say otherwise."""


def find_vent(case: Case, name: str | None = None) -> tuple[Case, Vent]:
    """Return which opening is the vent, and the case with a closed one where it has none.

    Parameters
    ----------
    case : Case
        The case.
    name : str, optional
        Of the opening; by default the one between bay and outside whose name has "vent" in it.

    Returns
    -------
    case : Case
        With the vent among its openings.
    vent : Vent
        Which one it is.

    Raises
    ------
    StudyError
        If no opening has that name, or several could be meant.
    """
    known = [
        (k, opening) for k, opening in enumerate(case.openings)
        if {opening.between, opening.to} == {"bay", "outside"} and opening.diameter is not None
    ]  # fmt: skip
    if name is None:
        meant = [row for row in known if row[1].name.lower() == NAME]
        meant = meant or [row for row in known if NAME in row[1].name.lower()]
    else:
        meant = [row for row in known if row[1].name.lower() == name.strip().lower()]
    if len(meant) == 1:
        index, found = meant[0]
        return case, Vent(index, found.name, found.hole_diameter, found.count, assumed=False)
    names = ", ".join(f'"{opening.name}"' for _, opening in known)
    if name is not None:
        problem = "several openings have" if meant else "no hole between bay and outside has"
        there = f"those between bay and outside are {names}" if names else "there is none at all"
        raise StudyError(
            f'{case.name}: --opening "{name}": {problem} that name; {there}; give one of them, '
            "each a name of its own, or leave --opening out"
        )
    if meant:
        listed = ", ".join(f'openings[{k}] "{opening.name}"' for k, opening in meant)
        raise StudyError(
            f"{case.name}: {len(meant)} openings between bay and outside could be the vent "
            f"({listed}); write them as one with a count, or give each a name of its own and say "
            "which with --opening"
        )
    vent = Vent(len(case.openings), NAME, 0.0, 1, assumed=True)
    with_one = replace(case, openings=(*case.openings, Opening(name=NAME, diameter=0.0)))
    crowded = [text for _, text in consistency.problems(with_one)]
    if crowded:
        raise StudyError(
            f"{case.name}: this case has no vent and no room for one among its openings: "
            f"{crowded[0]}"
        )
    return with_one, vent


def with_vent(case: Case, vent: Vent, single: float) -> Case:
    """Return the case with another vent, of the same number of holes.

    Parameters
    ----------
    case : Case
        With its vent.
    vent : Vent
        Which opening it is.
    single : float
        Diameter of the single hole of the same area [m].
    """
    return with_value(case, _path(vent), single / math.sqrt(vent.count))


def tight(case: Case) -> Case:
    """Return the case with a shoulder that lets nothing through.

    Tape, grease, paint or a shoulder that sits askew close a gap that was measured open, and nobody
    sees it: the ascent must not count on it.

    Parameters
    ----------
    case : Case
        The case.
    """
    return with_value(case, "joint.clearance", 0.0)


def greatest_vent(case: Case) -> float:
    """Return the largest single hole that is looked at: a quarter of the bore [m].

    Its area is a sixteenth of the bore's: far more than anybody drills into a tube.
    """
    return 0.25 * case.bay.bore


class Vented:
    """Members that can be fired with any vent, everything else as drawn.

    The scatter of the vent's diameter, if it has any, stays the same share of it.

    Parameters
    ----------
    charges : Charges
        The members.
    vent : Vent
        Which opening of their case is set.
    """

    def __init__(self, charges: Charges, vent: Vent) -> None:
        self.members = charges.members
        self.vent = vent
        self._charges = charges
        self._share = np.ones(self.members)
        if _path(vent) in charges.values and vent.diameter > 0.0:
            self._share = charges.values[_path(vent)] / vent.diameter

    def fire(self, single: float, which: np.ndarray | None = None) -> Outcomes:
        """Fire members with a vent.

        Parameters
        ----------
        single : float
            Diameter of the single hole of the same area [m]; 0 for none.
        which : ndarray of int, optional
            Their indices; all of them unless given.
        """
        charges = self._charges
        return charges.with_values(self.drawn(single)).fire(charges.present, which)

    def drawn(self, single: float) -> dict[str, np.ndarray]:
        """Return the members' values with a vent, as for `fire`."""
        diameter = single / math.sqrt(self.vent.count)
        return {**self._charges.values, _path(self.vent): diameter * self._share}

    def shut(self, single: float, which: np.ndarray | None = None) -> np.ndarray:
        """Return which members do not open, or keep their contents, with a vent, as for `fire`."""
        return ~works(self.fire(single, which))


def _path(vent: Vent) -> str:
    return f"openings[{vent.index}].diameter"
