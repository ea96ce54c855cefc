"""Members of a case whose charge can be set: everything else about a member stays as drawn."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from copy import copy
from dataclasses import replace
from threading import Lock
from typing import Any

import numpy as np

from baypulse.case.casefile import consistency
from baypulse.case.casefile.keys import charge_path, number_at, value_at
from baypulse.case.held_value import with_value
from baypulse.case.model import Case
from baypulse.engine.ensemble import Until
from baypulse.members import draws
from baypulse.members.blocks import Progress
from baypulse.members.chances import Chance, chance
from baypulse.members.charge_results import Trial, quantiles
from baypulse.members.ensemble import run_values
from baypulse.members.factors import Factor, dimensions, factors
from baypulse.members.outcomes import Outcomes, limit_names
from baypulse.run.result import Parachute

Points = Callable[[Sequence[Factor], int, int, int], np.ndarray]
"""From what scatters, a number of members, a seed and blocks to skip to points of the unit cube."""

MARGIN = 0.95
"""Share of the greatest possible charge up to which is searched: the members scatter about it."""


def works(outcomes: Outcomes) -> np.ndarray:
    """Return whether a bay separated and its contents, where that is asked, came out.

    Parameters
    ----------
    outcomes : Outcomes
        Of members.

    Returns
    -------
    ndarray of bool, shape (members,)
    """
    return outcomes.opened & (outcomes.contents != Parachute.STAYS_IN.code)


def exceeds_any(outcomes: Outcomes) -> np.ndarray:
    """Return whether any limit was exceeded, shape (members,).

    Parameters
    ----------
    outcomes : Outcomes
        Of members.
    """
    return np.asarray(outcomes.exceeded.any(axis=1))


class Tally:
    """Counts the runs of several ensembles, and tells the progress.

    Parameters
    ----------
    progress : callable, optional
        Called with runs done, and about how many there will be.
    expected : int
        About how many there will be.

    Attributes
    ----------
    runs : int
        Runs so far.
    """

    def __init__(self, progress: Progress | None = None, expected: int = 0) -> None:
        self.runs = 0
        self._lock = Lock()
        self._progress = progress
        self._expected = expected

    def go_on(self, progress: Progress | None, more: int) -> None:
        """Tell the progress to another, of about so many more runs."""
        self._progress, self._expected = progress, self.runs + more

    def add(self, runs: int) -> None:
        """Count more runs; several threads may."""
        with self._lock:
            self.runs += runs
            if self._progress is not None:
                self._progress(self.runs, max(self.runs, self._expected))


class Charges:
    """Members that can be fired with any charge, as often as is asked.

    The scatter of the charge itself stays the same share of it.

    Parameters
    ----------
    case : Case
        What scatters.
    members : int
        How many; those without room for contents and grains are left out.
    seed : int
        Of the members.
    workers : int
        Threads; the answer does not depend on them.
    skip : int
        Blocks of the seed to leave for others: members behind them are drawn apart from those.
    tally : Tally
        Counts the runs.
    points : callable, optional
        Draws other members than those of the case's spreads, such as those that agree with shots
        (:meth:`baypulse.observed.build_weights.WeighedBuilds.points`).

    Attributes
    ----------
    members, left_out : int
        How many there are, and how many had no room.
    present : float
        Charge of the case [SI].

    Raises
    ------
    StudyError
        If none of them has room.
    """

    def __init__(
        self, case: Case, members: int, seed: int, workers: int, tally: Tally, *, skip: int = 0,
        points: Points | None = None,
    ) -> None:  # fmt: skip
        self.case = case
        self.path = charge_path(case)
        self._workers = workers
        self._tally = tally
        self.present = float(value_at(case, self.path))
        scattering = factors(case)
        if points is None:
            u = draws.many_points(seed, members, dimensions(scattering), skip)
        else:
            u = points(scattering, members, seed, skip)
        values = draws.values(case, scattering, u)
        room = draws.some_possible(case, values, members)
        if not room.all():
            values = {path: drawn[room] for path, drawn in values.items()}
        self.values = values
        self.members = int(room.sum())
        self.left_out = members - self.members

    def with_pins(self, case: Case) -> Charges:
        """Return the same members with fewer pins, each of which keeps its own strength.

        Parameters
        ----------
        case : Case
            The same, with no more pins than this one.
        """
        count = 0 if case.pins is None else case.pins.count
        found = copy(self)
        found.case = case
        found.values = {
            path: drawn[:, :count] if drawn.ndim == 2 else drawn
            for path, drawn in self.values.items()
            if count or not path.startswith("pins.")
        }
        return found

    @classmethod
    def of(
        cls, case: Case, values: Mapping[str, np.ndarray], workers: int, tally: Tally
    ) -> Charges:
        """Return members whose values were drawn elsewhere.

        Parameters
        ----------
        case : Case
            What they scatter about.
        values : mapping
            By path, arrays with the members first.
        workers, tally
            As for the class.
        """
        found = cls.__new__(cls)
        found.case, found.path, found.values = case, charge_path(case), dict(values)
        found.members, found.left_out = len(next(iter(values.values()))), 0
        found.present = float(value_at(case, found.path))
        found._workers, found._tally = workers, tally
        return found

    def with_values(self, values: Mapping[str, np.ndarray]) -> Charges:
        """Return as many members of the same case as have values that were drawn elsewhere."""
        return Charges.of(self.case, values, self._workers, self._tally)

    def fire(
        self, charge: float, which: np.ndarray | None = None, times: int = 1,
        until: Until = Until.END,
    ) -> Outcomes:  # fmt: skip
        """Fire members with a charge.

        Parameters
        ----------
        charge : float
            SI; a member's own charge differs from it as it does in the case.
        which : ndarray of int, optional
            Their indices; all of them unless given.
        times : int
            So many such charges at once, each in a holder or a reservoir of its own.
        until : Until
            How far they are run: their end, or that they are open, if nothing else is asked.
        """
        chosen = np.arange(self.members) if which is None else which
        factors = {self.path: charge / self.present}
        if times > 1:
            factors |= _together(self.case, times, factors[self.path])
        case = self.case
        for path, factor in factors.items():
            value = factor * float(value_at(case, path))
            case = replace(with_value(case, path, value), spreads=self.case.spreads)

        def draw(part: np.ndarray) -> dict[str, Any]:
            return {
                path: factors[path] * drawn[part] if path in factors else drawn[part]
                for path, drawn in self.values.items()
            }

        return run_values(case, chosen, draw, self._workers, self._tally.add, until)

    def trial(
        self, name: str, charge: float, which: np.ndarray | None = None, times: int = 1
    ) -> Trial:
        """Return what members do with a charge, in numbers.

        Parameters
        ----------
        name : str
            What the charge is.
        charge, which, times
            As for :meth:`fire`.
        """
        whole = times * charge if self.case.powder is not None else charge
        return trial_of(self.case, name, whole, self.fire(charge, which, times))


def trial_of(case: Case, name: str, charge: float, outcomes: Outcomes) -> Trial:
    """Return what members did with a charge, in numbers.

    Parameters
    ----------
    case : Case
        The case.
    name : str
        What the charge is.
    charge : float
        SI.
    outcomes : Outcomes
        Of the members.
    """

    def share(name: str, happened: np.ndarray) -> Chance:
        return chance(name, int(happened.sum()), happened.size)

    names = limit_names(case)
    return Trial(
        name=name,
        charge=charge,
        opens=share("separates", works(outcomes)),
        fails_hard=share("a limit is exceeded", exceeds_any(outcomes)),
        limits=tuple(share(each, outcomes.exceeded[:, k]) for k, each in enumerate(names)),
        peak_pressure=quantiles(outcomes.column("peak_pressure")),
        clear_velocity=quantiles(outcomes.column("clear_velocity")),
        greatest_velocity=quantiles(outcomes.column("greatest_velocity")),
        cord_load=quantiles(outcomes.column("cord_load")),
    )


def _together(case: Case, times: int, factor: float) -> dict[str, float]:
    """Return the factors that stand for several equal charges at once.

    One holder, or reservoir, of their whole volume, with the area of all their openings.
    """
    wider = math.sqrt(times)
    if case.cold_gas is not None:
        return {"cold_gas.volume": times, "cold_gas.orifice": wider}
    found = {"powder.mass": times * factor}
    if case.holder is not None:
        found |= {"holder.volume": times, "holder.opening": wider}
    return found


def with_charge(case: Case, charge: float) -> Case:
    """Return the case with another charge, which does not scatter.

    Parameters
    ----------
    case : Case
        The case.
    charge : float
        SI.
    """
    return with_value(case, charge_path(case), charge)


def greatest_charge(case: Case) -> float:
    """Return the greatest charge that has room and is possible at all [SI].

    Parameters
    ----------
    case : Case
        The case.
    """
    path = charge_path(case)
    spec = number_at(path)
    low, high = float(value_at(case, path)), MARGIN * spec.high
    if not any(consistency.problems(with_charge(case, high))):
        return high
    while high > 1.01 * low:
        middle = float(np.sqrt(low * high))
        if any(consistency.problems(with_charge(case, middle))):
            high = middle
        else:
            low = middle
    return max(MARGIN * low, float(value_at(case, path)))
