"""What can be wrong with a shot, as changes to the case: nothing of what follows is written here.

A cause has one severity, from 0 (mild) to 1 (severe); each of its changes goes from its mild to
its severe end with it, evenly in its logarithm.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from baypulse.case import geometry
from baypulse.case.casefile.keys import value_at
from baypulse.case.library import address
from baypulse.case.model import Case, Opening
from baypulse.members.factors import LIBRARY, nominal_at
from baypulse.members.parts import StudyError
from baypulse.observed.sightings import Sighting

PLACES = ("motor end", "wires")
"""Where a hole may be that the case does not have."""

VENTS = "vents"
"""The path that stands for the diameters of all vents of a case."""

COUNT = "pins.count"

DELAYS = ("powder.ignition_delay", "cold_gas.opening_delay")
"""Times before which nothing happens: a change of them moves the clock of a run."""

TIMES = ("powder.flame_spread", "bay.mixing_time")
"""Times of a case in whose place stands a rate where they were not measured: the flame's speed, and
the entrainment. A time that is so much longer is a rate that is so much lower."""

WIDEST_VENT = 0.25
"""Diameter of a hole, over the bore, from which it is no vent but an open end."""

HOW = ("factor", "add", "value", "free_share", "bore_cubes", "diameter")
"""Ways in which a change may be given."""

NEEDS: dict[str, Callable[[Case], bool]] = {
    "powder": lambda case: case.powder is not None,
    "loose powder": lambda case: case.powder is not None and case.holder is None,
    "holder": lambda case: case.holder is not None,
    "cold gas": lambda case: case.cold_gas is not None,
    "pins": lambda case: case.pins is not None,
    "friction": lambda case: case.joint.pull_off is not None or case.joint.fit is not None,
    "contents": lambda case: case.contents is not None,
    "cord": lambda case: case.cord is not None,
    "vent": lambda case: bool(vents(case)),
    "closed nose": lambda case: case.nose.shape == "closed",
    "closed end": lambda case: not open_ends(case),
}
"""What a cause may need, and how a case shows it."""


@dataclass(frozen=True)
class CauseChange:
    """One change that a cause makes.

    Attributes
    ----------
    target : str
        Path of a number of the case, ``"vents"``, or one of :data:`PLACES`.
    how : str
        One of :data:`HOW`.
    mild, severe : float
        Ends [SI]; equal where there is nothing to draw.
    """

    target: str
    how: str
    mild: float
    severe: float

    def at(self, severity: np.ndarray) -> np.ndarray:
        """Return the size of the change, shape (members,).

        Parameters
        ----------
        severity : ndarray, shape (members,)
            From 0 to 1.
        """
        if self.mild == self.severe:
            return np.full(severity.shape, self.mild)
        return np.asarray(self.mild * (self.severe / self.mild) ** severity)


@dataclass(frozen=True)
class Cause:
    """Something that can be wrong with a shot.

    Attributes
    ----------
    name : str
        Short plain words.
    what : str
        A plain sentence, without a full stop.
    odds : float
        How often it is at work, against how often it is not.
    source : str
        Of the odds.
    needs : tuple of str
        What a case must have, of :data:`NEEDS`.
    changes : tuple of Change
        What it changes; none for a shot as designed.
    alone : bool
        Whether it is never tried together with another.
    ruled_out_by : tuple of str
        Answers after which it cannot have been at work.
    """

    name: str
    what: str
    odds: float
    source: str
    needs: tuple[str, ...]
    changes: tuple[CauseChange, ...]
    alone: bool
    ruled_out_by: tuple[str, ...] = ()

    def fits(self, case: Case) -> bool:
        """Say whether this can be at work in a case."""
        return all(NEEDS[need](case) for need in self.needs)

    def ruled_out(self, seen: Sequence[Sighting]) -> Sighting | None:
        """Return the first sighting after which it cannot have been at work, or None."""
        return next((each for each in seen if each.said in self.ruled_out_by), None)

    @property
    def pins_added(self) -> int:
        """Pins that the joint has more than the case."""
        return sum(round(change.mild) for change in self.changes if change.target == COUNT)


def vents(case: Case) -> list[int]:
    """Return which openings of a case are vents: holes of the bay's wall, and no open ends."""
    open_end = WIDEST_VENT * case.bay.bore
    return [k for k, diameter in _outward(case) if 0.0 < diameter < open_end]


