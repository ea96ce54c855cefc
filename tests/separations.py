"""Real separations, logged on both pieces: their logs, and cases fitted to them.

The logs are facts from a public repository, cut to the window of the push; each file says which.
What nobody published of these rockets (charge, room, pins, fit) is fitted within what such a rocket
can hold, with the library's numbers as they are.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache

import numpy as np
from scipy.optimize import least_squares

from baypulse import simulate
from baypulse.case import geometry
from baypulse.case.held_value import with_value
from baypulse.case.model import Case
from baypulse.run.result import EventKind, Result
from recorded import FOLDER, Record, computed, records

LOGS = FOLDER / "logs"

FREE = {"separation-4in-pair": (1e-3, 4e-3), "separation-6in-pair": (3e-3, 12e-3),
        "separation-6in-aft": (3e-3, 12e-3)}  # fmt: skip
"""Free volume [m^3] that such a rocket can hold; estimate."""

CHARGE = (0.5, 3.0)
"""Least and greatest charge, over that of the empty-bay rule at 15 psi."""

PINS = (20.0, 700.0)
"""Strength of one of three pins [N]: from a thin nylon screw to a thick one; estimate."""

FIT = (2.0, 150.0)
"""Pull-off force [N]: from loose to tight; estimate."""

WITHIN, RISE_WITHIN = 1.15, 1.5
"""Factors by which a fitted figure, and the rise, may miss."""

MOVES = 9.80665
"""Specific force [m/s^2] above which a piece is said to move: one g."""

PUSHED = 0.06
"""Time [s] by which all pushes are over; the cord comes long after."""

PUSH_SHOWN = 0.035
"""Time [s] by which the slower of both pairs is clear."""

CLIPPED = 27.6 * 9.80665
"""Specific force [m/s^2] from which these loggers are near the end of their range of 28 g."""


@dataclass(frozen=True)
class Log:
    """A logger's window.

    Attributes
    ----------
    time : ndarray
        From first motion [s].
    force : ndarray
        Axial specific force, positive towards the nose [m/s^2].
    bay : ndarray
        Pressure of the electronics bay above what it was before the charge [Pa].
    """

    time: np.ndarray
    force: np.ndarray
    bay: np.ndarray

    def from_motion(self) -> Log:
        """Return the log with its time from where :func:`first_motion` sees it."""
        return replace(self, time=self.time - first_motion(self.time, self.force))


@cache
def log(name: str) -> Log:
    """Return a logger's window by the name of its file, its first 10 ms taken for rest."""
    rows = np.genfromtxt(LOGS / f"{name}.csv", delimiter=",", skip_header=4)
    time, force, bay = rows.T
    still = time < time[0] + 0.010
    return Log(time, force - np.median(force[still]), bay)


def first_motion(time: np.ndarray, force: np.ndarray) -> float:
    """Return when a piece is last seen at one g before it is pushed: time 0 of both curves."""
    strength = np.abs(force)
    # the push, and not the igniter's shock, passes half of its greatest value
    early = time < PUSHED
    pushed = int(np.argmax(early & (strength > 0.5 * strength[early].max())))
    before = np.flatnonzero(strength[: pushed + 1] < MOVES)
    return float(time[before[-1]]) if before.size else float(time[0])


