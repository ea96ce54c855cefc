"""What a record says before it is fitted: its noise, its pulse, and what is wrong with it."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from scipy.integrate import cumulative_trapezoid
from scipy.ndimage import median_filter

from baypulse.case import geometry, library
from baypulse.case.model import Case
from baypulse.case.quantities import digits, show
from baypulse.members.parts import StudyError
from baypulse.observed.measured import (
    ACCELERATION,
    AIRFRAME,
    BAROMETER,
    POSITION,
    PRESSURE,
    MeasuredShot,
    Record,
)
from baypulse.studies.fit.push import RecordedPush, find, saturated, shape

Array = np.ndarray

FEWEST = 6
"""Readings above a tenth of the peak that are needed."""

MOST_POINTS = 1500
"""Readings that are fitted; of a longer record neighbours are put together."""

CLEAR_OF_NOISE = 6.0
"""A pulse is higher than so many standard deviations of the noise."""

HIGH = 0.3
"""A second pulse rises above this share of the peak."""

LOW = 0.12
"""Before it the readings fall below this share of the peak."""

FLAT_SHARE = 0.02
"""A top is clipped where this share of the pulse is the very maximum."""

FEWEST_FLAT = 4
"""Readings that must be the very maximum for a top to be clipped."""

RESOLUTION = 1e-4
"""Readings within this share of the peak are the same."""

BEYOND = 2.0
"""A peak beyond so many times the adiabatic bound is a wrong unit, not a measurement."""

MOST_HEAT = 2.5e6
"""Rise of pressure times volume over charge that no bay can pass [J/kg]: the whole heat of
explosion, 3.3 MJ/kg, and as much again from burning in the bay's air, in a gas whose heat capacity
ratio is 1.4."""

LONGEST = 5.0
"""Time over which a pulse of a bay may be above half its peak [s]."""

SHORTEST = 1e-4
"""The same at the least [s]."""

BEFORE = 0.25
"""Of the pulse's length, what is kept before it."""

ABOUT_PUSH = 0.75
"""Of a push's length, what is kept of an acceleration on either side."""

ABOUT_LEAK = 0.3
"""Time on either side of a push in which a barometer with the same clock is looked at [s]: the rise
before it, and the fall."""


@dataclass(frozen=True)
class PreparedRecord:
    """A record that is ready to be fitted.

    Attributes
    ----------
    record : Record
        Cut to the pulse and thinned.
    noise : float
        Standard deviation of the readings by themselves, SI; of an acceleration, as it rings.
    clipped : ndarray of bool, shape (n,)
        Readings that stand for "at least so much".
    peak : float
        Highest reading above the zero, SI.
    zero : float
        Reading at rest before the shot, SI.
    rise : float
        Time in the record at which the pulse reaches a tenth of its peak [s].
    steps : float
        Mean time between two fitted readings [s].
    notes : tuple of str
        What was found, sentences.
    push : Push or None
        Of an acceleration.
    """

    record: Record
    noise: float
    clipped: Array
    peak: float
    zero: float
    rise: float
    steps: float
    notes: tuple[str, ...]
    push: RecordedPush | None = None


def prepare_all(
    case: Case, shot: MeasuredShot, between: tuple[float, float] | None = None
) -> tuple[PreparedRecord, ...]:
    """Make all records of a shot ready; a barometer beside a logger is looked at near the push.

    Parameters
    ----------
    case : Case
        Of the shot.
    shot : Shot
        With its records.
    between : tuple of float, optional
        Stretch of the records to take [s].

    Raises
    ------
    StudyError
        As :func:`prepare`.
    """
    found: list[PreparedRecord] = []
    for record in shot.records:
        stretch = between
        push = None if record.clock is None else found[record.clock].push
        if push is not None:
            stretch = (push.course.begin - ABOUT_LEAK, push.course.end + ABOUT_LEAK)
        found.append(prepare(case, record, stretch))
    return tuple(found)


