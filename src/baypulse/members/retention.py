"""What holds the joint of each member."""

from __future__ import annotations

from typing import Any

import numpy as np

from baypulse.case import geometry, params
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
    held = geometry.static_hold(drawn)
    total: Any = held.friction + held.seal + params.slow_pins(drawn).sum(axis=-1)
    return np.broadcast_to(total, (members,)).astype(float)
