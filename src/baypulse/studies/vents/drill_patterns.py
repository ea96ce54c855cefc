"""Numbers and drills of holes that make a vent inside its window."""

from __future__ import annotations

import math

from baypulse.case.drills import SYSTEMS, drills
from baypulse.studies.vents.result import Lower, Pattern, Upper, Vent, is_window

COUNTS = (1, 2, 3, 4, 6)
"""Numbers of holes that are tried."""

CLOGS = 1e-3
"""Hole below which lint or soot closes it [m]: no smaller one is offered; estimate."""


def middle(lower: Lower, upper: Upper, greatest: float) -> float | None:
    """Return the hole farthest, as a factor, from both ends of a window [m].

    Parameters
    ----------
    lower, upper : Lower, Upper
        Its ends.
    greatest : float
        Largest single hole that was looked at [m], which stands for an end that was not found.

    Returns
    -------
    float or None
        Diameter of the single hole, no hole below :data:`CLOGS` being one; None without a window.
    """
    low, high = max(lower.single, CLOGS), min(upper.single, greatest)
    if not is_window(lower, upper) or low > high:
        return None
    return math.sqrt(low * high)


def inside(lower: Lower, upper: Upper, system: str, count: int) -> list[Pattern]:
    """Return the drills of a system that make, so many times, a vent inside a window.

    Parameters
    ----------
    lower, upper : Lower, Upper
        Its ends.
    system : str
        One of :data:`baypulse.case.drills.SYSTEMS`.
    count : int
        Number of holes.
    """
    every = [Pattern(d, count, d.diameter * math.sqrt(count)) for d in drills(system)]
    return [
        each for each in every
        if lower.single <= each.single <= upper.single and each.drill.diameter >= CLOGS
    ]  # fmt: skip


def patterns(lower: Lower, upper: Upper, greatest: float) -> tuple[Pattern, ...]:
    """Return of each number of holes and each system the drill nearest to the middle of a window.

    Parameters
    ----------
    lower, upper, greatest
        As for :func:`middle`.
    """
    goal = middle(lower, upper, greatest)
    if goal is None:
        return ()
    found = []
    for count in COUNTS:
        for system in SYSTEMS:
            good = inside(lower, upper, system, count)
            if good:
                found.append(min(good, key=lambda each: abs(math.log(each.single / goal))))
    return tuple(found)


def own_drill(vent: Vent) -> str:
    """Return the name of the drill that the case's own holes have, or an empty text.

    Parameters
    ----------
    vent : Vent
        As it is in the case.
    """
    for system in SYSTEMS:
        for drill in drills(system):
            if math.isclose(drill.diameter, vent.diameter, rel_tol=1e-3):
                return drill.name
    return ""
