"""The order in which members are run, so that no thread gets all that take long."""

from __future__ import annotations

import numpy as np

HANDS = 16
"""Into so many parts members are dealt out, as cards are; more threads have no more to gain."""


def dealt(members: int) -> np.ndarray:
    """Return the places of members as they are dealt out, one behind the other.

    A run of a bay that stays shut takes twice as long as another, and members that stand beside
    each other often do the same. Every stretch of this order has some from everywhere.

    Parameters
    ----------
    members : int
        How many.

    Returns
    -------
    ndarray of int, shape (members,)

    Examples
    --------
    >>> dealt(20)[:4].tolist()
    [0, 16, 1, 17]
    """
    return np.argsort(np.arange(members) % HANDS, kind="stable")
