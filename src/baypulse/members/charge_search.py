"""Both ends of a charge window, as roots of a probability over the charge."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import NamedTuple

import numpy as np
from scipy.special import bdtr

from baypulse.case.casefile.keys import number_at
from baypulse.engine.ensemble import Until
from baypulse.members.chances import chance
from baypulse.members.charge_results import Edge
from baypulse.members.charges import Charges, exceeds_any, greatest_charge, works
from baypulse.members.outcomes import limit_names
from baypulse.members.thresholds import BESIDE, FEW, PILOT, Thresholds
from baypulse.run.breakdown import static_rule

FAR = 6.0
"""How far beyond the charge of the case, or the static rule's for the empty bay, is looked at all,
as a factor."""

REACH = 8.0
"""How far beyond the least charge an upper limit is looked for, as a factor."""


class Ends(NamedTuple):
    """Charges at both ends of a window [SI]; None where there is none."""

    least: float | None
    most: float | None


def ranks(share: float, members: int) -> tuple[int, int]:
    """Return the ranks between which a quantile lies with 95 % confidence.

    The number of members below the true quantile is binomial (order statistics; e.g.
    W. J. Conover, Practical Nonparametric Statistics, 1999, section 3.2, from memory).

    Parameters
    ----------
    share : float
        Of the quantile, between 0 and 1.
    members : int
        How many there are. A rank below 1 or above their number says that they are too few.
    """
    reached = bdtr(np.arange(members + 1), members, share)
    below, above = np.searchsorted(reached, (0.025, 0.975)).tolist()
    return below, above + 1


class Search:
    """A window's ends, sought with one set of members.

    Parameters
    ----------
    charges : Charges
        The members.
    wanted : float
        Chance of separation; any limit may be exceeded with the rest of it.
    start : float
        Charge to begin with [SI].
    end : float, optional
        The same for the window's other end; `start` unless given.

    Attributes
    ----------
    usual : float
        Charge to begin with, or the static rule's for the empty bay if that is more [SI].
    floor, ceiling : float
        Between which is searched [SI].
    opening, breaking : Thresholds
        Where the members separate (and let their parachute go), and where they exceed any limit.
    """

    def __init__(
        self, charges: Charges, wanted: float, start: float, end: float | None = None
    ) -> None:
        self.charges = charges
        self.wanted = wanted
        self.floor = number_at(charges.path).low
        # NaN for a cold gas, for which there is no such rule
        self.usual = float(np.nanmax([start, static_rule(charges.case).empty.needed_mass]))
        self.ceiling = min(greatest_charge(charges.case), FAR * self.usual)
        self._start = start
        self._end = end or start
        # of the members alone: what held the search as well would keep all of them until somebody
        # looks for what is left over
        self.opening = Thresholds(
            lambda charge, which: works(charges.fire(charge, which, until=Until.OPEN)),
            charges.members,
        )
        self.breaking = Thresholds(
            lambda charge, which: exceeds_any(charges.fire(charge, which)), charges.members
        )

    @property
    def needed(self) -> int:
        """Members that have to open at the least charge."""
        return math.ceil(self.wanted * self.charges.members * (1.0 - 1e-12))

    @property
    def allowed(self) -> int:
        """Members that may exceed a limit at the most charge."""
        return self._allowed(self.charges.members)

    def _allowed(self, members: int) -> int:
        return math.floor((1.0 - self.wanted) * members * (1.0 + 1e-12))

    def ends(self) -> Ends:
        """Return both ends without their intervals."""
        least = self.least_charge()
        most = self._most_bracket(least)
        return Ends(least, most and most[0])

    def highest(self, least: float | None) -> float:
        """Return the charge up to which a limit is looked for [SI]."""
        return self.ceiling if least is None else min(REACH * least, self.ceiling)

    def least_charge(self) -> float | None:
        """Return the least charge that opens the bay with the target reliability [SI]."""
        pilots = FEW, max(math.ceil(self.wanted * PILOT) - BESIDE, 1)
        bracket = self.opening.piloted(self.needed, pilots, self._start, self.floor, self.ceiling)
        return bracket and bracket[1]

    def least(self) -> Edge | None:
        """Return the same with its interval, and with the chance there."""
        charge = self.least_charge()
        if charge is None:
            return None
        opens = chance("separates", self.opening.count(charge), self.charges.members)
        low, high = self._interval(self.opening, self.wanted, charge)
        return Edge(charge, low, high, opens, "separates")

    def most(self, least: float | None, *, interval: bool = True) -> Edge | None:
        """Return the most charge at which a limit is exceeded no more often than allowed.

        Parameters
        ----------
        least : float or None
            The window's other end, from which the search is bounded.
        interval : bool
            Whether its interval is sought, too; NaN without it.
        """
        bracket = self._most_bracket(least)
        if bracket is None:
            return None
        charge, above = bracket
        breaks = chance("a limit is exceeded", self.breaking.count(charge), self.charges.members)
        low = high = math.nan
        if interval:
            low, high = self._interval(self.breaking, 1.0 - self.wanted, above)
        return Edge(charge, low, high, breaks, self._first_exceeded(above))

    def _most_bracket(self, least: float | None) -> tuple[float, float] | None:
        pilots = 1, self._allowed(PILOT) + 1 + BESIDE
        highest = self.highest(least)
        return self.breaking.piloted(self.allowed + 1, pilots, self._end, self.floor, highest)

    def _interval(self, thresholds: Thresholds, share: float, start: float) -> Iterator[float]:
        """Give both ends of the interval of a quantile, NaN where too few members hold one."""
        for rank in ranks(share, self.charges.members):
            held = 1 <= rank <= self.charges.members
            found = held and thresholds.bracket(rank, start, self.floor, self.ceiling)
            yield found[1] if found else math.nan

    def _first_exceeded(self, charge: float) -> str:
        """Return the name of the limit that is exceeded most often at a charge."""
        which = np.setdiff1d(
            np.arange(self.charges.members), self.breaking.without(charge), assume_unique=True
        )
        often = self.charges.fire(charge, which).exceeded.sum(axis=0)
        return limit_names(self.charges.case)[int(often.argmax())]
