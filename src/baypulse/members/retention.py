"""What holds the joint of each member."""

from __future__ import annotations

import numpy as np

from baypulse.case.casefile.joint_retention import slow_hold
from baypulse.case.model import Case
from baypulse.members import draws

Array = np.ndarray


def holds(case: Case, values: dict[str, Array], members: int) -> Array:
    """Return what holds a joint of each member in a slow pull [N], shape (members,).

    That pins are stronger against a jerk is left out, on the safe side for a joint that must hold.

    Parameters
    ----------
    case : Case
        The joint's bay.
    values : dict
        From :func:`baypulse.members.draws.values`.
    members : int
        How many there are.
    """
    drawn = draws.member_case(case, values)
    return np.broadcast_to(slow_hold(drawn), (members,)).astype(float)
