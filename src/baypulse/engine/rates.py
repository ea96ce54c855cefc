"""The right-hand side: gas, forces on both sections, and the energy book."""

from __future__ import annotations

import numpy as np

from baypulse.engine import burning, gasside, passages, walls
from baypulse.engine import layout as at
from baypulse.physics import cord, fit, motion
from baypulse.physics.compiled import compiled

# entries of the force table
(
    PUSH,  # gauge pressure on the bore
    PIN,  # all pins together
    SET,  # what they no longer push back with
    FRICTION,  # joint friction as it acts, positive against opening
    HOLD,  # static friction available now
    NEEDED,  # joint force that would keep the sections together
    STAND_NEEDED,  # stand force that would keep the airframe at rest
    NOSE_NEEDED,  # ground force that would keep the clear nose at rest
    CORD,
    DRAG_OUT,
    BRAKE,  # of the cord
) = range(11)
FORCES = 11


@compiled
def cord_force(s: float, w: float, modes: np.ndarray, memory: np.ndarray, P: np.record) -> float:
    """Return the cord's force [N] in the state it is in."""
    strain = (s - P.cord_travel) / P.cord_length
    if modes[at.CORD] == cord.LOADING:
        spring = cord.loading_force(strain, P.cord_load, P.cord_strain, P.cord_exponent)
        return cord.damped_force(spring, w, memory[at.TAUT_SPEED], P.cord_damping)
    if modes[at.CORD] == cord.UNLOADING:
        return cord.unloading_force(
            strain, memory[at.PEAK_STRAIN], memory[at.PEAK_LOAD], P.cord_set, P.cord_exponent
        )
    return 0.0