def prepare(
    case: Case, record: Record, between: tuple[float, float] | None = None
) -> PreparedRecord:
    """Hold a record against what a shot can be, and make it ready.

    Parameters
    ----------
    case : Case
        Of the shot.
    record : Record
        As read.
    between : tuple of float, optional
        Stretch of the record to take [s].

    Raises
    ------
    StudyError
        With a sentence that says what is wrong, where, and what to do.
    """
    notes = list(record.notes)
    record = _cut(record, between)
    if not np.isfinite(record.values).all() or not np.isfinite(record.time).all():
        raise StudyError(f"{record.source}: a time or a reading is not a finite number")
    if record.kind == ACCELERATION:
        return _prepare_acceleration(case, record, notes)
    if record.kind not in (PRESSURE, BAROMETER):
        return _prepare_motion(record, notes)
    noise, zero = _noise(record.values), _zero(record)
    above = record.values - zero
    smooth = _smoothed(above)
    top = float(smooth.max())
    pulse = int(np.count_nonzero(above > 0.1 * float(above.max())))
    if pulse < FEWEST:
        raise StudyError(
            f"{record.source}: the pulse has {pulse} readings above a tenth of its peak, and at "
            f"least {FEWEST} are needed; sample faster, or give the peak alone with --shot"
        )
    if top < CLEAR_OF_NOISE * noise or top <= 0.0:
        raise StudyError(
            f"{record.source}: no pulse stands out: the highest reading is "
            f"{_p(float(above.max()))} above the rest, and the readings scatter by {_p(noise)}; "
            "check the column and its unit, or the gauge"
        )
    _one_pulse(record, smooth, top)
    rise = _rise(record, smooth, top)
    clipped = _flat_top(record.values, above, notes, record)
    if record.kind == PRESSURE:
        _units(case, record, float(above.max()), bool(clipped.any()))
    _width(record, smooth, top)
    kept = _about_the_pulse(record, smooth, top, noise)
    cut = replace(record, time=record.time[kept], values=record.values[kept])
    thin, clipped, share = _thinned(cut, clipped[kept])
    if share > 1:
        notes.append(
            f"{record.source}: {cut.time.size:,} readings; every {share} neighbours were put "
            "together for the fit."
        )
    steps = float(np.ptp(thin.time)) / (thin.time.size - 1)
    return PreparedRecord(
        thin,
        max(noise / np.sqrt(share), 1e-3 * top),
        clipped,
        float(above.max()),
        zero,
        rise,
        steps,
        tuple(notes),
    )


def _prepare_motion(record: Record, notes: list[str]) -> PreparedRecord:
    """Make a record of positions or velocities ready; a few points will do."""
    if record.time.size < 2:
        raise StudyError(f"{record.source}: {record.time.size} reading, and at least 2 are needed")
    most = float(record.values.max())
    if most - min(0.0, float(record.values.min())) <= 0.0:
        raise StudyError(
            f"{record.source}: nothing moves: no {record.kind} is above zero; give distances "
            "between the sections that grow as they part"
        )
    limit, unit = (500.0, "m") if record.kind == POSITION else (1000.0, "m/s")
    if most > limit:
        raise StudyError(
            f"{record.source}: a {record.kind} of {digits(most)} {unit} is beyond any bay; "
            "check the unit of the column"
        )
    thin, clipped, _ = _thinned(record, np.zeros(record.time.size, dtype=bool))
    # a ruler beside a moving edge on a video: a fiftieth of what is seen; estimate
    noise = max(_noise(thin.values), 0.02 * most) if thin.time.size >= FEWEST + 2 else 0.03 * most
    start = float(np.interp(0.1 * most, np.maximum.accumulate(thin.values), thin.time))
    steps = float(np.ptp(thin.time)) / (thin.time.size - 1)
    return PreparedRecord(thin, noise, clipped, most, 0.0, start, steps, tuple(notes))