def specific_force(result: Result) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return time [s] and what loggers of the aft and of the forward piece would show [m/s^2].

    Slopes of the computed speeds over steps of a tenth of a millisecond; gravity and air act on
    both pieces alike and are left out.
    """
    time, first = np.unique(result.time, return_index=True)
    at = np.arange(time[0], time[-1], 1e-4)
    slopes = [
        np.gradient(np.interp(at, time, result.curves[name].values[first]), at)
        for name in ("airframe_velocity", "nose_velocity")
    ]
    return at, slopes[0], slopes[1]


def with_free_volume(case: Case, free: float) -> Case:
    """Return the case with a tube of a length that leaves so much free volume [m^3]."""
    grown = (free - geometry.free_volume(case).total) / geometry.bore_area(case)
    return with_value(case, "bay.tube_length", case.bay.tube_length + grown)


def usual_charge(case: Case) -> float:
    """Return the charge of the empty-bay rule at 15 psi without pins [kg]."""
    rule = simulate(case).rule
    assert math.isclose(rule.target_pressure, 103_421.36, rel_tol=1e-6)
    return rule.empty.target_mass


@dataclass(frozen=True)
class Fitted:
    """A record's case, fitted.

    Attributes
    ----------
    case : Case
        With what was fitted.
    result : Result
        Its run.
    ratios : dict of str to float
        Computed over measured, by quantity.
    free, charge, usual : float
        Free volume [m^3], charge [kg], and that of the empty-bay rule at 15 psi [kg].
    """

    case: Case
    result: Result
    ratios: Mapping[str, float]
    free: float
    charge: float
    usual: float

    def met(self, quantity: str) -> bool:
        """Say whether a figure is met within what is asked."""
        factor = RISE_WITHIN if quantity == "rise_time" else WITHIN
        return 1.0 / factor <= self.ratios[quantity] <= factor


def between(ends: tuple[float, float], share: float) -> float:
    """Return the number that lies so far between two ends, as a factor."""
    return ends[0] * (ends[1] / ends[0]) ** share


def net_pressure(result: Result) -> tuple[np.ndarray, np.ndarray]:
    """Return the bay's pressure [Pa] less friction over the bore from release to clear; and when.

    That is what m a / A gives. The second array says which points lie between the two.
    """
    failing = [event for event in result.events if event.kind is EventKind.PIN_FAILS]
    clear, time = result.event("clear"), result.time
    if not failing or clear is None:
        return result.gauge_pressure, np.zeros(time.size, dtype=bool)
    sliding = (time > failing[0].time) & (time < clear.time)
    friction = np.abs(result.curves["friction_force"].values) / geometry.bore_area(result.case)
    return np.where(sliding, result.gauge_pressure - friction, result.gauge_pressure), sliding


def net_pressures(result: Result) -> dict[str, float]:
    """Return what m a / A would give of a run at release, peak and clear [Pa]."""
    pressure, sliding = net_pressure(result)
    if not sliding.any():
        return {}
    net, released = pressure[sliding], result.gauge_pressure[sliding][0]
    failing = next(event for event in result.events if event.kind is EventKind.PIN_FAILS)
    return {
        "release_pressure": failing.gauge_pressure - float(released - net[0]),
        "peak_pressure": float(net.max()),
        "clear_pressure": float(net[-1]),
    }


def ratios(record: Record, result: Result) -> dict[str, float]:
    """Return computed over measured of every figure; nearly nothing for what did not happen."""
    answers = computed(result) | net_pressures(result)
    return {
        quantity: answers[quantity] / measured.middle if answers[quantity] > 0.0 else 0.05
        for quantity, measured in record.measured.items()
    }


def curve_miss(name: str, result: Result) -> float:
    """Return by how much the aft piece's curve misses its log, over the log's greatest value.

    Root mean square over the samples of the push, both curves from first motion.
    """
    found = log(f"{name}-aft").from_motion()
    time, aft, _ = specific_force(result)
    pushed = (found.time > 0.0) & (found.time < PUSH_SHOWN)
    curve = np.interp(found.time[pushed], time - first_motion(time, aft), aft)
    miss = np.sqrt(np.mean((curve - found.force[pushed]) ** 2))
    return float(miss / np.abs(found.force[pushed]).max())


def at_motion(name: str, result: Result) -> tuple[float, float]:
    """Return pressure at first motion over its peak: of the aft barometer, and computed."""
    found = log(f"{name}-aft").from_motion()
    seen = float(np.interp(0.0, found.time, found.bay) / found.bay[found.time < PUSHED].max())
    time, aft, _ = specific_force(result)
    gauge = result.gauge_pressure
    return seen, float(np.interp(first_motion(time, aft), result.time, gauge) / gauge.max())


def strongest(name: str, result: Result) -> tuple[float, float]:
    """Return the greatest specific force of the aft piece, measured and computed [m/s^2]."""
    found = log(f"{name}-aft").from_motion()
    measured = np.abs(found.force[(found.time > 0.0) & (found.time < PUSHED)]).max()
    time, aft, _ = specific_force(result)
    start, clear = first_motion(time, aft), result.event("clear")
    assert clear is not None
    return float(measured), float(np.abs(aft[(time > start) & (time < clear.time)]).max())


@cache
def fitted(name: str) -> Fitted:
    """Return a record's case with charge, room, pins and friction fitted by least squares.

    All four stay within :data:`FREE`, :data:`CHARGE`, :data:`PINS` and :data:`FIT`; the first
    guesses are three rooms.
    """
    (record,) = (record for record in records() if record.name == name)

    def case_at(x: np.ndarray) -> tuple[Case, float, float]:
        free = between(FREE[name], x[0])
        case = with_free_volume(record.case, free)
        usual = usual_charge(case)
        case = with_value(case, "powder.mass", usual * between(CHARGE, x[1]))
        case = with_value(case, "pins.strength", between(PINS, x[2]))
        return with_value(case, "joint.pull_off", between(FIT, x[3])), free, usual

    def errors(x: np.ndarray) -> np.ndarray:
        found = ratios(record, simulate(case_at(x)[0]))
        return np.array([
            math.log(value) / math.log(RISE_WITHIN if quantity == "rise_time" else WITHIN)
            for quantity, value in found.items()
        ])  # fmt: skip

    # the sum of squares is rough, and searches from farther off stop above these
    starts = [(share, 0.3, 0.6, 0.7) for share in (0.3, 0.5, 0.7)]
    tries = [
        least_squares(errors, start, bounds=(0.0, 1.0), diff_step=0.01, xtol=1e-4, ftol=1e-4,
                      max_nfev=30)
        for start in starts
    ]  # fmt: skip
    best = min(tries, key=lambda found: found.cost)
    case, free, usual = case_at(best.x)
    result = simulate(case)
    assert case.powder is not None
    return Fitted(case, result, ratios(record, result), free, case.powder.mass, usual)
