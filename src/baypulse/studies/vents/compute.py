"""The window of a vent: the smallest for the ascent, the largest for the charge."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
from scipy.optimize import brentq

from baypulse.case.logs import Flight
from baypulse.case.model import Case
from baypulse.case.quantities import asked
from baypulse.members import draws
from baypulse.members.answered import Answered
from baypulse.members.blocks import Progress
from baypulse.members.chances import Chance, chance
from baypulse.members.charge_search import ranks
from baypulse.members.charges import Charges, Tally
from baypulse.members.member_count import member_count
from baypulse.members.parts import StudyError
from baypulse.members.thresholds import BESIDE, PILOT, Thresholds
from baypulse.observed.climb import climb, low_hold
from baypulse.observed.flight_profile import Profile, profile
from baypulse.show.phrases import left_out
from baypulse.studies.vents.bleed import SHOT_MEMBERS, Firing, bleed, turn
from baypulse.studies.vents.drill_patterns import patterns
from baypulse.studies.vents.remedies import remedies
from baypulse.studies.vents.result import (
    FOUND,
    INTEREST,
    NO_BOUND,
    NOT_ENOUGH,
    NOT_NEEDED,
    AscentCourse,
    Lower,
    Upper,
    Vent,
    VentAscent,
    VentRemedy,
    Vents,
    is_window,
)
from baypulse.studies.vents.vent_members import Vented, find_vent, greatest_vent, tight, with_vent

SHARES = (0.01, 1.0)
"""Shares of the retention that can be asked for."""

LEAST = 1e-4
"""Smallest single hole that is looked at [m]; no drill is as thin."""

CLOSE = 1e-4
"""Relative width at which the search of the smallest vent ends."""

CURVE_MEMBERS = 256
"""Members of a point of the curve of the chance of separation."""

CURVE_STEPS = (0.4, 0.6, 0.8, 0.9, 1.0, 1.1, 1.25, 1.4, 1.6, 1.9, 2.3, 2.8, 3.5)
"""Points of that curve, over the largest vent."""

CURVE_END = 0.02
"""Chance of separation at which that curve ends."""

USUAL = 3.175e-3
"""Single hole that stands for a vent where the case has none, 1/8 in [m]; common practice, no
source."""

BEFORE = 5.0
"""Time before the launch from which the bay's air is followed [s]."""

PUSHES = 40
"""Points of the curve of the ascent."""


class WayUp:
    """The ascent of a case with any vent.

    Parameters
    ----------
    case : Case
        With its vent.
    vent : Vent
        Which opening it is.
    flight : Profile
        The flight.
    """

    def __init__(self, case: Case, vent: Vent, flight: Profile) -> None:
        self._case, self._vent, self._flight = case, vent, flight

    def push(self, single: float) -> VentAscent:
        """Return the moment of the greatest force with a vent of a single hole [m]."""
        found = climb(with_vent(self._case, self._vent, single), self._flight)
        k = found.worst
        return VentAscent(
            single=single,
            force=float(found.force[k]),
            pressure=float(found.difference[k]),
            drag=0.0 if self._flight.pull is None else float(self._flight.pull[k]),
            time=float(self._flight.time[k]),
            altitude=float(self._flight.altitude[k]),
        )

    def course(self, name: str, single: float) -> AscentCourse:
        """Return the pressure over the joint with a vent of a single hole [m]."""
        found = climb(with_vent(self._case, self._vent, single), self._flight)
        return AscentCourse(name, single, self._flight.time, np.asarray(found.difference))

    def lower(self, hold: float, share: float, greatest: float) -> Lower:
        """Return the smallest vent.

        Parameters
        ----------
        hold : float
            What holds the joint [N].
        share : float
            Of it, that may be used up.
        greatest : float
            Largest single hole that is looked at [m].
        """
        allowed = share * hold

        def over(log: float) -> float:
            return self.push(math.exp(log)).force - allowed

        if self.push(0.0).force <= allowed:
            return Lower(NOT_NEEDED, 0.0, hold)
        if over(math.log(greatest)) > 0.0:
            return Lower(NOT_ENOUGH, math.inf, hold)
        if over(math.log(LEAST)) <= 0.0:
            return Lower(FOUND, LEAST, hold)
        root = brentq(over, math.log(LEAST), math.log(greatest), xtol=CLOSE)
        return Lower(FOUND, math.exp(root), hold)


