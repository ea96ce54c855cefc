"""The engine's stepper against another solver, and its error against its tolerance."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from scipy.optimize import brentq

from baypulse.engine import layout as at
from baypulse.engine import run
from baypulse.engine.event import EventCode
from baypulse.engine.parameters import ANNULUS, FROM_SOURCE, OUTSIDE, Parameters
from tools import (
    P_STANDARD,
    REAL_AIR,
    T_ROOM,
    at_event,
    go,
    openings,
    scipy_advance,
    shot,
    still_air,
    walls,
    with_volumes,
)


def bench() -> Parameters:
    return shot()


def holder() -> Parameters:
    volume = [0.972e-3, 3e-6]
    start = np.array([still_air(v, seed=1e-6) for v in volume])
    doors = openings(
        [
            (0, OUTSIDE, 0.65 * 8e-6, 0),
            (0, OUTSIDE, 0.6, ANNULUS),
            (1, 0, 0.7 * 4e-5, FROM_SOURCE),
        ]
    )
    P = shot(source=1, burst_pressure=4e5, **doors)
    return with_volumes(P, start, volume)


def cold_gas() -> Parameters:
    nitrogen, T = (296.80, 718.3, 0.0851), T_ROOM
    volume = [0.972e-3, 60e-6]
    mass = 20.0 * P_STANDARD * volume[1] / (nitrogen[0] * T)
    u = nitrogen[1] * T + 0.5 * nitrogen[2] * T * T
    seed = still_air(1e-6 * volume[1])
    reservoir = [mass, 0.0, mass * u, *seed[3:]]
    start = np.array([still_air(volume[0], seed=1e-6), reservoir])
    doors = openings(
        [
            (0, OUTSIDE, 0.65 * 8e-6, 0),
            (0, OUTSIDE, 0.6, ANNULUS),
            (1, 0, 0.8 * 2e-5, FROM_SOURCE),
        ]
    )
    P = shot(
        mass=0.0, source=1, gas=(*nitrogen, *REAL_AIR), covolume=0.0, specific_energy=0.0,
        burnable_fraction=0.0, **doors,
    )  # fmt: skip
    return with_volumes(P, start, volume)


def electronics() -> Parameters:
    volume = [0.972e-3, 0.6e-3]
    start = np.array([still_air(v, seed=1e-6) for v in volume])
    doors = openings(
        [
            (0, 1, 0.6 * 2e-5, 0),
            (1, OUTSIDE, 0.65 * 1e-5, 0),
            (0, OUTSIDE, 0.65 * 8e-6, 0),
            (0, OUTSIDE, 0.6, ANNULUS),
        ]
    )
    return with_volumes(shot(**doors), start, volume)


def sliding_stand() -> Parameters:
    return shot(stand_friction=0.4 * 2.9 * 9.8)


def flight() -> Parameters:
    return shot(
        stand_friction=0.0, ground_friction=0.0, along_gravity=9.80665, nose_drag=2.0,
        airframe_drag=4.0,
    )  # fmt: skip


def hanging() -> Parameters:
    # too little powder: the shoulder moves and stops
    return shot(
        mass=0.05e-3, stroke=0.15, friction=60.0, pin_strength=np.zeros(0), pin_gap=np.zeros(0),
        pin_rise=np.zeros(0), pin_fail=np.zeros(0), **walls(0.972e-3, 0.075),
    )  # fmt: skip


SHOTS = [bench, holder, cold_gas, electronics, sliding_stand, flight, hanging]


@pytest.mark.parametrize("make", SHOTS)
def test_another_solver_finds_the_same_shot(make: Callable[[], Parameters]) -> None:
    P = make()
    ours, seen = go(P, 3.0, 1e-9)
    theirs, theirs_seen = go(P, 3.0, 1e-10, advance=scipy_advance)
    assert [e for _, e in ours.events] == [e for _, e in theirs.events]
    times = np.array([[t for t, _ in track.events] for track in (ours, theirs)])
    np.testing.assert_allclose(times[0], times[1], rtol=1e-6)
    peaks = [s.volumes[:, 0, 0].max() - P.p_ambient for s in (seen, theirs_seen)]
    assert peaks[0] == pytest.approx(peaks[1], rel=2e-4)
    if make is hanging:
        assert EventCode.CLEAR not in [e for _, e in ours.events]
        rest = [s.states[-1, at.NOSE_X] for s in (seen, theirs_seen)]
        assert rest[0] == pytest.approx(rest[1], rel=1e-6)
    else:
        clear = [at_event(track, EventCode.CLEAR) for track in (ours, theirs)]
        w = [y[at.NOSE_V] - y[at.FRAME_V] for y in clear]
        assert w[0] == pytest.approx(w[1], rel=1e-6)


@pytest.mark.parametrize("make", SHOTS)
def test_the_default_tolerance_is_good_to_a_part_in_ten_thousand(
    make: Callable[[], Parameters],
) -> None:
    P = make()
    usual, seen = go(P, 3.0, 1e-6)
    fine, fine_seen = go(P, 3.0, 1e-11)
    assert [e for _, e in usual.events] == [e for _, e in fine.events]
    peaks = [s.volumes[:, 0, 0].max() - P.p_ambient for s in (seen, fine_seen)]
    assert peaks[0] == pytest.approx(peaks[1], rel=1e-3)
    travel = [s.states[:, at.NOSE_X].max() for s in (seen, fine_seen)]
    assert travel[0] == pytest.approx(travel[1], rel=1e-4)


def answers(P: Parameters, tolerance: float) -> np.ndarray:
    """Return clear velocity and the pressure at the event of its peak."""
    track, seen = go(P, 0.3, tolerance)
    clear = at_event(track, EventCode.CLEAR)
    t_peak = [t for t, e in track.events if e == EventCode.PEAK][-1]
    peak = seen.volumes[int(np.searchsorted(seen.times, t_peak)), P.bay, 0]
    return np.array([clear[at.NOSE_V] - clear[at.FRAME_V], peak])


TOLERANCES = np.array([1e-4, 1e-5, 1e-6, 1e-7, 1e-8])


def errors_of(P: Parameters) -> np.ndarray:
    exact = answers(P, 1e-11)
    return np.array([np.abs(answers(P, tolerance) / exact - 1.0) for tolerance in TOLERANCES])


@pytest.mark.parametrize("make", [bench, electronics, sliding_stand, flight])
def test_the_error_falls_with_the_tolerance(make: Callable[[], Parameters]) -> None:
    # step control by the error of a step of order 5 gives about tolerance^1 to tolerance^1.2
    errors = errors_of(make())
    for k, name in enumerate(("clear velocity", "peak pressure")):
        logs = np.log10(np.maximum(errors[:, k], 1e-15))
        slope = np.polyfit(np.log10(TOLERANCES), logs, 1)[0]
        assert slope > 0.8, f"{name}: errors {errors[:, k]} fall as tolerance^{slope:.2f}"


@pytest.mark.parametrize(
    ("make", "share"),
    # the clock of the mixing follows the products, and a clamped airframe lets the pressure grow on
    [(bench, 0.15), (holder, 0.15), (cold_gas, 0.1), (sliding_stand, 0.1), (flight, 0.1),
     # through a wire hole the pressures of two bays meet within a few pascals, and steps as loose
     # as 1e-5 know these only to the tolerance
     (electronics, 0.6)],
)  # fmt: skip
def test_the_error_of_a_shot_is_below_the_tolerance_of_its_steps(
    make: Callable[[], Parameters], share: float
) -> None:
    # a jet into a hot zone that starts as a millionth of the air's mass has a layer of 0.1 us,
    # which no step resolves: such shots (holder, cold gas) keep an error of 2e-9
    errors = errors_of(make())
    assert np.all(errors < share * TOLERANCES[:, None] + 5e-9), errors


def crowded(mass: float) -> Parameters:
    """Return a shot whose gas is over at about the time at which the sections part."""
    volume = [0.972e-3, 0.238e-3]
    start = np.array([still_air(v, seed=1e-6) for v in volume])
    doors = openings([(0, 1, 2.3e-5, 0), (1, OUTSIDE, 1.4e-6, 0), (0, OUTSIDE, 0.6, ANNULUS)])
    return with_volumes(shot(mass, **doors), start, volume)


def lag(track: run.Track) -> float:
    """Return by how much later the sections part than the gas is over [s]."""
    times = {event: t for t, event in track.events}
    return times[EventCode.PARTED] - times[EventCode.GAS_OVER]


@pytest.mark.parametrize("apart", [4e-8, 2e-7])
def test_two_events_within_one_step_are_found_in_their_order(apart: float) -> None:
    # "gas over" comes 40 or 200 ns before "parted", which has the lower index; a search that
    # closes in on the one from its far side must not step over the other. The lag falls with the
    # charge, by 40 us from 0.270 to 0.280 g: the charge is sought at which it is as short. Steps of
    # a tolerance of 1e-5 know it to 11 ns
    mass = brentq(
        lambda m: lag(go(crowded(m), 0.05, 1e-11)[0]) - apart, 0.270e-3, 0.280e-3, xtol=1e-16
    )
    P = crowded(mass)
    theirs, _ = go(P, 0.05, 1e-11, advance=scipy_advance)
    assert lag(theirs) == pytest.approx(apart, abs=2e-9)
    for tolerance in (1e-5, 1e-6, 1e-7, 1e-8):
        ours, _ = go(P, 0.05, tolerance)
        assert [e for _, e in ours.events] == [e for _, e in theirs.events], f"at {tolerance}"
