"""Whole runs in compiled code, many at once: an ensemble's members, one row of numbers each.

The same right-hand side, events, phases and stepper as a single run; what is left out is what
nobody looks at in ten thousand runs: points along the way, and the books.
"""

from __future__ import annotations

import numpy as np

from baypulse.engine import events as ev
from baypulse.engine import gasside, run, stepper
from baypulse.engine import layout as at
from baypulse.engine.phases import apply_event
from baypulse.engine.rates import FORCES
from baypulse.physics import fit, powder
from baypulse.physics.compiled import compiled

COLUMNS = (
    "status",  # one of the codes below
    "steps",
    "peak_pressure",  # gauge [Pa]
    "peak_time",
    "burst_time",
    "slip_time",
    "first_pin_time",  # the first pin fails
    "last_pin_time",
    "pins_failed",
    "clear_time",
    "clear_velocity",  # [m/s]
    "contents_time",  # the contents are out of the tube
    "taut_time",
    "cord_load",  # [N]
    "cord_time",
    "rebound_velocity",  # [m/s]
    "greatest_travel",  # [m]
    "burnt",  # share of the charge
    "electronics_pulse",  # gauge [Pa]
)
"""What a run gives; times in seconds, NaN for what did not happen."""

(
    STATUS, STEPS, PEAK_PRESSURE, PEAK_TIME, BURST_TIME, SLIP_TIME, FIRST_PIN_TIME,
    LAST_PIN_TIME, PINS_FAILED, CLEAR_TIME, CLEAR_VELOCITY, CONTENTS_TIME, TAUT_TIME, CORD_LOAD,
    CORD_TIME, REBOUND_VELOCITY, GREATEST_TRAVEL, BURNT, ELECTRONICS_PULSE,
) = range(len(COLUMNS))  # fmt: skip

FINISHED, TIME_END, STALLED, LOST, RESTLESS = range(5)
STATUSES = (run.FINISHED, run.TIME_END, run.STALLED, run.LOST, run.RESTLESS)
"""What the codes of the column ``status`` mean."""

NEXT_STEP = 1e-3
"""Longest first step of a phase [s]: a step that is too long is tried again, which costs less than
to grow from a short one as a single run does."""


@compiled
def note_event(
    event: int, t: float, y: np.ndarray, modes: np.ndarray, P: np.record, row: np.ndarray
) -> None:
    """Note an event that has just changed the phase in a member's row."""
    if event >= ev.PIN_EVENTS:
        n = (event - ev.PIN_EVENTS) // 2
        forward = (event - ev.PIN_EVENTS) % 2 == 0
        if forward and modes[at.PINS + n] == fit.FAILING:
            row[PINS_FAILED] += 1.0
            row[LAST_PIN_TIME] = t
            if np.isnan(row[FIRST_PIN_TIME]):
                row[FIRST_PIN_TIME] = t
    elif event == ev.BURST:
        row[BURST_TIME] = t
    elif event == ev.SLIP and np.isnan(row[SLIP_TIME]):
        row[SLIP_TIME] = t
    elif event == ev.CLEAR:
        row[CLEAR_TIME] = t
        row[CLEAR_VELOCITY] = y[at.NOSE_V] - y[at.FRAME_V]
    elif event == ev.CONTENTS_OUT:
        row[CONTENTS_TIME] = t
    elif event == ev.TAUT:
        row[TAUT_TIME] = t
    elif event == ev.CORD_SLACK:
        row[REBOUND_VELOCITY] = y[at.FRAME_V] - y[at.NOSE_V]


