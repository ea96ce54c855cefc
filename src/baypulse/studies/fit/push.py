"""The push of a separation in a logger's acceleration: where it is, and what it says by itself.

An accelerometer fast in its section, less its reading before, shows dv/dt of the section. With the
section's mass m and the bore's area A the pressure that pushes, net of friction, is m dv/dt / A.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from scipy.integrate import cumulative_trapezoid
from scipy.ndimage import median_filter

from baypulse.case.quantities import digits
from baypulse.constants import STANDARD_GRAVITY
from baypulse.members.parts import StudyError

Array = np.ndarray

FEWEST = 8
"""Readings inside a push from which its course can be told; fewer tell its impulse alone."""

FEWEST_BEFORE = 3
"""Readings before a push from which its rest is taken."""

AT_REST = 0.5
"""Time over which a running median takes all that is no push for rest [s]; a push is shorter."""

NOISE = 8.0
"""A push stands out by so many deviations of the noise; estimate."""

BELOW_TOP = 0.25
"""Or by so much of the greatest reading where that is less: a short record is push and ringing;
estimate."""

LEAST = 1.5 * STANDARD_GRAVITY
"""And by so much at the least [m/s^2]; estimate."""

LEAST_CHANGE = 0.3
"""Change of speed below which a pulse is a knock and no push [m/s]; estimate."""

APART = 5e-3
"""Pulses closer together than this [s] are one that rings."""

LONGEST = 0.25
"""No push is longer [s]; what is longer is a motor."""

ONE_EVENT = 3.0
"""Pulses within this time [s] belong to one separation: push, cord, rebound."""

PART = 0.3
"""The push is the first pulse of at least this share of the event's greatest change of speed; an
event of less than this share of another's is no rival of it."""

EDGE = 0.15
"""Share of the push at its beginning and at its end over which the readings there are taken
together: sections ring, and pins fail one by one."""

BEYOND_EDGES = 0.3
"""What is added up for the change of speed, beyond both edges, over the push's length."""

JERK_SHARE = 0.1
"""A cord's jerk takes at least this share of the push's change of speed back."""

EQUAL = 1e-3
"""Readings that differ from the greatest by no more than this share of it are equal to it."""

SAME = 1e-2
"""The same for a sensor that rings at the end of its range."""

FEWEST_SAME = 3
"""So many such readings are at the end of a sensor's range."""

STEP = 0.05
"""Step on either side of those of a sensor that rings, as a share of the greatest reading."""

LEAST_RANGE = 14.0 * STANDARD_GRAVITY
"""Sensors of 16 g are the smallest that people fly [m/s^2]."""

NEAR_RANGE = 0.97
"""Readings above this share of a stated range stand for at least so much."""


@dataclass(frozen=True)
class PushCourse:
    """What a push says of its own section.

    Attributes
    ----------
    begin, end : float
        Between half its level and half its level [s].
    change : float
        Of the section's speed [m/s].
    travel : float
        How far the section has come at the end [m].
    release, peak, clear : float
        Acceleration over the first part of the push, the greatest of a parabola through it, and
        over its last part [m/s^2]; NaN where there are too few readings for it.
    mean : float
        Change of speed over the time between [m/s^2].
    scatter : float
        Standard deviation of a reading about that parabola: how it rings [m/s^2].
    readings : int
        In the push.
    """

    begin: float
    end: float
    change: float
    travel: float
    release: float
    peak: float
    clear: float
    mean: float
    scatter: float
    readings: int


@dataclass(frozen=True)
class RecordedPush:
    """Where a push is in a record.

    Attributes
    ----------
    course : Course
        What it says of its own section.
    sign : float
        Of its readings in the record.
    rest : float
        Reading before it [m/s^2].
    jerk : float or None
        When the cord is next taut, by half of a pulse the other way [s].
    jerk_peak : float
        Greatest reading of that pulse, its size [m/s^2].
    noise : float
        Standard deviation of a reading at rest [m/s^2].
    """

    course: PushCourse
    sign: float
    rest: float
    jerk: float | None
    jerk_peak: float
    noise: float