def open_ends(case: Case) -> list[int]:
    """Return which openings of a case are too wide for vents: an end that is open anyway."""
    return [k for k, diameter in _outward(case) if diameter >= WIDEST_VENT * case.bay.bore]


def _outward(case: Case) -> list[tuple[int, float]]:
    """Return which openings lead from the bay to the outside, with their diameters [m]."""
    return [
        (k, hole.hole_diameter)
        for k, hole in enumerate(case.openings)
        if {hole.between, hole.to} == {"bay", "outside"}
    ]


def with_places(case: Case) -> Case:
    """Return a case with a hole of no width at each of :data:`PLACES`, for causes to widen."""
    inside = "outside" if case.electronics is None else "electronics"
    holes = tuple(
        Opening(name=place, between="bay", to="outside" if place == "motor end" else inside,
                diameter=0.0)
        for place in PLACES
    )  # fmt: skip
    return replace(case, openings=(*case.openings, *holes))


def pairs(causes: tuple[Cause, ...]) -> list[tuple[Cause, Cause]]:
    """Return the causes two and two, without those that move the same number of the case."""
    free = [cause for cause in causes if not cause.alone]
    moved = [{change.target for change in cause.changes} for cause in free]
    return [
        (free[i], free[j])
        for i in range(len(free))
        for j in range(i + 1, len(free))
        if not moved[i] & moved[j]
    ]


def changed(
    case: Case, values: Mapping[str, np.ndarray], cause: Cause, severity: np.ndarray
) -> dict[str, np.ndarray]:
    """Return the values of members in which a cause is at work; their own scatter stays.

    Parameters
    ----------
    case : Case
        From :func:`with_places`, with as many pins as the cause leaves in the joint.
    values : mapping
        By path, from :func:`baypulse.members.draws.values`.
    cause : Cause
        One that fits the case.
    severity : ndarray, shape (members,)
        From 0 to 1.
    """
    found = dict(values)
    for change in cause.changes:
        if change.target != COUNT:
            for path in _paths(case, change.target):
                size = change.at(severity)
                if change.target in TIMES and path != change.target:
                    size = _of_rate(change, size)
                found[path] = _moved(case, found, path, change.how, size)
    return found


def _paths(case: Case, target: str) -> list[str]:
    """Return the paths that a change moves: of the case, else of the library."""
    if target in PLACES:
        names = [hole.name for hole in case.openings]
        return [f"openings[{len(names) - len(PLACES) + PLACES.index(target)}].diameter"]
    if target == VENTS:
        return [f"openings[{k}].diameter" for k in vents(case)]
    return [target if value_at(case, target) is not None else _of_library(case, target)]


def _of_library(case: Case, path: str) -> str:
    """Return the path of the number that acts where a case does not have its own."""
    table, _, name = path.partition(".")
    if path == "bay.mixing_time":
        return "bay.entrainment"
    if path == "powder.flame_spread" and case.powder is not None:
        return LIBRARY + address("packings", case.powder.packing, "flame_speed")
    if table == "powder" and case.powder is not None:
        return LIBRARY + address("powders", case.powder.grade, name)
    if path == "joint.pull_off" and case.joint.fit is not None:
        return LIBRARY + address("fits", case.joint.fit, "shear")
    if path == "contents.extraction_force" and case.contents is not None:
        return LIBRARY + address("packs", geometry.tightness(case), "shear")
    if path == "pins.strength" and case.pins is not None:
        return LIBRARY + address("pin materials", case.pins.material, "shear_strength")
    raise StudyError(
        f"a cause changes {path}, and neither the case nor the library has a number there; "
        "type one in the case, or let the cause need what it changes"
    )


def _of_rate(change: CauseChange, size: np.ndarray) -> np.ndarray:
    """Return the change of a rate that stands in the place of a time."""
    if change.how != "factor":
        raise StudyError(
            f'a cause changes {change.target} by "{change.how}", and the case has no such time; '
            'change it by "factor", or type the time in the case'
        )
    return 1.0 / size


def _moved(
    case: Case, values: Mapping[str, np.ndarray], path: str, how: str, size: np.ndarray
) -> np.ndarray:
    present: Any = values[path] if path in values else nominal_at(case, path)
    if np.ndim(present) == 2:
        size = size[:, None]
    if how == "factor":
        return np.asarray(present * size)
    if how in ("value", "diameter"):
        return size
    if how == "free_share":
        size = size * geometry.free_volume(case).total
    elif how == "bore_cubes":
        size = size * case.bay.bore**3
    return np.asarray(present + size)