@compiled
def shoot(
    P: np.record, end_time: float, tolerance: float, y: np.ndarray, modes: np.ndarray,
    memory: np.ndarray, scale: np.ndarray, work: np.ndarray, force: np.ndarray,
    times: np.ndarray, states: np.ndarray, desk: np.ndarray, gs: np.ndarray, highs: np.ndarray,
    row: np.ndarray,
) -> None:  # fmt: skip
    """Run one member from the spark to its end and write its row."""
    at.begin(P, y, modes)
    at.state_scale(P, scale)
    memory[:] = 0.0
    highs[:] = 0.0
    row[:] = np.nan
    row[STEPS] = 0.0
    row[PINS_FAILED] = 0.0
    row[STATUS] = RESTLESS
    t, h = 0.0, run.FIRST_STEP
    for _ in range(run.MOST_EVENTS):
        outcome, event, t, h, _, steps = stepper.advance(
            t, end_time, h, y, modes, memory, P, tolerance, scale, work, force, times, states,
            desk, gs, highs,
        )  # fmt: skip
        row[STEPS] += steps
        if outcome != stepper.EVENT:
            row[STATUS] = TIME_END
            if outcome != stepper.DONE:
                row[STATUS] = STALLED if outcome == stepper.STALLED else LOST
            break
        over = apply_event(event, t, y, modes, memory, P, force)
        note_event(event, t, y, modes, P, row)
        if over:
            row[STATUS] = FINISHED
            break
        h = min(h, NEXT_STEP)
    row[PEAK_PRESSURE], row[PEAK_TIME] = (
        highs[stepper.HIGH_PRESSURE], highs[stepper.HIGH_PRESSURE_TIME]
    )  # fmt: skip
    if not np.isnan(row[TAUT_TIME]):
        row[CORD_LOAD], row[CORD_TIME] = highs[stepper.HIGH_CORD], highs[stepper.HIGH_CORD_TIME]
    row[GREATEST_TRAVEL] = highs[stepper.HIGH_TRAVEL]
    row[BURNT] = P.burnt_ceiling * powder.burnt_fraction(y[at.DEPTH], P.r_low, P.r_high)
    if P.electronics >= 0:
        row[ELECTRONICS_PULSE] = highs[stepper.HIGH_ELECTRONICS]


@compiled
def shoot_all(
    records: np.ndarray, end_time: float, tolerance: float, y: np.ndarray, modes: np.ndarray,
    memory: np.ndarray, scale: np.ndarray, work: np.ndarray, force: np.ndarray,
    times: np.ndarray, states: np.ndarray, desk: np.ndarray, gs: np.ndarray, highs: np.ndarray,
    rows: np.ndarray,
) -> None:  # fmt: skip
    """Run members one after another; each row depends on its own record alone."""
    for i in range(records.shape[0]):
        shoot(
            records[i], end_time, tolerance, y, modes, memory, scale, work, force, times, states,
            desk, gs, highs, rows[i],
        )  # fmt: skip


def run_members(records: np.ndarray, end_time: float, tolerance: float) -> np.ndarray:
    """Run the members of an ensemble.

    The interpreter is free meanwhile, so that threads may run one call each.

    Parameters
    ----------
    records : ndarray, shape (n,)
        From :func:`baypulse.engine.parameters.pack_members`; all of one case.
    end_time : float
        Longest time of a run [s].
    tolerance : float
        Relative tolerance of a step.

    Returns
    -------
    ndarray, shape (n, len(COLUMNS))
        A row a member. The same for a record whatever runs before, after or beside it.
    """
    rows = np.empty((records.shape[0], len(COLUMNS)))
    if not records.shape[0]:
        return rows
    first = records[0]
    size = int(first.heats_at)
    volumes, pins = int(first.n_volumes), int(first.n_pins)
    shoot_all(
        records, end_time, tolerance, np.empty(size), np.empty(at.PINS + pins, dtype=np.int64),
        np.empty(at.MEMORY), np.empty(size), np.empty((volumes, gasside.WORK)),
        np.empty(FORCES), np.empty(0), np.empty((0, size)), np.empty((stepper.DESK, size)),
        np.empty((stepper.G_ROWS, int(first.event_count))), np.empty(stepper.HIGHS), rows,
    )  # fmt: skip
    return rows
