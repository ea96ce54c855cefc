"""Expansion behind a sliding section, friction, pins and the hold of the joint.

Closed forms for a piston driven from a closed volume: Rohrbach, Buresh & Madsen, "Modeling the
exit velocity of a compressed air cannon", Am. J. Phys. 80 (2012) 24. They state that neither the
adiabatic nor the isothermal form predicts what they measured, a valve being in the way; here both
are limits of the engine, not claims about a launch.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from scipy.optimize import brentq

from baypulse.engine import ensemble
from baypulse.engine import layout as at
from baypulse.engine.event import EventCode, pin_of
from baypulse.engine.parameters import Parameters, pack_members
from baypulse.members.outcomes import TOLERANCE
from baypulse.run.simulation import _summit
from tools import P_STANDARD, PERFECT_AIR, at_event, charged, go, moment, shot, vessel

VOLUME, BORE, STROKE, MASS = 1e-3, 0.075, 0.2, 0.6
BORE_AREA = 0.25 * math.pi * BORE**2


def piston(
    p: float, drag: float, g: float = 1.4, volume: float = VOLUME, **changes: Any
) -> Parameters:
    """Return a bay under pressure whose joint is held by a steady drag alone."""
    fields = {
        "air": (PERFECT_AIR[0], PERFECT_AIR[0] / (g - 1.0), 0.0), "bore": BORE, "stroke": STROKE,
        "friction": 0.0, "seal_drag": drag, "nose_mass": MASS,
    }  # fmt: skip
    return vessel(volume, p=p, **{**fields, **changes})


def clear_velocity(P: Parameters) -> float:
    track, _ = go(P, 1.0, 1e-10)
    y = at_event(track, EventCode.CLEAR)
    assert y[at.NOSE_X] - y[at.FRAME_X] == pytest.approx(P.stroke, rel=1e-10)
    return float(y[at.NOSE_V] - y[at.FRAME_V])


@pytest.mark.parametrize("p", [2.0, 4.0, 10.0])
@pytest.mark.parametrize("drag", [0.0, 40.0])
def test_adiabatic_piston_leaves_at_the_closed_form(p: float, drag: float) -> None:
    p0, swept = p * P_STANDARD, BORE_AREA * STROKE
    work = p0 * VOLUME / 0.4 * (1.0 - (VOLUME / (VOLUME + swept)) ** 0.4)
    v = math.sqrt(2.0 / MASS * (work - swept * P_STANDARD - drag * STROKE))
    assert clear_velocity(piston(p0, drag)) == pytest.approx(v, rel=1e-8)


@pytest.mark.parametrize("p", [1.8, 2.0, 2.2])
@pytest.mark.parametrize("drag", [0.0, 40.0])
def test_greatest_velocity_is_where_the_push_equals_the_drag(p: float, drag: float) -> None:
    # the same closed form, up to the volume at which p(x) = p_ambient + drag/A; the section then
    # slows down again before it is clear
    p0, against = p * P_STANDARD, P_STANDARD + drag / BORE_AREA
    swept = VOLUME * ((p0 / against) ** (1.0 / 1.4) - 1.0)
    assert swept < BORE_AREA * STROKE
    work = p0 * VOLUME / 0.4 * (1.0 - (VOLUME / (VOLUME + swept)) ** 0.4)
    v = math.sqrt(2.0 / MASS * (work - swept * against))
    P = piston(p0, drag)
    row = ensemble.run_members(pack_members(P, 1), 1.0, TOLERANCE)[0]
    assert row[ensemble.RunColumn.CLEAR_VELOCITY] < row[ensemble.RunColumn.GREATEST_VELOCITY]
    assert row[ensemble.RunColumn.GREATEST_VELOCITY] == pytest.approx(v, rel=2e-5)
    _, seen = go(P, 1.0, 1e-10)
    parting = seen.states[:, at.NOSE_V] - seen.states[:, at.FRAME_V]
    # a parabola through three points of the curve
    assert _summit(seen.times, parting)[1] == pytest.approx(v, rel=1e-6)
    # a joint that does not separate has no separation velocity
    shut = ensemble.run_members(pack_members(piston(p0, 2.0 * p0 * BORE_AREA), 1), 0.1, TOLERANCE)
    assert np.isnan(shut[0, ensemble.RunColumn.GREATEST_VELOCITY])


@pytest.mark.parametrize("p", [2.0, 4.0, 10.0])
@pytest.mark.parametrize("drag", [0.0, 40.0])
def test_a_gas_of_gamma_near_one_gives_the_isothermal_closed_form(p: float, drag: float) -> None:
    p0, swept = p * P_STANDARD, BORE_AREA * STROKE
    work = p0 * VOLUME * math.log1p(swept / VOLUME)
    v = math.sqrt(2.0 / MASS * (work - swept * P_STANDARD - drag * STROKE))
    assert clear_velocity(piston(p0, drag, g=1.000001)) == pytest.approx(v, rel=1e-6)


def test_friction_that_falls_with_engagement_takes_half_its_force_times_the_stroke() -> None:
    # sliding force linear from its full value to nothing: work = F L / 2
    friction, ratio = 60.0, 0.7
    P = piston(4.0 * P_STANDARD, 0.0)._replace(friction=friction, sliding_ratio=ratio)
    swept = BORE_AREA * STROKE
    work = 4.0 * P_STANDARD * VOLUME / 0.4 * (1.0 - (VOLUME / (VOLUME + swept)) ** 0.4)
    lost = swept * P_STANDARD + 0.5 * ratio * friction * STROKE
    assert clear_velocity(P) == pytest.approx(math.sqrt(2.0 / MASS * (work - lost)), rel=1e-8)


def test_free_sections_part_faster_by_the_square_root_of_the_masses() -> None:
    # the same gas work goes into 1/2 m w^2, with the nose's mass clamped and the reduced mass free
    clamped = clear_velocity(piston(4.0 * P_STANDARD, 30.0, airframe_mass=2.0))
    free = clear_velocity(piston(4.0 * P_STANDARD, 30.0, airframe_mass=2.0, stand_friction=0.0))
    reduced = MASS * 2.0 / (MASS + 2.0)
    assert free / clamped == pytest.approx(math.sqrt(MASS / reduced), rel=1e-8)


@pytest.mark.parametrize(("share", "moves"), [(0.999999, False), (1.000001, True)])
@pytest.mark.parametrize(("friction", "seal"), [(50.0, 0.0), (0.0, 50.0), (30.0, 20.0)])
def test_joint_slips_just_above_its_static_hold(
    share: float, moves: bool, friction: float, seal: float
) -> None:
    p = P_STANDARD + share * 50.0 / BORE_AREA
    P = piston(p, seal)._replace(friction=friction)
    track, seen = go(P, 0.5)
    assert (moment(track, EventCode.SLIP) is not None) is moves
    assert bool(seen.states[-1, at.NOSE_X] > 0.0) is moves


def test_section_without_pressure_stays_where_it_is_for_ever() -> None:
    P = shot(mass=1e-15, rate=0.0)
    track, seen = go(P, 2.0)
    assert [index for _, index in track.events if index in (EventCode.SLIP, EventCode.CLEAR)] == []
    assert np.all(seen.states[:, at.NOSE_X] == 0.0)


def test_a_bay_below_ambient_is_pressed_onto_its_seat() -> None:
    P = piston(0.6 * P_STANDARD, 5.0)
    track, seen = go(P, 0.5)
    assert moment(track, EventCode.SLIP) is None
    assert np.all(seen.states[:, at.NOSE_X] == 0.0)


def test_joint_that_comes_to_rest_stops_where_the_work_is_used_up() -> None:
    # hangs inside: push falls below the drag as the gas expands; v = 0 where the energy integral
    # of the adiabatic form is zero
    p0, drag = 1.3 * P_STANDARD, 70.0
    P = piston(p0, drag)

    def energy(s: float) -> float:
        swept = BORE_AREA * s
        work = p0 * VOLUME / 0.4 * (1.0 - (VOLUME / (VOLUME + swept)) ** 0.4)
        return work - swept * P_STANDARD - drag * s

    rest = brentq(energy, 0.01, STROKE)
    track, seen = go(P, 1.0, 1e-10)
    assert moment(track, EventCode.STOP) is not None and moment(track, EventCode.CLEAR) is None
    assert seen.states[-1, at.NOSE_X] == pytest.approx(rest, rel=1e-7)


@pytest.mark.parametrize(("share", "breaks"), [(0.6660, False), (0.6673, True)])
def test_a_steady_push_breaks_pins_from_two_thirds_of_their_strength(
    share: float, breaks: bool
) -> None:
    # a pin rises as F (2u - u^2) and takes 2/3 F times its rise; a push P applied at once does
    # P times the rise: the pin reaches its full strength only from P = 2/3 F on (no friction)
    strength, rise = 400.0, 5e-4
    p = P_STANDARD + share * strength / BORE_AREA
    # a huge bay, so that the push is steady
    P = piston(p, 0.0, volume=10.0)._replace(
        pin_strength=np.array([0.4, 0.6]) * strength, pin_gap=np.zeros(2),
        pin_rise=np.full(2, rise), pin_fail=np.full(2, 1e-7),
    )  # fmt: skip
    track, seen = go(P, 0.05)
    sheared = [e for _, e in track.events if pin_of(e) >= 0]
    assert (len(sheared) >= 6) is breaks
    assert bool(seen.states[:, at.NOSE_X].max() > rise) is breaks


def test_shear_of_a_pin_costs_its_area_under_the_curve() -> None:
    # 2/3 F rise + 1/2 F fail
    F, rise, fail = 140.0, 5e-4, 7e-4
    P = piston(4.0 * P_STANDARD, 0.0)._replace(
        pin_strength=np.full(3, F), pin_gap=np.full(3, 2e-4), pin_rise=np.full(3, rise),
        pin_fail=np.full(3, fail),
    )  # fmt: skip
    _, seen = go(P, 0.05)
    work = seen.states[-1, P.balance_at + at.Balance.PINS]
    assert work == pytest.approx(3.0 * F * (2.0 / 3.0 * rise + 0.5 * fail), rel=1e-7)


def test_charge_in_a_free_joint_does_the_work_its_gas_loses() -> None:
    # no walls, no openings: energy of gas + work on air + motion = energy of the burnt powder
    P = charged(
        0.4e-3, VOLUME, covolume=0.62e-3, mixing_time=0.03, bore=BORE, stroke=STROKE, friction=0.0
    )
    track, _ = go(P, 1.0, 1e-10)
    y, y0 = at_event(track, EventCode.CLEAR), track.phases[0].states[0]
    U = [at.VOLUMES + at.U_1, at.VOLUMES + at.U_2]
    given = y[at.VOLUMES + at.M_B] * P.specific_energy
    gained = y[U].sum() - y0[U].sum() - given
    motion = 0.5 * P.nose_mass * y[at.NOSE_V] ** 2
    outside = P_STANDARD * BORE_AREA * STROKE
    assert gained + motion + outside == pytest.approx(0.0, abs=1e-7 * given)