def find(time: Array, values: Array, source: str) -> RecordedPush:
    """Find the push in a record of acceleration.

    Parameters
    ----------
    time, values : ndarray, shape (n,)
        [s], [m/s^2]; either sign, gravity in it or not.
    source : str
        Name of the file, for messages.

    Raises
    ------
    StudyError
        Where there is none, or more than one event.
    """
    step = float(np.median(np.diff(time)))
    width = 2 * int(0.5 * AT_REST / step) + 1
    if width < values.size:
        off = values - median_filter(values, size=width, mode="nearest")
    else:
        off = values - np.median(values)
    # a quarter of a normal's readings lie within 0.3186 of its deviation: a short record is mostly
    # push and ringing
    noise = float(np.quantile(np.abs(off), 0.25)) / 0.3186
    level = min(NOISE * noise, BELOW_TOP * float(np.abs(off).max()))
    pulses = _pulses(time, off, max(LEAST, level))
    if not pulses:
        raise StudyError(
            f"{source}: no push stands out: the readings leave their rest by at most "
            f"{digits(float(np.abs(off).max()) / STANDARD_GRAVITY)} g; check the column and its "
            "unit, or take the right stretch with --between"
        )
    event = _one_event(pulses, source, time)
    most = max(abs(pulse[2]) for pulse in event)
    first, last, change = next(pulse for pulse in event if abs(pulse[2]) >= PART * most)
    sign = math.copysign(1.0, change)
    before = (time < time[first] - 2.0 * APART) & (time > time[first] - AT_REST)
    if np.count_nonzero(before) < FEWEST_BEFORE:
        before = np.arange(time.size) < max(first, 1)
    rest = float(np.median(values[before]))
    near = slice(max(first - 2, 0), last + 3)
    course = shape(time[near], sign * (values[near] - rest))
    later = [p for p in event if p[0] > last and sign * p[2] < -JERK_SHARE * abs(change)]
    jerk, peak = None, 0.0
    if later:
        a, b, _ = later[0]
        pull = -sign * (values[a : b + 1] - rest)
        peak = float(pull.max())
        k = int(np.flatnonzero(pull >= 0.5 * peak)[0])
        jerk = _crossing(time[a : b + 1], pull, k - 1, 0.5 * peak)
    return RecordedPush(course, sign, rest, jerk, peak, noise)


def shape(time: Array, values: Array, full: Array | None = None) -> PushCourse:
    """Return what a push says of its own section.

    Parameters
    ----------
    time, values : ndarray, shape (n,)
        [s]; acceleration less its rest, positive in the push [m/s^2].
    full : ndarray of bool, shape (n,), optional
        Readings at the end of the sensor's range: left out of the push's course.
    """
    high = values > 0.5 * float(values.max())
    half = 0.5 * float(np.median(values[high]))
    # what rings above it after the push is not of it
    first, last = max(
        _stretches(time, values > half), key=lambda ends: float(values[ends[0] : ends[1] + 1].sum())
    )
    begin = _crossing(time, values, first - 1, half)
    end = _crossing(time, values, last, half)
    length = max(end - begin, float(np.median(np.diff(time))))
    near = (time > begin - BEYOND_EDGES * length) & (time < end + BEYOND_EDGES * length)
    near[max(first - 1, 0) : last + 2] = True
    t_all = time[near]
    speed = cumulative_trapezoid(values[near], t_all, initial=0.0)
    way = cumulative_trapezoid(speed, t_all, initial=0.0)
    change = float(speed[-1])
    inside = (time >= begin) & (time <= end)
    if full is not None:
        inside &= ~full
    count = int(np.count_nonzero(inside))
    release = peak = clear = scatter = math.nan
    if count >= FEWEST:
        t, a = time[inside], values[inside]
        bent = np.polynomial.Polynomial.fit(t, a, 2)
        scatter = float(np.std(a - bent(t))) * math.sqrt(count / (count - 3))
        edge = max(EDGE * length, t[1] - t[0])
        early, late = t <= max(begin + edge, t[0]), t >= min(end - edge, t[-1])
        release, clear = float(a[early].mean()), float(a[late].mean())
        middle = bent(t[~early & ~late])
        peak = max(float(np.max(middle)), release, clear)
    return PushCourse(
        begin, end, change, float(np.interp(end, t_all, way)), release, peak, clear,
        change / length, scatter, count,
    )  # fmt: skip


