"""Each member's own charge at which something begins to happen, found as far as it is asked."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np

FIRST_STEP = 1.3
"""Factor between charges until the one that is sought lies between two of them."""

PRECISION = 1.01
"""Factor between the two charges at which the search ends."""


class Thresholds:
    """Members, each with a bracket of charges around its own threshold.

    What happens to a member at one charge is taken to happen to it at every higher charge, so
    that a charge is tried only with the members whose bracket holds it: the search of a far
    quantile costs hardly more than one ensemble. The study that uses it checks its answer with
    members of their own.

    Parameters
    ----------
    happens : callable
        From a charge [SI] and indices of members, shape (k,), to whether it happens, shape (k,).
    members : int
        How many there are.
    """

    def __init__(self, happens: Callable[[float, np.ndarray], np.ndarray], members: int) -> None:
        self._happens = happens
        self._not_at = np.zeros(members)
        self._at = np.full(members, np.inf)

    def count(self, charge: float, first: int | None = None) -> int:
        """Return in how many of the first members, or of all, it happens at a charge.

        Parameters
        ----------
        charge : float
            SI.
        first : int, optional
            How many members are looked at.
        """
        unknown = (self._not_at < charge) & (charge < self._at)
        which = np.flatnonzero(unknown[:first])
        if which.size:
            self.note(charge, which, self._happens(charge, which))
        return int((self._at[:first] <= charge).sum())

    def note(self, charge: float, which: np.ndarray, happens: np.ndarray) -> None:
        """Take down what is known of members at a charge.

        Parameters
        ----------
        charge : float
            SI.
        which : ndarray of int, shape (k,)
            Indices of members.
        happens : ndarray of bool, shape (k,)
            Whether it happens to them.
        """
        yes, no = which[happens], which[~happens]
        self._at[yes] = np.minimum(self._at[yes], charge)
        self._not_at[no] = np.maximum(self._not_at[no], charge)

    def without(self, charge: float) -> np.ndarray:
        """Return the indices of the members in which it does not happen at a charge."""
        self.count(charge)
        return np.flatnonzero(self._at > charge)

    def bracket(
        self, rank: int, start: float, floor: float, ceiling: float, first: int | None = None
    ) -> tuple[float, float] | None:
        """Return two close charges: at the upper it happens in so many members, not at the lower.

        Parameters
        ----------
        rank : int
            So many members, at least 1.
        start : float
            Where to begin [SI]. The search is quick if it happens there in nearly as many as are
            sought, and if more are sought than not; or in a few more, and if few are sought.
        floor, ceiling : float
            Between which is searched [SI].
        first : int, optional
            How many members are looked at.

        Returns
        -------
        tuple of float or None
            Lower and upper charge [SI]; the lower is 0 if it happens at the floor already. None
            if it does not happen often enough up to the ceiling.
        """
        low = high = min(max(start, floor), ceiling)
        if self.count(low, first) >= rank:
            while self.count(low, first) >= rank:
                if low <= floor:
                    return 0.0, floor
                low, high = max(low / FIRST_STEP, floor), low
        else:
            while self.count(high, first) < rank:
                if high >= ceiling:
                    return None
                low, high = high, min(high * FIRST_STEP, ceiling)
        while high > PRECISION * low:
            middle = math.sqrt(low * high)
            if self.count(middle, first) >= rank:
                high = middle
            else:
                low = middle
        return low, high
