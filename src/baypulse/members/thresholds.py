"""Each member's own charge at which something begins to happen, found as far as it is asked."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np

FIRST_STEP = 1.3
"""Factor between charges until the one that is sought lies between two of them."""

PRECISION = 1.01
"""Factor between the two charges at which a search ends."""

FEW = 8
"""Members that find roughly where to look: a handful."""

PILOT = 128
"""Members that are looked at next: enough to meet one in a hundred."""

ROUGHLY = 1.1
"""Factor between the charges at which the search with such members ends."""

BESIDE = 8
"""Members of the pilot by which the search proper begins beside the quantile, on the side where few
are left to be tried, and beyond the interval that is asked for too."""


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

    def middles(self) -> np.ndarray:
        """Return the middle of each member's bracket [SI], infinite without an upper end."""
        return np.asarray(np.sqrt(self._not_at * self._at))

    def bracket(
        self, rank: int, start: float, floor: float, ceiling: float, first: int | None = None,
        close: float = PRECISION,
    ) -> tuple[float, float] | None:  # fmt: skip
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
        close : float
            Factor between the two charges at which the search ends.

        Returns
        -------
        tuple of float or None
            Lower and upper charge [SI]; the lower is 0 if it happens at the floor already. None
            if it does not happen often enough up to the ceiling.
        """
        low, high = self._known(rank, first)

        def narrow(charge: float) -> None:
            nonlocal low, high
            if self.count(charge, first) >= rank:
                high = charge
            else:
                low = charge

        begin = min(max(start, floor), ceiling)
        if low < begin < high and (low == 0.0 or high == math.inf):
            narrow(begin)
        while high == math.inf:
            if low >= ceiling:
                return None
            narrow(min(low * FIRST_STEP, ceiling))
        while low == 0.0:
            if high <= floor:
                return 0.0, floor
            narrow(max(high / FIRST_STEP, floor))
        while high > close * low:
            narrow(math.sqrt(low * high))
        return low, high

    def piloted(
        self, rank: int, pilots: tuple[int, int], start: float, floor: float, ceiling: float
    ) -> tuple[float, float] | None:
        """Return such charges of all members, begun where a few of them say.

        Parameters
        ----------
        rank, start, floor, ceiling
            As for :meth:`bracket`.
        pilots : tuple of int
            In so many of the first :data:`FEW`, and of the first :data:`PILOT`, it shall happen.
        """
        if self._at.size > PILOT:
            for first, sought in zip((FEW, PILOT), pilots, strict=True):
                found = self.bracket(sought, start, floor, ceiling, first, ROUGHLY)
                start = ceiling if found is None else found[1]
        return self.bracket(rank, start, floor, ceiling)

    def _known(self, rank: int, first: int | None) -> tuple[float, float]:
        """Return between which charges the one of a rank lies, by what is known of the members.

        At the rank-th smallest upper end of all brackets it happens in so many members; at the
        rank-th smallest lower end in fewer.
        """
        ends = (np.partition(each[:first], rank - 1)[rank - 1] for each in (self._not_at, self._at))
        low, high = ends
        return float(low), float(high)