def saturated(values: Array, push: RecordedPush, reach: float | None) -> Array:
    """Return which readings of a record are at the end of the sensor's range.

    Parameters
    ----------
    values : ndarray, shape (n,)
        As in the record [m/s^2].
    push : Push
        In it.
    reach : float or None
        Range of the sensor where it is known [m/s^2].
    """
    if reach is not None:
        return np.asarray(np.abs(values) >= NEAR_RANGE * reach)
    top = float(np.max(push.sign * values))
    nothing = np.zeros(values.size, dtype=bool)
    if top < LEAST_RANGE:
        return nothing
    equal, near = (push.sign * values >= (1.0 - share) * top for share in (EQUAL, SAME))
    if np.count_nonzero(equal) >= FEWEST_SAME:
        return np.asarray(equal)
    at = np.flatnonzero(near)
    around = push.sign * values[[max(at[0] - 1, 0), min(at[-1] + 1, values.size - 1)]]
    abrupt = at.size >= FEWEST_SAME and bool(np.all(around < (1.0 - STEP) * top))
    return np.asarray(near) if abrupt else nothing


def _pulses(time: Array, off: Array, level: float) -> list[tuple[int, int, float]]:
    """Return first and last reading and change of speed of all that leaves the rest for a while."""
    found = []
    for a, b in _stretches(time, np.abs(off) > level):
        first, last = max(a - 1, 0), min(b + 1, time.size - 1)
        change = float(np.trapezoid(off[first : last + 1], time[first : last + 1]))
        if abs(change) >= LEAST_CHANGE and time[b] - time[a] <= LONGEST:
            found.append((first, last, change))
    return found


def _stretches(time: Array, where: Array) -> list[tuple[int, int]]:
    """Return first and last reading of every stretch that is true, short breaks bridged."""
    over = np.flatnonzero(where)
    if not over.size:
        return []
    step = float(np.median(np.diff(time)))
    breaks = np.flatnonzero(np.diff(time[over]) > max(APART, 1.5 * step))
    starts = over[np.concatenate(([0], breaks + 1))]
    ends = over[np.concatenate((breaks, [over.size - 1]))]
    return [(int(a), int(b)) for a, b in zip(starts, ends, strict=True)]


def _one_event(
    pulses: list[tuple[int, int, float]], source: str, time: Array
) -> list[tuple[int, int, float]]:
    """Return the pulses of the only separation; refuse a record with several."""
    events: list[list[tuple[int, int, float]]] = [[pulses[0]]]
    for pulse in pulses[1:]:
        if time[pulse[0]] - time[events[-1][0][0]] > ONE_EVENT:
            events.append([])
        events[-1].append(pulse)
    most = max(abs(pulse[2]) for pulse in pulses)
    rivals = [each for each in events if max(abs(p[2]) for p in each) >= PART * most]
    if len(rivals) == 1:
        return rivals[0]
    listed = ", ".join(
        f"{time[each[0][0]]:.5g} s (changes the speed by {digits(abs(each[0][2]), 2)} m/s)"
        for each in rivals[:4]
    )
    at = float(time[rivals[0][0][0]])
    raise StudyError(
        f"{source}: {len(rivals)} events may be the separation, at {listed}; take the one you mean "
        f'with --between "{at - AT_REST:.5g} s" "{at + ONE_EVENT:.5g} s" or the like'
    )


def _crossing(time: Array, values: Array, k: int, level: float) -> float:
    """Return when values pass a level between readings k and k + 1."""
    if k < 0 or k + 1 >= time.size:
        return float(time[max(min(k, time.size - 1), 0)])
    share = (level - values[k]) / (values[k + 1] - values[k])
    return float(time[k] + share * (time[k + 1] - time[k]))
