"""What an event changes: modes, and the jumps of velocity where bodies meet.

Each handler takes the events that it names and says whether it did, so that an event goes to the
one handler that knows it, wherever it stands in the list.
"""

from __future__ import annotations

import numpy as np

from baypulse.engine import layout as at
from baypulse.engine.event import EventCode, pin_of, slack_event
from baypulse.engine.parameters import NEVER
from baypulse.engine.rates import Force
from baypulse.physics import cord, fit
from baypulse.physics.compiled import compiled

FAINT = 1e-6
"""Travel [m] that an impact must give a joint to loosen it."""


@compiled
def add_impact(y: np.ndarray, lost: float, P: np.record) -> None:
    """Add what an impact loses [J] to the balance, in a state that has one."""
    if y.shape[0] > P.balance_at:
        y[P.balance_at + at.Balance.IMPACT] += lost


@compiled
def unite(
    y: np.ndarray, modes: np.ndarray, P: np.record, nose: bool, pack: bool, frame: bool
) -> None:
    """Give those of nose, contents and airframe that meet one velocity, and note what is lost.

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
    add_impact(
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
def apply_gas_event(event: int, y: np.ndarray, modes: np.ndarray, P: np.record) -> bool:
    """Change phase at an event of charge or gas; return whether it was one."""
    if event == EventCode.START:
        modes[at.GAS] = at.ACTIVE
        if P.charge_mass == 0.0:
            modes[at.SOURCE] = at.OPEN
    elif event == EventCode.BURST:
        modes[at.SOURCE] = at.OPEN
    elif event == EventCode.MERGE:
        merge_holder(y, modes, P)
    elif event == EventCode.BURNOUT:
        modes[at.BURN] = at.BURNT
    elif event == EventCode.FLAME:
        modes[at.FLAME] = at.ALIGHT
    elif event == EventCode.PEAK:
        modes[at.TREND] = at.FALLING
    elif event == EventCode.RISE:
        modes[at.TREND] = at.RISING
    elif event == EventCode.GAS_OVER:
        modes[at.GAS] = at.SPENT
    elif event == EventCode.AHEAD_OVER:
        modes[at.AHEAD] = at.LEVEL
    else:
        return False
    return True


@compiled
def apply_joint_event(
    event: int, y: np.ndarray, modes: np.ndarray, P: np.record, force: np.ndarray
) -> bool:
    """Change phase at an event of joint, pins, stand or ground; return whether it was one.

    A body that stops is first held; if the hold is too weak, its slip event fires at once and
    turns it round.
    """
    kind, pin = modes[at.CONTENTS], pin_of(event)
    if pin >= 0:
        stage = modes[at.PINS + pin]
        modes[at.PINS + pin] = fit.SLACK if event == slack_event(pin) else stage + 1
    elif event == EventCode.SLIP:
        modes[at.JOINT] = (
            at.OUTWARD if force[Force.CONSTRAINT] > force[Force.BREAKAWAY] else at.INWARD
        )
        if kind == at.TOUCHING:
            along = modes[at.JOINT] == at.INWARD or force[Force.CONTACT] > 0.0
            modes[at.CONTENTS] = at.JOINED if along else at.RESTING
    elif event == EventCode.STOP or event == EventCode.SEAT:
        along = kind == at.RESTING or kind == at.JOINED
        unite(y, modes, P, True, along, True)
        modes[at.JOINT] = at.STUCK
        if kind == at.JOINED:
            modes[at.CONTENTS] = at.TOUCHING
        if event == EventCode.SEAT:
            y[at.NOSE_X] = y[at.FRAME_X]
    elif event == EventCode.CLEAR:
        modes[at.JOINT] = at.APART
        modes[at.NOSE] = 1 if y[at.NOSE_V] >= 0.0 else -1
        modes[at.PINS :] = fit.GONE
    elif event == EventCode.PARTED:
        modes[at.PARTED] = 1
    elif event == EventCode.STAND_SLIP:
        modes[at.STAND] = 1 if force[Force.STAND_CONSTRAINT] > 0.0 else -1
    elif event == EventCode.STAND_STOP:
        y[at.FRAME_V] = 0.0
        modes[at.STAND] = 0
        if modes[at.JOINT] == at.STUCK:
            y[at.NOSE_V] = 0.0
    elif event == EventCode.NOSE_SLIP:
        modes[at.NOSE] = 1 if force[Force.NOSE_CONSTRAINT] > 0.0 else -1
    elif event == EventCode.NOSE_STOP:
        y[at.NOSE_V] = 0.0
        modes[at.NOSE] = 0
    else:
        return event == EventCode.IDLE  # which changes nothing
    return True


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
        if energy <= FAINT * (1.0 + force[Force.BREAKAWAY]):
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
) -> bool:
    """Change phase at an event of the contents; return whether it was one."""
    kind, joint = modes[at.CONTENTS], modes[at.JOINT]
    if event == EventCode.PICKUP:
        # the nose takes up the contents in a short tug
        unite(y, modes, P, True, True, False)
        modes[at.CONTENTS] = at.DRAGGED
        # a clear nose that lay still on the ground is set in motion
        if y[at.NOSE_V] != 0.0:
            modes[at.NOSE] = 1 if y[at.NOSE_V] > 0.0 else -1
    elif event == EventCode.EMERGE:
        modes[at.EMPTIED] = at.EMERGING
    elif event == EventCode.CONTENTS_OUT:
        modes[at.EMPTIED] = at.OUT
    elif event == EventCode.CONTENTS_SLIP:
        modes[at.CONTENTS] = at.SLIDING if force[Force.DRIVE] > 0.0 else at.RETREATING
    elif event == EventCode.CONTENTS_STOP:
        unite(y, modes, P, joint == at.STUCK, True, True)
        modes[at.CONTENTS] = at.RESTING
    elif event == EventCode.BACKSTOP:
        along = kind == at.JOINED
        unite(y, modes, P, along or joint == at.STUCK, True, True)
        modes[at.CONTENTS] = at.TOUCHING if along else at.RESTING
        if along:
            modes[at.JOINT] = at.STUCK
    elif event == EventCode.CONTACT:
        meet_nose(y, modes, P, force)
    elif event == EventCode.RELEASE:
        back = y[at.PACK_V] < y[at.FRAME_V] or joint == at.INWARD
        modes[at.CONTENTS] = at.RETREATING if back else at.SLIDING
    else:
        return False
    return True


@compiled
def apply_cord_event(
    event: int, y: np.ndarray, modes: np.ndarray, memory: np.ndarray, P: np.record
) -> bool:
    """Change phase at an event of brake or cord; return whether it was one."""
    if event == EventCode.BRAKE:
        modes[at.BRAKE] += 1
    elif event == EventCode.TAUT:
        memory[at.TAUT_SPEED] = y[at.NOSE_V] - y[at.FRAME_V]
        modes[at.CORD] = cord.LOADING
    elif event == EventCode.CORD_PEAK:
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
    else:
        return event == EventCode.CORD_SLACK or event == EventCode.RETURN  # which change nothing
    return True


@compiled
def ends_run(event: int, P: np.record) -> bool:
    """Say whether nothing of interest can follow an event."""
    if event == EventCode.GAS_OVER:
        return P.cord_travel >= NEVER  # nothing will stop the sections
    return event == EventCode.CORD_SLACK or event == EventCode.RETURN or event == EventCode.IDLE


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
        Code (:mod:`baypulse.engine.event`).
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
    if (
        not apply_gas_event(event, y, modes, P)
        and not apply_joint_event(event, y, modes, P, force)
        and not apply_contents_event(event, y, modes, P, force)
    ):
        apply_cord_event(event, y, modes, memory, P)
    kind = modes[at.CONTENTS]
    if kind == at.RESTING or kind == at.TOUCHING or kind == at.NONE:
        y[at.PACK_V] = y[at.FRAME_V]
    elif kind == at.JOINED or kind == at.DRAGGED:
        y[at.PACK_V] = y[at.NOSE_V]
    return ends_run(event, P)
