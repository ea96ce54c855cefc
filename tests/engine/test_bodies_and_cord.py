"""Momentum of the two bodies, their common motion in flight, and the cord that stops them.

Closed forms: plain mechanics (momentum, centre of mass, energy of a spring).
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from baypulse.engine import layout as at
from baypulse.engine import run
from baypulse.engine.event import EventCode
from baypulse.engine.parameters import NEVER, Parameters
from baypulse.engine.rates import Force
from tools import at_event, go, moment, shot


def flight(**changes: Any) -> Parameters:
    """Return a shot in free flight: nothing outside touches either section."""
    return shot(**{"stand_friction": 0.0, "ground_friction": 0.0, **changes})


def momentum(P: Parameters, track: run.Track) -> np.ndarray:
    """Return the total momentum at all points [kg m/s]."""
    y = np.concatenate([phase.states for phase in track.phases])
    return (
        P.nose_mass * y[:, at.NOSE_V]
        + P.airframe_mass * y[:, at.FRAME_V]
        + P.contents_mass * y[:, at.PACK_V]
    )


def test_momentum_of_two_free_sections_stays_zero_from_spark_to_slack_cord() -> None:
    P = flight()
    track, seen = go(P, 3.0)
    for event in (
        EventCode.CLEAR,
        EventCode.PICKUP,
        EventCode.CONTENTS_OUT,
        EventCode.TAUT,
        EventCode.CORD_PEAK,
        EventCode.CORD_SLACK,
    ):
        assert moment(track, event) is not None, EventCode(event).name
    largest = P.nose_mass * seen.states[:, at.NOSE_V].max()
    assert np.max(np.abs(momentum(P, track))) < 1e-9 * largest


def test_without_contents_the_centre_of_mass_stays_put() -> None:
    P = flight(contents_mass=0.0, pickup_travel=NEVER)
    _, seen = go(P, 3.0)
    centre = P.nose_mass * seen.states[:, at.NOSE_X] + P.airframe_mass * seen.states[:, at.FRAME_X]
    assert np.max(np.abs(centre)) < 1e-9 * seen.states[:, at.NOSE_X].max()


@pytest.mark.parametrize("attitude", [1.2, 0.0, -0.7])
def test_centre_of_mass_falls_with_gravity_and_drag(attitude: float) -> None:
    g, nose_drag, frame_drag = 9.80665 * math.sin(attitude), 3.0, 5.0
    P = flight(
        contents_mass=0.0, pickup_travel=NEVER, along_gravity=g, nose_drag=nose_drag,
        airframe_drag=frame_drag,
    )  # fmt: skip
    _, seen = go(P, 3.0)
    total = P.nose_mass + P.airframe_mass
    a = -g - (nose_drag + frame_drag) / total
    x = P.nose_mass * seen.states[:, at.NOSE_X] + P.airframe_mass * seen.states[:, at.FRAME_X]
    v = P.nose_mass * seen.states[:, at.NOSE_V] + P.airframe_mass * seen.states[:, at.FRAME_V]
    np.testing.assert_allclose(v / total, a * seen.times, rtol=1e-7, atol=1e-9)
    np.testing.assert_allclose(x / total, 0.5 * a * seen.times**2, rtol=1e-7, atol=1e-9)


def test_gravity_along_the_axis_does_not_change_how_free_sections_part() -> None:
    level, _ = go(flight(), 3.0)
    climbing, _ = go(flight(along_gravity=9.80665), 3.0)
    for event in (EventCode.CLEAR, EventCode.TAUT, EventCode.CORD_SLACK):
        one, two = at_event(level, event), at_event(climbing, event)
        assert moment(climbing, event) == pytest.approx(moment(level, event), rel=1e-7)
        w = [y[at.NOSE_V] - y[at.FRAME_V] for y in (one, two)]
        assert w[1] == pytest.approx(w[0], rel=1e-7)


def linear_cord(**changes: Any) -> Parameters:
    """Return a shot whose cord is an undamped spring of 6000/(0.25 * 4.2) N/m."""
    fields = {
        "contents_mass": 0.0, "pickup_travel": NEVER, "ground_friction": 0.0,
        "cord_exponent": 1.0, "cord_damping": 0.0,
    }  # fmt: skip
    return shot(**{**fields, **changes})


@pytest.mark.parametrize("clamped", [True, False])
@pytest.mark.parametrize("permanent_set", [0.0, 0.1, 0.4])
def test_linear_cord_peaks_at_speed_times_root_k_m_and_gives_back_what_the_set_leaves(
    clamped: bool, permanent_set: float
) -> None:
    P = linear_cord(cord_set=permanent_set, stand_friction=NEVER if clamped else 0.0)
    track, seen = go(P, 3.0)
    stiffness = P.cord_load / (P.cord_strain * P.cord_length)
    mass = P.nose_mass if clamped else 1.0 / (1.0 / P.nose_mass + 1.0 / P.airframe_mass)
    taut, slack = at_event(track, EventCode.TAUT), at_event(track, EventCode.CORD_SLACK)
    v = taut[at.NOSE_V] - taut[at.FRAME_V]
    peak = v * math.sqrt(stiffness * mass)
    assert seen.forces[:, Force.CORD].max() == pytest.approx(peak, rel=1e-7)
    # a quarter of an oscillation from taut to peak
    quarter = 0.5 * math.pi * math.sqrt(mass / stiffness)
    assert moment(track, EventCode.CORD_PEAK) - moment(track, EventCode.TAUT) == pytest.approx(
        quarter, rel=1e-6
    )
    # unloading from the same peak along a line that ends at the set: energy (1 - set) times
    back = slack[at.NOSE_V] - slack[at.FRAME_V]
    assert back == pytest.approx(-v * math.sqrt(1.0 - permanent_set), rel=1e-6)


def test_damped_cord_loses_what_a_dashpot_of_its_ratio_loses_and_begins_at_no_load() -> None:
    # a spring and a dashpot hit at speed v stop at x_m = v/w exp(-z acos(z)/sqrt(1 - z^2))
    # (closed form of the damped oscillator); both lose pi z of the energy as z goes to 0
    z = 0.01
    P = linear_cord(cord_damping=z, cord_set=0.0)
    track, seen = go(P, 3.0)
    taut, slack = at_event(track, EventCode.TAUT), at_event(track, EventCode.CORD_SLACK)
    kept = (slack[at.NOSE_V] / taut[at.NOSE_V]) ** 2
    dashpot = math.exp(-2.0 * z * math.acos(z) / math.sqrt(1.0 - z * z))
    assert 1.0 - kept == pytest.approx(1.0 - dashpot, rel=0.02)
    first = int(np.searchsorted(seen.times, moment(track, EventCode.TAUT), side="right"))
    assert seen.forces[first, Force.CORD] < 0.02 * seen.forces[:, Force.CORD].max()


@pytest.mark.parametrize("exponent", [1.3, 2.0])
def test_stiffening_cord_peaks_where_its_energy_is_that_of_the_motion(exponent: float) -> None:
    # 1/2 m v^2 = F_b L eps_b/(m+1) (eps/eps_b)^(m+1)
    P = linear_cord(cord_exponent=exponent)
    track, seen = go(P, 3.0)
    taut = at_event(track, EventCode.TAUT)
    kinetic = 0.5 * P.nose_mass * taut[at.NOSE_V] ** 2
    whole = P.cord_load * P.cord_length * P.cord_strain / (exponent + 1.0)
    share = (kinetic / whole) ** (1.0 / (exponent + 1.0))
    assert seen.forces[:, Force.CORD].max() == pytest.approx(
        P.cord_load * share**exponent, rel=1e-6
    )
    # unloading by the same power gives back 1 - set of what was stored
    back = at_event(track, EventCode.CORD_SLACK)[at.NOSE_V]
    assert back == pytest.approx(-taut[at.NOSE_V] * math.sqrt(1.0 - P.cord_set), rel=1e-6)


def test_nose_on_the_ground_slows_by_its_coefficient_whatever_its_mass() -> None:
    # mu m g = m a: any text on mechanics
    P = shot(
        contents_mass=0.0, pickup_travel=NEVER, cord_travel=1e3, nose_mass=0.6,
        ground_friction=2.0,
    )  # fmt: skip
    _, seen = go(P, 0.5)
    late = seen.times > 0.1
    t, v = seen.times[late], seen.states[late, at.NOSE_V]
    np.testing.assert_allclose(v, v[0] - 2.0 * (t - t[0]), rtol=1e-8)


def test_nose_on_the_ground_that_drags_its_contents_rubs_with_both_masses() -> None:
    # (m_n + m_c) a = -(F + mu (m_n + m_c) g), with F the force that draws the pack out, the
    # same as long as all of them is in the tube
    P = shot(pickup_travel=1.2, packed_length=5.0, pack_out=1e3, extraction_force=10.0,
             cord_travel=1e3,
             nose_mass=0.6, contents_mass=0.3, ground_friction=2.0)  # fmt: skip
    track, seen = go(P, 3.0)
    drawn = next(p for p in track.phases if p.modes[at.CONTENTS] == at.DRAGGED)
    t, v = drawn.times, drawn.states[:, at.NOSE_V]
    np.testing.assert_allclose(v, v[0] - (2.0 + 10.0 / 0.9) * (t - t[0]), rtol=1e-7, atol=1e-9)
    # the energy balance names what the ground took: mu m g along the way, more from the tug on
    balance = seen.states[-1, P.balance_at + at.Balance.GROUND]
    way = drawn.states[[0, -1], at.NOSE_X]
    start = next(p for p in track.phases if p.modes[at.JOINT] == at.APART).states[0, at.NOSE_X]
    carried = seen.states[-1, at.NOSE_X] - way[0]
    assert balance == pytest.approx(2.0 * (0.6 * (way[0] - start) + 0.9 * carried), rel=1e-8)


@pytest.mark.parametrize("stand", [0.0, 5.0, NEVER])
def test_nose_in_the_air_keeps_its_speed_until_something_pulls(stand: float) -> None:
    # Newton's first law; no event of the ground may fire or divide by its friction
    P = shot(contents_mass=0.0, pickup_travel=NEVER, cord_travel=1e3, ground_friction=0.0,
             stand_friction=stand)  # fmt: skip
    track, seen = go(P, 0.5)
    over = next(t for t, event in track.events if event == EventCode.GAS_OVER)
    v = seen.states[seen.times > over, at.NOSE_V]
    assert v.size and np.ptp(v) == 0.0 and v[0] > 10.0
    assert not {EventCode.NOSE_SLIP, EventCode.NOSE_STOP} & {event for _, event in track.events}
    # friction takes force times way, there and back
    way = np.abs(np.diff(seen.states[:, at.FRAME_X])).sum()
    assert seen.states[-1, P.balance_at + at.Balance.GROUND] == (
        0.0 if stand == NEVER else pytest.approx(stand * way, rel=1e-6)
    )


def test_a_nose_at_rest_is_carried_along_by_the_contents_it_picks_up() -> None:
    # the airframe flies off a nose that sticks to the ground; the tug takes momentum from the
    # contents (an inelastic impact: any text on mechanics)
    # contents that are held fast enough not to stay behind as the airframe begins to fly off
    P = shot(pickup_travel=0.12, extraction_force=200.0, pack_out=10.0, ground_friction=2e4,
             stand_friction=0.0, nose_mass=0.6, contents_mass=0.3)  # fmt: skip
    track, _ = go(P, 0.2)
    phase = next(n for n, p in enumerate(track.phases) if p.modes[at.CONTENTS] == at.DRAGGED)
    before, after = track.phases[phase - 1].states[-1], track.phases[phase].states[0]
    assert before[at.NOSE_V] == 0.0 and before[at.FRAME_V] < 0.0
    assert after[at.NOSE_V] == pytest.approx(before[at.FRAME_V] / 3.0, rel=1e-12)
    # and it slides until the ground has stopped it again, within v^2/(2 a): friction by the weight,
    # mu g = 2e4 m/s^2, less what the tube's friction draws the contents along with
    assert track.phases[phase].modes[at.NOSE] == -1
    rest = track.phases[phase].states[-1]
    way = after[at.NOSE_X] - rest[at.NOSE_X]
    assert way == pytest.approx(0.5 * after[at.NOSE_V] ** 2 / (2e4 - 200.0 / 0.9), rel=1e-4)


def test_contents_that_are_taken_up_share_the_speed_of_the_nose() -> None:
    P = flight()
    track, _ = go(P, 3.0)
    phase = next(n for n, p in enumerate(track.phases) if p.modes[at.CONTENTS] == at.DRAGGED)
    before, after = track.phases[phase - 1].states[-1], track.phases[phase].states[0]
    expected = P.nose_mass * before[at.NOSE_V] + P.contents_mass * before[at.PACK_V]
    expected /= P.nose_mass + P.contents_mass
    assert after[at.NOSE_V] == pytest.approx(expected, rel=1e-12)
    assert after[at.FRAME_V] == before[at.FRAME_V]