def _prepare_acceleration(case: Case, record: Record, notes: list[str]) -> PreparedRecord:
    """Cut a logger's acceleration to the push, less its rest, away from the other section."""
    if record.time.size < FEWEST:
        raise StudyError(
            f"{record.source}: {record.time.size} readings, and at least {FEWEST} are needed"
        )
    push = find(record.time, record.values, record.source)
    if record.section == AIRFRAME and case.setting.kind == "clamped":
        raise StudyError(
            f"{record.source}: the airframe moved, and the case clamps it: change kind in "
            '[setting] to "stand" or "flight", or --section to nose'
        )
    begin, end = push.course.begin, push.course.end
    step = float(np.median(np.diff(record.time)))
    wide = max(ABOUT_PUSH * (end - begin), 3.0 * step)
    last = end + wide if push.jerk is None else min(end + wide, push.jerk - step)
    kept = (record.time >= begin - wide) & (record.time <= last)
    values = push.sign * (record.values - push.rest)[kept]
    full = saturated(record.values, push, record.reach)[kept]
    if full.any():
        notes.append(
            f"{record.source}: {int(full.sum())} readings are at the end of the sensor's range, "
            f"{show(float(np.abs(record.values).max()), 'acceleration')}. They are left out "
            'of what the record says by itself, and taken as "at least so much" by the fit.'
        )
    cut = replace(record, time=record.time[kept], values=values)
    push = replace(push, course=shape(cut.time, values, full))
    speed = cumulative_trapezoid(values, cut.time, initial=0.0)
    rise = float(np.interp(0.1 * speed.max(), np.maximum.accumulate(speed), cut.time))
    peak = float(values.max())
    ringing = np.nan_to_num(push.course.scatter)
    noise = max(push.noise, 1e-3 * peak, float(ringing))
    return PreparedRecord(cut, noise, full, peak, 0.0, rise, step, tuple(notes), push)


def _cut(record: Record, between: tuple[float, float] | None) -> Record:
    if between is None:
        return record
    low, high = between
    inside = (record.time >= low) & (record.time <= high)
    if np.count_nonzero(inside) < 2:
        raise StudyError(
            f"{record.source}: --between {low:g} s and {high:g} s holds "
            f"{np.count_nonzero(inside)} readings; the record goes from {record.time[0]:.5g} s to "
            f"{record.time[-1]:.5g} s"
        )
    return replace(record, time=record.time[inside], values=record.values[inside])


def _noise(values: Array) -> float:
    """Return the scatter of single readings, from second differences, which a smooth curve lacks.

    Of white noise their standard deviation is sqrt(6) times its own; the middle of their sizes is
    0.6745 of that (a normal's median absolute deviation), whatever the few steep places do.
    """
    second = np.abs(np.diff(values, 2))
    return float(np.median(second)) / 0.6745 / np.sqrt(6.0)


def _smoothed(values: Array) -> Array:
    """Return the middle of every three readings, so that one spike is no pulse."""
    return np.asarray(median_filter(values, 3, mode="nearest"))


def _zero(record: Record) -> float:
    """Return the reading at rest: the middle of what stands before the first steep rise."""
    values = record.values
    low = float(np.quantile(values, 0.02))
    span = float(values.max()) - low
    above = np.flatnonzero(_smoothed(values) > low + 0.5 * span)
    first = int(above[0]) if above.size else 0
    before = values[: max(int(0.7 * first), 1)]
    return float(np.median(before)) if before.size >= 4 else low


def _one_pulse(record: Record, smooth: Array, top: float) -> None:
    """Refuse a record with two shots."""
    state, begins = False, []
    for k, value in enumerate(smooth):
        if not state and value > HIGH * top:
            state = True
            begins.append(k)
        elif state and value < LOW * top:
            state = False
    if len(begins) > 1:
        at = [float(record.time[k]) for k in begins]
        low = record.time[begins[0] : begins[1]]
        quiet = float(low[int(np.argmin(smooth[begins[0] : begins[1]]))])
        listed = ", ".join(f"{t:.5g} s" for t in at[:4])
        raise StudyError(
            f"{record.source}: {len(begins)} pulses in one file, at {listed}; one record holds one "
            f'shot: take the one you mean with --between "{record.time[0]:.5g} s" '
            f'"{quiet:.5g} s" or the like'
        )


def _rise(record: Record, smooth: Array, top: float) -> float:
    """Return when the pulse reaches a tenth of its peak; refuse a record that begins too late."""
    peak = int(np.argmax(smooth))
    if smooth[0] > 0.5 * top:
        raise StudyError(
            f"{record.source}: the record begins at {digits(100.0 * smooth[0] / top)} % of "
            "its peak, after the rise that tells most; start the recorder before the shot, or "
            "give the peak alone with --shot"
        )
    over = np.flatnonzero(smooth[: peak + 1] > 0.1 * top)
    return float(record.time[over[0]])


