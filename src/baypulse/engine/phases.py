"""What an event changes: modes, and the jumps of velocity where bodies meet."""

from __future__ import annotations

import numpy as np

from baypulse.engine import events as ev
from baypulse.engine import layout as at
from baypulse.engine import rates as r
from baypulse.engine.parameters import NEVER
from baypulse.physics import cord, fit
from baypulse.physics.compiled import compiled

FAINT = 1e-6
"""Travel [m] that an impact must give a joint to loosen it."""


@compiled
def book_impact(y: np.ndarray, lost: float, P: np.record) -> None:
    """Book what an impact loses [J], in a state that has books."""
    if y.shape[0] > P.books_at:
        y[P.books_at + at.BOOK_IMPACT] += lost


@compiled
def unite(
    y: np.ndarray, modes: np.ndarray, P: np.record, nose: bool, pack: bool, frame: bool
) -> None:
    """Give those of nose, contents and airframe that meet one velocity; book what the impact loses.

    Momentum is kept unless an airframe that is held fast takes part.
    """
    m_nose = P.nose_mass if nose else 0.0
    m_pack = P.contents_mass if pack else 0.0
    m_frame = P.airframe_mass if frame else 0.0
    v_nose, v_pack, v_frame = y[at.NOSE_V], y[at.PACK_V], y[at.FRAME_V]
    if frame and modes[at.STAND] == 0:
        common = v_frame
    else:
        common = (m_nose * v_nose + m_pack * v_pack + m_frame * v_frame) / (
            m_nose + m_pack + m_frame
        )
    book_impact(
        y,
        0.5 * m_nose * (v_nose - common) ** 2
        + 0.5 * m_pack * (v_pack - common) ** 2
        + 0.5 * m_frame * (v_frame - common) ** 2,
        P,
    )
    if nose:
        y[at.NOSE_V] = common
    if pack:
        y[at.PACK_V] = common
    if frame:
        y[at.FRAME_V] = common


@compiled
def merge_holder(y: np.ndarray, modes: np.ndarray, P: np.record) -> None:
    """Make the burst holder a part of the space it opened into, grains and all."""
    one = at.VOLUMES + at.PER_VOLUME * P.source
    two = at.VOLUMES + at.PER_VOLUME * P.chamber
    for n in range(at.PER_VOLUME):
        # grains that stayed behind would burn in a sealed vessel
        moved = y[one + n] * (1.0 if n == at.GRAINS else 1.0 - at.REMNANT)
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
    elif event == ev.AHEAD_OVER:
        modes[at.AHEAD] = at.LEVEL


@compiled
def apply_joint_event(
    event: int, y: np.ndarray, modes: np.ndarray, P: np.record, force: np.ndarray
) -> None:
    """Change phase at an event of joint, stand or ground.

    A body that stops is first held; if the hold is too weak, its slip event fires at once and
    turns it round.
    """
    kind = modes[at.CONTENTS]
    if event == ev.SLIP:
        modes[at.JOINT] = at.OUTWARD if force[r.NEEDED] > force[r.HOLD] else at.INWARD
        if kind == at.TOUCHING:
            along = modes[at.JOINT] == at.INWARD or force[r.CONTACT] > 0.0
            modes[at.CONTENTS] = at.JOINED if along else at.RESTING
    elif event == ev.STOP or event == ev.SEAT:
        along = kind == at.RESTING or kind == at.JOINED
        unite(y, modes, P, True, along, True)
        modes[at.JOINT] = at.STUCK
        if kind == at.JOINED:
            modes[at.CONTENTS] = at.TOUCHING
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
def meet_nose(y: np.ndarray, modes: np.ndarray, P: np.record, force: np.ndarray) -> None:
    """Let contents and nose go on together; the impact loosens a joint that is at rest.

    Friction, being finite, holds nothing against an impact; but one that would move the joint by
    less than :data:`FAINT` leaves it where it is.
    """
    joint = modes[at.JOINT]
    if joint == at.STUCK:
        closing = y[at.PACK_V] - y[at.NOSE_V]
        total = P.nose_mass + P.contents_mass
        energy = 0.5 * (P.contents_mass * closing) ** 2 / total
        if energy <= FAINT * (1.0 + force[r.HOLD]):
            unite(y, modes, P, True, True, True)
            modes[at.CONTENTS] = at.TOUCHING
            return
    unite(y, modes, P, True, True, False)
    modes[at.CONTENTS] = at.JOINED
    if joint != at.APART:
        modes[at.JOINT] = at.OUTWARD if y[at.NOSE_V] >= y[at.FRAME_V] else at.INWARD
    elif y[at.NOSE_V] != 0.0:
        modes[at.NOSE] = 1 if y[at.NOSE_V] > 0.0 else -1


