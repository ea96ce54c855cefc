"""What an event changes: modes, and the jumps of velocity where bodies meet."""

from __future__ import annotations

import numpy as np

from baypulse.engine import events as ev
from baypulse.engine import layout as at
from baypulse.engine import rates as r
from baypulse.engine.parameters import NEVER
from baypulse.physics import cord, fit
from baypulse.physics.compiled import compiled


@compiled
def book_impact(y: np.ndarray, lost: float, P: np.record) -> None:
    """Book what an impact loses [J], in a state that has books."""
    if y.shape[0] > P.books_at:
        y[P.books_at + at.BOOK_IMPACT] += lost


@compiled
def join(y: np.ndarray, m_nose: float, m_frame: float, fixed: bool, P: np.record) -> None:
    """Give both sections one velocity; book what the impact loses.

    Momentum is kept unless the airframe is held fast (fixed).
    """
    w = y[at.NOSE_V] - y[at.FRAME_V]
    if fixed:
        common = y[at.FRAME_V]
        lost = 0.5 * m_nose * w * w
    else:
        common = (m_nose * y[at.NOSE_V] + m_frame * y[at.FRAME_V]) / (m_nose + m_frame)
        lost = 0.5 * m_nose * m_frame / (m_nose + m_frame) * w * w
    y[at.NOSE_V] = common
    y[at.FRAME_V] = common
    book_impact(y, lost, P)


@compiled
def merge_holder(y: np.ndarray, modes: np.ndarray, P: np.record) -> None:
    """Make the burst holder a part of the bay, grains and all."""
    one = at.VOLUMES + at.PER_VOLUME * P.source
    two = at.VOLUMES + at.PER_VOLUME * P.bay
    for n in range(at.PER_VOLUME):
        moved = y[one + n] * (1.0 - at.REMNANT)
        y[two + n] += moved
        y[one + n] -= moved
    modes[at.SOURCE] = at.MERGED


@compiled
def apply_gas_event(event: int, y: np.ndarray, modes: np.ndarray, P: np.record) -> None:
    """Change phase at an event of charge or gas."""
    if event == ev.START:
        modes[at.GAS] = at.ACTIVE
        if P.charge_mass == 0.0:
            modes[at.SOURCE] = at.OPEN
    elif event == ev.BURST:
        modes[at.SOURCE] = at.OPEN
    elif event == ev.MERGE:
        merge_holder(y, modes, P)
    elif event == ev.BURNOUT:
        modes[at.BURN] = at.BURNT
    elif event == ev.FLAME:
        modes[at.FLAME] = at.ALIGHT
    elif event == ev.PEAK:
        modes[at.TREND] = at.FALLING
    elif event == ev.RISE:
        modes[at.TREND] = at.RISING
    elif event == ev.GAS_OVER:
        modes[at.GAS] = at.SPENT


@compiled
def apply_joint_event(
    event: int, y: np.ndarray, modes: np.ndarray, P: np.record, force: np.ndarray
) -> None:
    """Change phase at an event of joint, stand or ground.

    A body that stops is first held; if the hold is too weak, its slip event fires at once and
    turns it round.
    """
    m_nose, m_frame = r.masses(modes, P)
    if event == ev.SLIP:
        modes[at.JOINT] = at.OUTWARD if force[r.NEEDED] > force[r.HOLD] else at.INWARD
    elif event == ev.STOP or event == ev.SEAT:
        join(y, m_nose, m_frame, modes[at.STAND] == 0, P)
        modes[at.JOINT] = at.STUCK
        if event == ev.SEAT:
            y[at.NOSE_X] = y[at.FRAME_X]
    elif event == ev.CLEAR:
        modes[at.JOINT] = at.APART
        modes[at.NOSE] = 1 if y[at.NOSE_V] >= 0.0 else -1
        modes[at.PINS :] = fit.GONE
    elif event == ev.PARTED:
        modes[at.PARTED] = 1
    elif event == ev.STAND_SLIP:
        modes[at.STAND] = 1 if force[r.STAND_NEEDED] > 0.0 else -1
    elif event == ev.STAND_STOP:
        y[at.FRAME_V] = 0.0
        modes[at.STAND] = 0
        if modes[at.JOINT] == at.STUCK:
            y[at.NOSE_V] = 0.0
    elif event == ev.NOSE_SLIP:
        modes[at.NOSE] = 1 if force[r.NOSE_NEEDED] > 0.0 else -1
    elif event == ev.NOSE_STOP:
        y[at.NOSE_V] = 0.0
        modes[at.NOSE] = 0


@compiled
def apply_cord_event(
    event: int, y: np.ndarray, modes: np.ndarray, memory: np.ndarray, P: np.record
) -> None:
    """Change phase at an event of contents, brake or cord."""
    if event == ev.PICKUP:
        # the nose takes up the contents in a short tug
        w = y[at.NOSE_V] - y[at.FRAME_V]
        total = P.nose_mass + P.contents_mass
        book_impact(y, 0.5 * P.nose_mass * P.contents_mass / total * w * w, P)
        y[at.NOSE_V] -= P.contents_mass / total * w
        # the tug may set a nose going that rests, or turn it round
        if y[at.NOSE_V] != 0.0:
            modes[at.NOSE] = 1 if y[at.NOSE_V] > 0.0 else -1
        modes[at.CONTENTS] = at.DRAGGING
    elif event == ev.CONTENTS_OUT:
        modes[at.CONTENTS] = at.OUT
    elif event == ev.BRAKE:
        modes[at.BRAKE] += 1
    elif event == ev.TAUT:
        memory[at.TAUT_SPEED] = y[at.NOSE_V] - y[at.FRAME_V]
        modes[at.CORD] = cord.LOADING
    elif event == ev.CORD_PEAK:
        s = y[at.NOSE_X] - y[at.FRAME_X]
        strain = (s - P.cord_travel) / P.cord_length
        memory[at.PEAK_STRAIN] = strain
        memory[at.PEAK_LOAD] = cord.loading_force(
            strain, P.cord_load, P.cord_strain, P.cord_exponent
        )
        modes[at.CORD] = cord.UNLOADING


@compiled
def apply_event(
    event: int,
    y: np.ndarray,
    modes: np.ndarray,
    memory: np.ndarray,
    P: np.record,
    force: np.ndarray,
) -> bool:
    """Change phase at an event; return True when the run is over.

    Parameters
    ----------
    event : int
        Index (:mod:`baypulse.engine.events`).
    y, modes, memory : ndarray
        Changed in place.
    P : np.record
        The shot.
    force : ndarray, shape (11,)
        Forces at the event.

    Returns
    -------
    bool
        Whether nothing of interest can follow.
    """
    if event >= ev.PIN_EVENTS:
        n = at.PINS + (event - ev.PIN_EVENTS) // 2
        back = (event - ev.PIN_EVENTS) % 2 == 1
        modes[n] = fit.SLACK if back else modes[n] + 1
    elif event <= ev.RISE or event == ev.GAS_OVER or event == ev.FLAME:
        apply_gas_event(event, y, modes, P)
    elif event <= ev.NOSE_STOP:
        apply_joint_event(event, y, modes, P, force)
    else:
        apply_cord_event(event, y, modes, memory, P)
    free = P.cord_travel >= NEVER and event == ev.GAS_OVER  # nothing will stop the sections
    return free or event == ev.CORD_SLACK or event == ev.RETURN or event == ev.IDLE