def _flat_top(values: Array, above: Array, notes: list[str], record: Record) -> Array:
    """Return which readings are at the end of the gauge's range."""
    top = float(above.max())
    flat = above >= top * (1.0 - RESOLUTION)
    runs = np.diff(np.flatnonzero(np.diff(np.concatenate(([0], flat.astype(int), [0])))))[::2]
    longest = int(runs.max(initial=0))
    pulse = int(np.count_nonzero(above > 0.5 * top))
    if longest < max(FEWEST_FLAT, FLAT_SHARE * pulse):
        return np.zeros(values.size, dtype=bool)
    notes.append(
        f"{record.source}: {int(flat.sum())} readings stand at the very maximum, "
        f"{_p(top)}: the gauge was at the end of its range. They are taken as "
        '"at least so much".'
    )
    return np.asarray(flat)


def _bound(case: Case) -> float:
    """Return a rise of pressure [Pa] that the source of a case cannot make."""
    volume = geometry.free_volume(case).total
    if case.powder is not None:
        return float(MOST_HEAT * case.powder.mass / volume)
    gas = case.cold_gas
    assert gas is not None
    data = library.gas(gas.gas, case.materials)
    ratio = 1.0 + data.gas_constant / data.heat_capacity
    return float(ratio * gas.pressure * gas.volume / volume)


def _units(case: Case, record: Record, peak: float, clipped: bool) -> None:
    """Refuse a peak that cannot be: a wrong unit, not a shot."""
    bound = _bound(case)
    advice = 'name its column with the unit, as in --column "pressure [psig]"'
    if peak > BEYOND * bound:
        raise StudyError(
            f"{record.source}: a peak of {_p(peak)} is beyond anything that this charge can make "
            f"in this bay (less than {_p(bound)}, walls and leaks not counted); check the unit of "
            f"the record and the case's charge and volume: {advice}"
        )
    if peak < 2e-4 * bound and not clipped:
        raise StudyError(
            f"{record.source}: a peak of {_p(peak)} is less than a five-thousandth of what this "
            f"charge could make in this bay; check the unit of the record: {advice}"
        )


def _width(record: Record, smooth: Array, top: float) -> None:
    """Refuse a time in a wrong unit."""
    high = np.flatnonzero(smooth > 0.5 * top)
    width = float(record.time[high[-1]] - record.time[high[0]])
    steps = float(np.median(np.diff(record.time)))
    if width > LONGEST or max(width, steps) < SHORTEST:
        raise StudyError(
            f"{record.source}: the pulse is above half its peak for "
            f"{digits(max(width, steps))} s, which no bay's is; check the unit of the time: "
            'name its column as in --time-column "time [ms]"'
        )


def _about_the_pulse(record: Record, smooth: Array, top: float, noise: float) -> slice:
    """Return the stretch with the pulse, and as much of the rest as tells the zero and the end."""
    over = np.flatnonzero(smooth > max(0.02 * top, 4.0 * noise))
    time = record.time
    begin, end = float(time[over[0]]), float(time[over[-1]])
    high = np.flatnonzero(smooth > 0.5 * top)
    width = max(float(time[high[-1]] - time[high[0]]), float(np.median(np.diff(time))))
    first = int(np.searchsorted(time, begin - max(BEFORE * (end - begin), 2.0 * width)))
    last = int(np.searchsorted(time, min(end, float(time[high[-1]]) + 12.0 * width) + 2.0 * width))
    return slice(first, last)


def _thinned(record: Record, clipped: Array) -> tuple[Record, Array, int]:
    """Put neighbours together until few enough are left."""
    share = -(-record.time.size // MOST_POINTS)
    if share == 1:
        return record, clipped, 1
    whole = record.time.size // share * share
    time, values = (each[:whole].reshape(-1, share).mean(axis=1)
                    for each in (record.time, record.values))  # fmt: skip
    any_clipped = np.asarray(clipped[:whole].reshape(-1, share).any(axis=1))
    return replace(record, time=time, values=values), any_clipped, share


def _p(value: float) -> str:
    return show(value, "stress", ("psi", "kPa"))
