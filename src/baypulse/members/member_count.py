"""How many members stand behind the end of a window, for a wanted chance."""

from __future__ import annotations

import math

from baypulse.case import quantities
from baypulse.members.parts import StudyError
from baypulse.members.thresholds import PILOT

WANTED = (0.5, 0.9999)
"""Chances of separation that can be asked for."""

FAILURES = 15
"""Members that fail at an end, about: so many stand behind it, within bounds."""

LEAST_MEMBERS = 1536
"""Members behind an end, at least."""

MOST_MEMBERS = 150_000
"""Members behind an end, at most."""


def check_chance(wanted: float) -> None:
    """Refuse a chance of separation that cannot be asked for.

    Raises
    ------
    StudyError
        With a sentence.
    """
    low, high = WANTED
    if not low <= wanted <= high:
        raise StudyError(
            f"a chance of separation of {quantities.asked(wanted)} cannot be asked for; it is one "
            f"from {quantities.asked(low)} to {quantities.asked(high)}"
        )


def member_count(wanted: float, members: int | None, least: int = PILOT) -> int:
    """Return how many members there are behind an end, or refuse what cannot be.

    Parameters
    ----------
    wanted : float
        Chance of separation.
    members : int or None
        As asked for; None for enough of them.
    least : int
        Fewest that can be asked for, whatever the chance.

    Raises
    ------
    StudyError
        If the chance is impossible, or the members are too few for it.
    """
    check_chance(wanted)
    if members is None:
        return min(max(LEAST_MEMBERS, math.ceil(FAILURES / (1.0 - wanted))), MOST_MEMBERS)
    enough = max(math.ceil(1.0 / (1.0 - wanted) - 1e-9), least)
    if members < enough:
        raise StudyError(
            f"{members} simulated shots are too few for a chance of {quantities.asked(wanted)}; "
            f"take {enough} or more"
        )
    return members