@compiled
def brake_force(modes: np.ndarray, P: np.record) -> float:
    """Return the force of the brake's stage that tears [N], constant over its stroke.

    Rigid and plastic: that the cord stretches under this force before the stage tears, and gives
    that back, is neglected.
    """
    n = modes[at.BRAKE]
    return P.brake_force[n // 2] if n % 2 == 1 else 0.0


@compiled
def masses(modes: np.ndarray, P: np.record) -> tuple[float, float]:
    """Return the masses of both bodies; the packed contents belong to one of them."""
    carried = modes[at.CONTENTS] == at.DRAGGING or modes[at.CONTENTS] == at.OUT
    m_nose = P.nose_mass + (P.contents_mass if carried else 0.0)
    m_frame = P.airframe_mass + (0.0 if carried else P.contents_mass)
    return m_nose, m_frame


@compiled
def ground_force(m_nose: float, modes: np.ndarray, P: np.record) -> float:
    """Return the friction of the clear nose, with all that it carries, on the ground [N]."""
    return P.ground_friction * m_nose if modes[at.JOINT] == at.APART else 0.0


@compiled
def accelerations(
    y: np.ndarray,
    modes: np.ndarray,
    memory: np.ndarray,
    p_bay: float,
    P: np.record,
    force: np.ndarray,
) -> tuple[float, float]:
    """Fill the force table and return the accelerations of nose and airframe [m/s^2]."""
    s = y[at.NOSE_X] - y[at.FRAME_X]
    w = y[at.NOSE_V] - y[at.FRAME_V]
    joint, stand, nose = modes[at.JOINT], modes[at.STAND], modes[at.NOSE]
    apart = joint == at.APART
    area = motion.bore_area(P.bore) * motion.pushed_share(s, P.stroke, P.bore)
    push = 0.0 if modes[at.GAS] == at.SPENT else (p_bay - P.p_ambient) * area
    pins = 0.0
    for n in range(P.n_pins):
        pins += fit.pin_force(
            s, modes[at.PINS + n], P.pin_strength[n], P.pin_gap[n], P.pin_rise[n], P.pin_fail[n]
        )
    kept = fit.RECOVERY if joint == at.INWARD else 1.0
    force[SET] = (1.0 - fit.RECOVERY) * pins if joint == at.STUCK else 0.0
    pins *= kept
    fit_friction = P.friction * fit.engaged_share(s, P.stroke)
    hold = 0.0 if apart else fit_friction + P.seal_drag
    sliding = 0.0 if apart else P.sliding_ratio * fit_friction + P.seal_drag
    pull = cord_force(s, w, modes, memory, P)
    braking = brake_force(modes, P)
    packing = P.drag_out if modes[at.CONTENTS] == at.DRAGGING else 0.0
    m_nose, m_frame = masses(modes, P)

    inner = push - pins - pull - braking - packing
    on_nose = inner - m_nose * P.along_gravity - P.nose_drag
    on_frame = -inner - m_frame * P.along_gravity - P.airframe_drag
    on_nose -= nose * ground_force(m_nose, modes, P)

    direction = 0.0 if apart or joint == at.STUCK else float(joint)
    friction = direction * sliding
    force[PUSH] = push
    force[PIN] = pins
    force[HOLD] = hold
    force[CORD] = pull
    force[DRAG_OUT] = packing
    force[BRAKE] = braking
    force[NOSE_NEEDED] = on_nose
    force[STAND_NEEDED] = on_frame + friction
    if stand == 0:
        force[NEEDED] = on_nose
        a_frame = 0.0
        a_nose = (on_nose - friction) / m_nose
        if joint == at.STUCK:
            a_nose = 0.0
            friction = on_nose
            force[STAND_NEEDED] = on_frame + on_nose
    else:
        on_frame -= stand * P.stand_friction
        needed = (m_frame * on_nose - m_nose * on_frame) / (m_nose + m_frame)
        force[NEEDED] = needed
        if joint == at.STUCK:
            # one acceleration, not two that differ by rounding
            friction = needed
            a_nose = (on_nose + on_frame) / (m_nose + m_frame)
            a_frame = a_nose
        else:
            a_nose = (on_nose - friction) / m_nose
            a_frame = (on_frame + friction) / m_frame
    if apart and nose == 0:
        a_nose = 0.0
    force[FRICTION] = friction
    return a_nose, a_frame


@compiled
def keep_books(
    y: np.ndarray, modes: np.ndarray, P: np.record, work: np.ndarray, force: np.ndarray,
    dy: np.ndarray,
) -> None:  # fmt: skip
    """Integrate where the work goes, so that every joule of the push is accounted for."""
    if dy.shape[0] <= P.books_at:
        return
    i = P.books_at
    v_nose, v_frame = y[at.NOSE_V], y[at.FRAME_V]
    w = v_nose - v_frame
    m_nose, m_frame = masses(modes, P)
    dy[i + at.BOOK_PUSH] = force[PUSH] * w
    if modes[at.GAS] != at.SPENT:
        dy[i + at.BOOK_AIR] = P.p_ambient * work[P.bay, gasside.DV]
    dy[i + at.BOOK_FRICTION] = force[FRICTION] * w
    dy[i + at.BOOK_PINS] = force[PIN] * w
    ground = ground_force(m_nose, modes, P)
    # a clamped airframe does not move, so its unlimited hold does no work
    stand = 0.0 if modes[at.STAND] == 0 else P.stand_friction
    dy[i + at.BOOK_GROUND] = stand * abs(v_frame) + ground * abs(v_nose)
    dy[i + at.BOOK_OUTSIDE] = -(
        (m_nose * P.along_gravity + P.nose_drag) * v_nose
        + (m_frame * P.along_gravity + P.airframe_drag) * v_frame
    )
    dy[i + at.BOOK_PACKING] = force[DRAG_OUT] * w
    dy[i + at.BOOK_CORD] = force[CORD] * w
    dy[i + at.BOOK_BRAKE] = force[BRAKE] * w
    if modes[at.GAS] != at.SPENT:
        for k in range(P.n_volumes):
            dy[i + at.BOOK_AFTERBURNING] += work[k, gasside.BURNT_HEAT]


@compiled
def motion_imbalance(y: np.ndarray, end: np.ndarray, modes: np.ndarray, P: np.record) -> float:
    """Return the share of the parting's energy that a step leaves out of the books.

    An error estimate is a difference of two formulas, and now and then both are wrong alike. The
    energy book is a second witness.
    """
    m_nose, m_frame = masses(modes, P)
    i = P.books_at
    pushed = end[i + at.BOOK_PUSH] - y[i + at.BOOK_PUSH]
    work = pushed
    turned = abs(end[i + at.BOOK_PUSH]) + abs(end[i + at.BOOK_OUTSIDE])
    work += end[i + at.BOOK_OUTSIDE] - y[i + at.BOOK_OUTSIDE]
    for entry in (at.BOOK_FRICTION, at.BOOK_PINS, at.BOOK_GROUND, at.BOOK_PACKING, at.BOOK_BRAKE,
                  at.BOOK_CORD):  # fmt: skip
        work -= end[i + entry] - y[i + entry]
        turned += abs(end[i + entry])
    kinetic = 0.5 * m_nose * (end[at.NOSE_V] ** 2 - y[at.NOSE_V] ** 2)
    kinetic += 0.5 * m_frame * (end[at.FRAME_V] ** 2 - y[at.FRAME_V] ** 2)
    w = max(abs(y[at.NOSE_V] - y[at.FRAME_V]), abs(end[at.NOSE_V] - end[at.FRAME_V]))
    parting = 0.5 * m_nose * m_frame / (m_nose + m_frame) * w * w + abs(pushed)
    turned += m_nose * end[at.NOSE_V] ** 2 + m_frame * end[at.FRAME_V] ** 2
    # a parting that has hardly begun has no say: its energy would drown in rounding
    return abs(work - kinetic) / (parting + 1e-3 * turned + 1e-6)


@compiled
def rates(
    t: float,
    y: np.ndarray,
    modes: np.ndarray,
    memory: np.ndarray,
    P: np.record,
    work: np.ndarray,
    force: np.ndarray,
    dy: np.ndarray,
) -> None:
    """Write dy/dt, and leave pressures and forces in the work and force tables.

    Parameters
    ----------
    t : float
        Time [s]; the rates do not depend on it, which solvers expect to hand over.
    y : ndarray, shape (state_size,) or (heats_at,)
        State (:mod:`baypulse.engine.layout`), with or without its books.
    modes : ndarray of int, shape (n_modes,)
        Which phase each part is in.
    memory : ndarray, shape (3,)
        What earlier phases left behind.
    P : np.record
        The shot.
    work : ndarray, shape (n_volumes, 24)
        Written: one row a volume (:mod:`baypulse.engine.gasside`).
    force : ndarray, shape (11,)
        Written: the forces.
    dy : ndarray
        Written: the rates, of as many states as y has.
    """
    dy[:] = 0.0
    s = y[at.NOSE_X] - y[at.FRAME_X]
    w = y[at.NOSE_V] - y[at.FRAME_V]
    gasside.volume_states(y, modes, s, w, P, work)
    if modes[at.GAS] == at.ACTIVE:
        burning.burn(y, modes, P, work, dy)
        burning.mix(y, P, work)
    # a joint may creep before the spark, so the gas breathes from the start
    if modes[at.GAS] != at.SPENT:
        walls.warm_walls(y, s, P, work, dy)
        passages.flow_through(y, s, modes, P, work, dy)
        burning.afterburn(y, P, work)
        gasside.close_volumes(P, y, work, dy)
    dy[at.NOSE_X] = y[at.NOSE_V]
    dy[at.FRAME_X] = y[at.FRAME_V]
    dy[at.NOSE_V], dy[at.FRAME_V] = accelerations(
        y, modes, memory, work[P.bay, gasside.P_], P, force
    )
    keep_books(y, modes, P, work, force, dy)