class Bleeding:
    """The largest vent, sought with one set of members.

    Parameters
    ----------
    members : Vented
        The members.
    wanted : float
        Chance of separation.
    greatest : float
        Largest single hole that is looked at [m].
    start : float
        Single hole to begin with [m].
    """

    def __init__(self, members: Vented, wanted: float, greatest: float, start: float) -> None:
        self.members = members
        self._wanted = wanted
        self._greatest = greatest
        self._start = start
        self.shut = Thresholds(members.shut, members.members)
        every = np.arange(members.members)
        self._sealed = members.shut(0.0)
        # what does not separate without a vent does so with the smallest one
        shut = every[self._sealed]
        self.shut.note(LEAST, shut, np.ones(shut.size, dtype=bool))

    def opens(self, single: float, first: int | None = None) -> Chance:
        """Return the chance of separation with a single hole [m], of the first members or all."""
        n = self.members.members if first is None else min(first, self.members.members)
        if single < LEAST:
            return chance("separates", n - int(self._sealed[:n].sum()), n)
        return chance("separates", n - self.shut.count(single, first), n)

    def upper(self) -> Upper:
        """Return the largest vent, with its interval."""
        n = self.members.members
        bracket = self._bracket()
        if bracket is None:
            return Upper(NO_BOUND, math.inf, math.nan, math.nan, self.opens(self._greatest))
        single = bracket[0]
        if single < LEAST:
            return Upper(NOT_ENOUGH, 0.0, math.nan, math.nan, self.opens(0.0))
        low, high = (self._of_rank(rank, bracket[1]) for rank in ranks(1.0 - self._wanted, n))
        return Upper(FOUND, single, low, high, self.opens(single))

    def _bracket(self) -> tuple[float, float] | None:
        rank = self._allowed(self.members.members) + 1
        pilots = 1, self._allowed(PILOT) + 1 + BESIDE
        return self.shut.piloted(rank, pilots, self._start, LEAST, self._greatest)

    def _allowed(self, members: int) -> int:
        """Return how many members may not separate."""
        return math.floor((1.0 - self._wanted) * members * (1.0 + 1e-12))

    def _of_rank(self, rank: int, start: float) -> float:
        if not 1 <= rank <= self.members.members:
            return math.nan
        bracket = self.shut.bracket(rank, start, LEAST, self._greatest)
        return math.nan if bracket is None else bracket[0]