@compiled
def apply_contents_event(
    event: int, y: np.ndarray, modes: np.ndarray, P: np.record, force: np.ndarray
) -> None:
    """Change phase at an event of the contents."""
    kind, joint = modes[at.CONTENTS], modes[at.JOINT]
    if event == ev.PICKUP:
        # the nose takes up the contents in a short tug
        unite(y, modes, P, True, True, False)
        modes[at.CONTENTS] = at.DRAGGED
        # a clear nose that lay still on the ground is set in motion
        if y[at.NOSE_V] != 0.0:
            modes[at.NOSE] = 1 if y[at.NOSE_V] > 0.0 else -1
    elif event == ev.EMERGE:
        modes[at.EMPTIED] = at.EMERGING
    elif event == ev.CONTENTS_OUT:
        modes[at.EMPTIED] = at.OUT
    elif event == ev.CONTENTS_SLIP:
        modes[at.CONTENTS] = at.SLIDING if force[r.DRIVE] > 0.0 else at.RETREATING
    elif event == ev.CONTENTS_STOP:
        unite(y, modes, P, joint == at.STUCK, True, True)
        modes[at.CONTENTS] = at.RESTING
    elif event == ev.BACKSTOP:
        along = kind == at.JOINED
        unite(y, modes, P, along or joint == at.STUCK, True, True)
        modes[at.CONTENTS] = at.TOUCHING if along else at.RESTING
        if along:
            modes[at.JOINT] = at.STUCK
    elif event == ev.CONTACT:
        meet_nose(y, modes, P, force)
    elif event == ev.RELEASE:
        back = y[at.PACK_V] < y[at.FRAME_V] or joint == at.INWARD
        modes[at.CONTENTS] = at.RETREATING if back else at.SLIDING


@compiled
def apply_cord_event(
    event: int, y: np.ndarray, modes: np.ndarray, memory: np.ndarray, P: np.record
) -> None:
    """Change phase at an event of brake or cord."""
    if event == ev.BRAKE:
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
        with_nose = modes[at.CONTENTS] == at.JOINED or modes[at.CONTENTS] == at.DRAGGED
        if with_nose and modes[at.EMPTIED] != at.OUT:
            modes[at.CONTENTS] = at.RESTING  # a nose that comes back leaves them where they are


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
    force : ndarray, shape (15,)
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
    elif event <= ev.RISE or event == ev.GAS_OVER or event == ev.FLAME or event == ev.AHEAD_OVER:
        apply_gas_event(event, y, modes, P)
    elif event <= ev.NOSE_STOP:
        apply_joint_event(event, y, modes, P, force)
    elif event <= ev.RELEASE:
        apply_contents_event(event, y, modes, P, force)
    else:
        apply_cord_event(event, y, modes, memory, P)
    kind = modes[at.CONTENTS]
    if kind == at.RESTING or kind == at.TOUCHING or kind == at.NONE:
        y[at.PACK_V] = y[at.FRAME_V]
    elif kind == at.JOINED or kind == at.DRAGGED:
        y[at.PACK_V] = y[at.NOSE_V]
    free = P.cord_travel >= NEVER and event == ev.GAS_OVER  # nothing will stop the sections
    return free or event == ev.CORD_SLACK or event == ev.RETURN or event == ev.IDLE
