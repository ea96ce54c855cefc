"""How high members still open: each member's own altitude from which on it fails."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from baypulse.members.charge_search import ranks

CLOSE = 50.0
"""Difference of altitude at which a search ends [m]."""


class Height(NamedTuple):
    """An altitude up to which something holds.

    Attributes
    ----------
    altitude : float
        [m]; minus infinity where it does not even hold at home, infinity where it holds at every
        altitude that was looked at.
    low, high : float
        Between which it lies with 95 % confidence, as far as the number of members decides it; the
        same infinities.
    """

    altitude: float
    low: float
    high: float


class FirstFailure:
    """Members, each with a bracket around the altitude from which on it fails.

    A member that has failed at one altitude counts as failed at every higher one, also where it
    would open again: an altitude is to be trusted with all below it.

    Parameters
    ----------
    opens : callable
        From an altitude [m] and indices of members, shape (k,), to whether each opens.
    grid : ndarray, shape (n,)
        Altitudes that were looked at, rising [m].
    opened : ndarray of bool, shape (n, members)
        Whether each member opens there.
    """

    def __init__(
        self, opens: Callable[[float, np.ndarray], np.ndarray], grid: np.ndarray,
        opened: np.ndarray,
    ) -> None:  # fmt: skip
        self._opens = opens
        failed = ~opened
        ever, first = failed.any(axis=0), failed.argmax(axis=0)
        below = np.concatenate(([-math.inf], grid[:-1]))
        self._fails_at = np.where(ever, grid[first], math.inf)
        self._opens_at = np.where(ever, below[first], grid[-1])
        # nobody looks below the first altitude
        self._fails_at[ever & (first == 0)] = -math.inf
        self.members = opened.shape[1]

    def height(self, wanted: float) -> Height:
        """Return the altitude up to which a wanted share of the members separates.

        Parameters
        ----------
        wanted : float
            Share, between 0 and 1.

        Notes
        -----
        The number of members that fail below the true altitude is binomial, which gives the
        interval (order statistics; e.g. W. J. Conover, Practical Nonparametric Statistics, 1999,
        section 3.2, from memory), by :func:`baypulse.members.charge_search.ranks`.
        """
        n, share = self.members, 1.0 - wanted
        allowed = math.floor(share * n * (1.0 + 1e-12))
        low, high = ranks(share, n)
        lower = self._of_rank(low) if low > 0 else -math.inf
        return Height(self._of_rank(allowed + 1), lower, self._of_rank(min(high, n)))

    def _of_rank(self, rank: int) -> float:
        """Return the highest altitude at which fewer than so many members have failed."""
        while True:
            low = float(np.partition(self._opens_at, rank - 1)[rank - 1])
            high = float(np.partition(self._fails_at, rank - 1)[rank - 1])
            if math.isinf(high) or high - low <= CLOSE:
                return high if math.isinf(high) else low
            self._try(0.5 * (low + high))

    def _try(self, altitude: float) -> None:
        which = np.flatnonzero((self._opens_at < altitude) & (altitude < self._fails_at))
        opens = self._opens(altitude, which)
        self._opens_at[which[opens]] = altitude
        self._fails_at[which[~opens]] = altitude