def answer(
    case: Case,
    *,
    share: float = 0.5,
    wanted: float = 0.99,
    opening: str | None = None,
    flight: Flight | None = None,
    members: int | None = None,
    seed: int = 1,
    workers: int = 1,
    progress: Progress | None = None,
) -> Answered[Vents]:
    """Find the smallest vent that the ascent needs and the largest that the charge bears.

    Parameters
    ----------
    case : Case
        With its spreads, and an ascent unless a flight is given.
    share : float
        Share of what holds the joint that trapped air and drag may use up, from 0.01 to 1.
    wanted : float
        Chance of separation, from 0.5 to 0.9999; the hold of the joint is the one that the same
        share of the joints has at least.
    opening : str, optional
        Which opening is the vent; by default the one named so.
    flight : baypulse.case.logs.Flight, optional
        From a logger, in place of the case's ascent.
    members : int, optional
        Behind the largest vent; by default as in :func:`baypulse.studies.window.compute.window`.
    seed : int
        The same seed gives the same members.
    workers : int
        Threads; the answer does not depend on them.
    progress : callable, optional
        Called with runs done, and about how many there will be.

    Returns
    -------
    Answered
        Both ends, whether the vent matters, what would open an empty window, and which drills to
        take; after that the curves, and other vents with slower powder.

    Raises
    ------
    StudyError
        If the share or the chance is impossible, the members are too few for it, nothing is known
        of the ascent, or it is not clear which opening is the vent.
    """
    if not SHARES[0] <= share <= SHARES[1]:
        raise StudyError(
            f"a share of {asked(share)} of the retention cannot be asked for; it is one from "
            f"{asked(SHARES[0])} to {asked(SHARES[1])}"
        )
    size = member_count(wanted, members)
    with_one, vent = find_vent(case, opening)
    way = way_up(profile(case, flight))
    tally = Tally(progress, 2 * size + 3 * SHOT_MEMBERS)
    greatest = greatest_vent(case)
    start = vent.single if LEAST < vent.single < greatest else 0.1 * greatest
    hold = low_hold(case, wanted, seed)
    up, gap = WayUp(tight(with_one), vent, way), WayUp(with_one, vent, way)
    lower = up.lower(hold, share, greatest)
    charges = Charges(with_one, size, seed, workers, tally)
    bleeding = Bleeding(Vented(charges, vent), wanted, greatest, start)
    upper = bleeding.upper()
    tried: tuple[VentRemedy, ...] = ()
    if not is_window(lower, upper):

        def ends(changed: Case) -> tuple[Lower, Upper]:
            few = Vented(Charges(changed, PILOT, seed, workers, tally), vent)
            held = low_hold(changed, wanted, seed)
            return (
                WayUp(tight(changed), vent, way).lower(held, share, greatest),
                Bleeding(few, wanted, greatest, start).upper(),
            )

        tried = remedies(with_one, ends, lower, upper)
    named = _named(vent, lower, upper)
    singles = dict(named)
    widest = next((name for name in INTEREST if singles.get(name)), None)
    firing = Firing(with_one, vent, min(SHOT_MEMBERS, size), seed, workers, tally)
    told = [] if widest is None else [("no vent", False), (widest, False)]
    if "largest vent" in singles and case.powder is not None:
        told.append(("largest vent", True))
    known = Vents(
        case=case,
        wanted=wanted,
        share=share,
        vent=vent,
        way=way.source,
        pulled=way.pull is not None,
        greatest=greatest,
        lower=lower,
        upper=upper,
        leaky=None,
        pushes=(),
        leaky_pushes=(),
        chances=(),
        present=up.push(vent.single),
        sealed=up.push(0.0),
        present_chance=bleeding.opens(vent.single),
        sealed_chance=bleeding.opens(0.0),
        courses=(),
        shots=tuple(firing.shot(name, singles[name], slow) for name, slow in told),
        bleed=None if widest is None else bleed(with_one, vent, singles[widest]),
        turn=None,
        patterns=patterns(lower, upper, greatest),
        remedies=tried,
        members=charges.members,
        seed=seed,
        runs=tally.runs,
        warnings=_warnings(case, charges, vent, way),
    )

    def whole(progress: Progress | None) -> Vents:
        tally.go_on(progress, CURVE_MEMBERS * len(CURVE_STEPS) // 2 + 5 * SHOT_MEMBERS)
        chances = _chances(bleeding, upper, vent, greatest)
        grid = _grid([single for single, _ in chances], named, greatest)
        slow = None
        if widest is not None and case.powder is not None:
            slow = turn(with_one, vent, singles[widest])
        leaks = case.joint.clearance > 0.0
        return replace(
            known,
            leaky=gap.lower(hold, share, greatest) if leaks else None,
            pushes=tuple(up.push(single) for single in grid),
            leaky_pushes=tuple(gap.push(single) for single in grid) if leaks else (),
            chances=chances,
            courses=tuple(up.course(name, single) for name, single in named),
            shots=firing.all(named),
            turn=slow,
            runs=tally.runs,
        )

    return Answered(known, whole)


def way_up(flight: Profile) -> Profile:
    """Return a flight from shortly before the launch up to its apogee.

    Parameters
    ----------
    flight : Profile
        As long as a logger has it.
    """
    first = int(np.searchsorted(flight.time, -BEFORE))
    kept = slice(first, flight.apogee + 1)
    return replace(
        flight,
        time=flight.time[kept],
        altitude=flight.altitude[kept],
        speed=flight.speed[kept],
        pressure=flight.pressure[kept],
        temperature=flight.temperature[kept],
        pull=None if flight.pull is None else flight.pull[kept],
        speed_error=None if flight.speed_error is None else flight.speed_error[kept],
        burnout=flight.burnout - first,
        apogee=flight.apogee - first,
    )


def _named(vent: Vent, lower: Lower, upper: Upper) -> list[tuple[str, float]]:
    """Return the vents that are told of by name."""
    found = [("no vent", 0.0)]
    if lower.state == FOUND:
        found.append(("smallest vent", lower.single))
    found.append(
        ("present vent", vent.single) if vent.single > 0.0 else ("usual vent", USUAL)
    )  # fmt: skip
    if upper.state == FOUND:
        found.append(("largest vent", upper.single))
    return found


def _chances(
    bleeding: Bleeding, upper: Upper, vent: Vent, greatest: float
) -> tuple[tuple[float, Chance], ...]:
    """Return the chance of separation over the vent."""
    base = upper.single if upper.state == FOUND else (vent.single or 0.1 * greatest)
    if upper.state == NO_BOUND:
        base = greatest / CURVE_STEPS[-1]
    points = sorted({base * step for step in CURVE_STEPS} | ({vent.single} - {0.0}))
    found = [(0.0, bleeding.opens(0.0, CURVE_MEMBERS))]
    for single in points:
        if single > greatest:
            break
        found.append((single, bleeding.opens(single, CURVE_MEMBERS)))
        if found[-1][1].share <= CURVE_END:
            break
    return tuple(found)


def _grid(singles: list[float], named: list[tuple[str, float]], greatest: float) -> list[float]:
    """Return vents for the curve of the ascent, as far as anything is known of the charge."""
    every = [single for single in [*singles, *(each for _, each in named)] if single > 0.0]
    low, high = 0.4 * min(every), min(1.6 * max(every), greatest)
    return [0.0, *np.geomspace(low, high, PUSHES).tolist()]


def _warnings(case: Case, charges: Charges, vent: Vent, way: Profile) -> tuple[str, ...]:
    """Return what to know before trusting it."""
    found = [*way.notes, *draws.truncations(case)]
    if vent.assumed:
        found.insert(
            0, "this case has no vent between bay and outside; a single hole is assumed, and "
            "everything that is open in the case stays open beside it",
        )  # fmt: skip
    return (*found, *left_out(charges.left_out))
