"""A window that is known, and what only its report shows: curves, limits, changes."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from baypulse.members.answered import Answered
from baypulse.members.blocks import Progress
from baypulse.members.chances import chance
from baypulse.members.charge_results import Edge, Trial
from baypulse.members.charge_search import PILOT, Ends, Search
from baypulse.members.charges import Charges, Points, Tally, trial_of
from baypulse.members.outcomes import limit_names
from baypulse.members.thresholds import Thresholds
from baypulse.studies.window.remedies import remedies
from baypulse.studies.window.result import Window

CURVE_STEP = 1.4
"""Factor between points of the curve."""

CURVE_BELOW = 3
"""Points of the curve below the least charge."""

CURVE_POINTS = 9
"""How many there are, more or less."""

CHANGES_COST = 18
"""What trying changes costs, more or less, in points of the curve."""

OVER = 0.98
"""Share of the members that exceed a limit at which the curve ends."""

NARROW = 1.5
"""Most over least charge below which changes are tried that would widen the window."""


@dataclass(frozen=True)
class Survey:
    """A window that is known, and the members by which it was found.

    Attributes
    ----------
    window : Window
        Without what :meth:`whole` finds.
    search : Search
        What found its ends.
    ends : Ends
        These.
    tally : Tally
        Of its runs.
    workers : int
        Threads.
    points : callable or None
        Where the members come from, if not from the spreads of the case.
    """

    window: Window
    search: Search
    ends: Ends
    tally: Tally
    workers: int
    points: Points | None

    def answered(self) -> Answered[Window]:
        """Return the window as an answer tells it, and how the rest is found.

        Of its curve that has the charge of the case alone, no limit is told by itself, and changes
        were tried only where it is empty.
        """
        known = self._with_changes() if self.window.empty else self
        return Answered(known.window, known.whole)

    def whole(self, progress: Progress | None = None) -> Window:
        """Return the window with its curve, and with changes where it is narrow.

        Parameters
        ----------
        progress : callable, optional
            Called from now on with runs done, and about how many there will be.
        """
        least, most = self.ends
        narrow = least is not None and most is not None and least <= most < NARROW * least
        self.tally.go_on(progress, (CURVE_POINTS + CHANGES_COST * narrow) * PILOT)
        points, limits = curve(self.search, least, self.window.curve)
        found = replace(self, window=replace(self.window, curve=points, limits=limits))
        if narrow:
            found = found._with_changes()
        return replace(found.window, runs=self.tally.runs)

    def _with_changes(self) -> Survey:
        at = self.window
        first, *others = remedies(
            at.case, at.wanted, self.ends, at.seed, self.workers, self.tally, self.points
        )
        changed = replace(at, as_it_is=first, remedies=tuple(others), runs=self.tally.runs)
        return replace(self, window=changed)


def curve(
    search: Search, least: float | None, known: tuple[Trial, ...]
) -> tuple[tuple[Trial, ...], tuple[Edge, ...]]:
    """Return points of the curve, and where each limit alone would end the window.

    Parameters
    ----------
    search : Search
        What found the ends of the window.
    least : float or None
        Its lower one [SI].
    known : tuple of Trial
        Points that are known.
    """
    charges = search.charges
    first = pilot(charges)
    names = limit_names(charges.case)
    highest = search.highest(least)
    passing = [Thresholds(_exceeds(charges, k), first.size) for k in range(len(names))]
    points = list(known)
    base = least if least is not None else highest / CURVE_STEP**8
    charge = max(base / CURVE_STEP**CURVE_BELOW, search.floor)
    while charge <= highest:
        outcomes = charges.fire(charge, first)
        for k, thresholds in enumerate(passing):
            thresholds.note(charge, first, outcomes.exceeded[:, k])
        points.append(trial_of(charges.case, "", charge, outcomes))
        if points[-1].fails_hard.share >= OVER and points[-1].opens.share >= search.wanted:
            break
        charge *= CURVE_STEP
    reached = points[-1].charge
    limits = []
    rank = math.floor((1.0 - search.wanted) * first.size) + 1
    for name, thresholds in zip(names, passing, strict=True):
        bracket = thresholds.bracket(rank, reached, search.floor, reached)
        if bracket is not None:
            # the counts of so few members say little of the interval
            count = thresholds.count(bracket[0])
            limits.append(
                Edge(bracket[0], math.nan, math.nan, chance(name, count, first.size), name)
            )
    points.sort(key=lambda trial: trial.charge)
    return tuple(points), tuple(sorted(limits, key=lambda edge: edge.charge))


def pilot(charges: Charges) -> np.ndarray:
    """Return the indices of the few members behind a point of the curve."""
    return np.arange(min(PILOT, charges.members))


def _exceeds(charges: Charges, limit: int) -> Callable[[float, np.ndarray], np.ndarray]:
    """Return what says which members exceed one limit."""
    return lambda charge, which: charges.fire(charge, which).exceeded[:, limit]
