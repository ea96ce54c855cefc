"""The cord as a brake, and the snatch of cords of any curve.

Outside references: the work-energy theorem (force times way is the change of kinetic energy of the
reduced mass m1 m2/(m1 + m2)), plain mechanics of textbooks; quadrature and root of scipy for cords
whose curve has no closed form; scipy's DOP853 as a second solver.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.optimize import brentq

from baypulse.case.casefile import reads
from baypulse.engine import ensemble, run
from baypulse.engine import layout as at
from baypulse.engine.event import EventCode
from baypulse.engine.parameters import NEVER, Parameters, pack_members
from baypulse.engine.rates import Force
from baypulse.engine.status import Status
from baypulse.run.simulation import simulate
from report_cases import BENCH
from tools import at_event, go, moment, scipy_advance, shot

STARTS, STROKES, FORCES = (2.0, 2.5, 3.0), (0.2, 0.1, 0.3), (30.0, 40.0, 50.0)

BRAKES = """
[[brakes]]
name = "folds"
count = 3
force = "{force}"
stroke = "120 mm"
length = "300 mm"
"""


def braked(forces: tuple[float, ...] = FORCES, **changes: Any) -> Parameters:
    """Return a shot without contents, friction on the ground, damping or set, with a brake."""
    fields = {
        "contents_mass": 0.0, "pickup_travel": NEVER, "ground_friction": 0.0,
        "cord_exponent": 1.0, "cord_damping": 0.0, "cord_set": 0.0,
        "brake_start": np.array(STARTS[: len(forces)]),
        "brake_stop": np.array(STARTS[: len(forces)]) + np.array(STROKES[: len(forces)]),
        "brake_force": np.array(forces),
    }  # fmt: skip
    return shot(**{**fields, **changes})


def reduced(P: Parameters) -> float:
    """Return the reduced mass of both sections [kg]; that of the nose where the other is held."""
    if P.stand_friction >= NEVER:
        return P.nose_mass
    return P.nose_mass * P.airframe_mass / (P.nose_mass + P.airframe_mass)


def speeds(track: run.Track, event: int) -> list[float]:
    """Return the separation velocity at every event of a kind."""
    found = []
    ends = dict(track.events)
    for phase in track.phases:
        if ends.get(phase.times[-1]) == event:
            y = phase.states[-1]
            found.append(float(y[at.NOSE_V] - y[at.FRAME_V]))
    return found


@pytest.mark.parametrize("clamped", [True, False])
def test_each_stage_takes_force_times_stroke_from_the_parting(clamped: bool) -> None:
    # work-energy theorem: v1^2 = v0^2 - 2 F s / m; and at a constant force t = (v0 - v1) m / F
    P = braked(stand_friction=NEVER if clamped else 0.0)
    track, _ = go(P, 3.0)
    w = speeds(track, EventCode.BRAKE)
    t = [time for time, index in track.events if index == EventCode.BRAKE]
    assert len(w) == 6
    for k, (force, stroke) in enumerate(zip(FORCES, STROKES, strict=True)):
        before, after = w[2 * k], w[2 * k + 1]
        expected = math.sqrt(before**2 - 2.0 * force * stroke / reduced(P))
        assert after == pytest.approx(expected, rel=1e-8)
        lasts = (before - after) * reduced(P) / force
        assert t[2 * k + 1] - t[2 * k] == pytest.approx(lasts, rel=1e-6)
    # between the stages nothing acts
    assert w[2] == pytest.approx(w[1], rel=1e-9)
    assert w[4] == pytest.approx(w[3], rel=1e-9)


@pytest.mark.parametrize("clamped", [True, False])
def test_snatch_after_the_brake_is_that_of_the_speed_it_leaves(clamped: bool) -> None:
    # textbook energy form F = v sqrt(k m) with m the reduced mass
    P = braked(stand_friction=NEVER if clamped else 0.0)
    track, seen = go(P, 3.0)
    before = speeds(track, EventCode.BRAKE)[0]
    taken = sum(f * s for f, s in zip(FORCES, STROKES, strict=True))
    v = math.sqrt(before**2 - 2.0 * taken / reduced(P))
    stiffness = P.cord_load / (P.cord_strain * P.cord_length)
    peak = v * math.sqrt(stiffness * reduced(P))
    assert seen.forces[:, Force.CORD].max() == pytest.approx(peak, rel=1e-7)


def curve(strain: float, P: Parameters) -> float:
    """Return the load of a cord at a strain, written out here once more [N]."""
    return P.cord_load * (strain / P.cord_strain) ** P.cord_exponent


@pytest.mark.parametrize("exponent", [0.7, 1.2, 1.83])
@pytest.mark.parametrize("clamped", [True, False])
def test_snatch_of_a_curved_cord_is_where_the_integral_of_its_load_is_the_energy(
    exponent: float, clamped: bool
) -> None:
    P = braked((), cord_exponent=exponent, stand_friction=NEVER if clamped else 0.0)
    track, seen = go(P, 3.0)
    taut = at_event(track, EventCode.TAUT)
    energy = 0.5 * reduced(P) * (taut[at.NOSE_V] - taut[at.FRAME_V]) ** 2

    def missing(strain: float) -> float:
        return P.cord_length * quad(lambda e: curve(e, P), 0.0, strain, epsrel=1e-12)[0] - energy

    strain = brentq(missing, 1e-6, 1.0, xtol=1e-14)
    assert seen.forces[:, Force.CORD].max() == pytest.approx(curve(strain, P), rel=1e-6)


def test_parting_that_comes_to_rest_in_a_stage_ends_there() -> None:
    P = braked((30.0, 2000.0), stand_friction=NEVER)
    track, seen = go(P, 3.0)
    assert track.status == Status.FINISHED
    assert track.events[-1][1] in (EventCode.RETURN, EventCode.NOSE_STOP)
    before = speeds(track, EventCode.BRAKE)[2]
    # all of what is left goes into force times way
    way = 0.5 * P.nose_mass * before**2 / 2000.0
    assert 0.0 < way < STROKES[1]
    travel = seen.states[-1, at.NOSE_X] - seen.states[-1, at.FRAME_X]
    assert travel == pytest.approx(STARTS[1] + way, rel=1e-8)
    assert moment(track, EventCode.TAUT) is None


def test_second_solver_finds_the_same_brake() -> None:
    P = shot(
        brake_start=np.array([2.0, 2.6]), brake_stop=np.array([2.3, 2.9]),
        brake_force=np.array([20.0, 25.0]),
    )  # fmt: skip
    ours, seen = go(P, 3.0, 1e-9)
    other, theirs = go(P, 3.0, 1e-9, advance=scipy_advance)
    assert [event for _, event in ours.events] == [event for _, event in other.events]
    np.testing.assert_allclose([t for t, _ in ours.events], [t for t, _ in other.events], rtol=1e-6)
    np.testing.assert_allclose(
        seen.states[-1, : P.skins_at], theirs.states[-1, : P.skins_at], rtol=1e-5, atol=1e-9
    )


@pytest.mark.parametrize("force", ["40 N", "100 N", "1 kN"])
@pytest.mark.parametrize("setting", ["", '\n[setting]\nkind = "flight"\nattitude = "60 deg"\n'])
def test_energy_balances_close_with_a_brake(force: str, setting: str) -> None:
    result = simulate(reads(BENCH + BRAKES.format(force=force) + setting))
    budget = result.budget
    turned = sum(abs(term) for term in budget.terms.values())
    assert abs(budget.motion_residual) < 1e-6 * turned
    assert abs(sum(budget.terms.values()) - budget.total) < 1e-6 * turned
    # two ways to the same energy: integrated along the run, and force times travel
    assert budget.terms["brake"] == pytest.approx(sum(result.numbers.brake_energy), rel=1e-7)
    assert result.numbers.cord_load is not None
    newtons = float(force.split()[0]) * (1000.0 if "kN" in force else 1.0)
    assert result.numbers.cord_load >= newtons * (1.0 - 1e-12)


def test_brake_that_holds_the_contents_back_says_so() -> None:
    text = BENCH.replace("[contents]\n", '[contents]\npacked_length = "200 mm"\n')
    text = text.replace('mass = "1.00 g"', 'mass = "2.0 g"')
    text = text.replace('length = "4.5 m"', 'length = "2.2 m"\nnose_share = 0.4')
    brake = '\n[[brakes]]\nname = "strong"\nforce = "600 N"\nstroke = "1.05 m"\n'
    result = simulate(reads(text + brake))
    assert result.verdict == "separates"
    assert result.contents == "stays in"
    assert any("brake stopped the sections" in reason for reason in result.reasons)
    names = [event.name for event in result.events]
    assert "brake 1 tears" in names
    assert "brake 1 torn" not in names


def records(P: Parameters, members: int = 3) -> np.recarray:
    return pack_members(P, members)


@pytest.mark.parametrize("forces", [(), FORCES, (30.0, 2000.0)])
def test_ensemble_and_single_run_agree_with_a_brake(forces: tuple[float, ...]) -> None:
    P = braked(forces, stand_friction=0.0, cord_damping=0.1, cord_set=0.1)
    track, seen = go(P, 3.0)
    row = ensemble.run_members(records(P), 3.0, 1e-8)[1]
    travel = (seen.states[:, at.NOSE_X] - seen.states[:, at.FRAME_X]).max()
    assert row[ensemble.RunColumn.GREATEST_TRAVEL] == pytest.approx(travel, rel=1e-6)
    load = (seen.forces[:, Force.CORD] + seen.forces[:, Force.BRAKE]).max()
    assert row[ensemble.RunColumn.CORD_LOAD] == pytest.approx(load, rel=1e-4)
    taut = moment(track, EventCode.TAUT)
    if taut is None:
        assert np.isnan(row[ensemble.RunColumn.TAUT_TIME])
    else:
        assert row[ensemble.RunColumn.TAUT_TIME] == pytest.approx(taut, rel=1e-6)


def test_paused_members_go_on_as_if_they_had_not_been_paused() -> None:
    short = braked((), cord_travel=1.5, cord_length=1.7)
    paused = ensemble.run_to_cord(records(short), 3.0, 1e-6)
    assert paused.waiting.all()
    for P in (
        braked((), cord_travel=1.5, cord_length=1.7),
        braked(()),
        braked(),
        braked(FORCES[:1]),
    ):
        whole = ensemble.run_members(records(P), 3.0, 1e-6)
        on = ensemble.run_on(records(P), paused, 3.0, 1e-6)
        columns = [k for k, name in enumerate(ensemble.COLUMNS) if name != "steps"]
        np.testing.assert_allclose(on[:, columns], whole[:, columns], rtol=1e-5)
        # nothing is left behind in what is paused
        np.testing.assert_array_equal(on, ensemble.run_on(records(P), paused, 3.0, 1e-6))


def test_cord_that_acts_before_the_pause_is_refused() -> None:
    paused = ensemble.run_to_cord(records(braked(())), 3.0, 1e-6)
    with pytest.raises(ValueError, match="before the moment"):
        ensemble.run_on(records(braked()), paused, 3.0, 1e-6)


def test_members_that_end_before_their_cord_acts_are_whole() -> None:
    P = braked((), mass=1e-5)
    paused = ensemble.run_to_cord(records(P), 3.0, 1e-6)
    assert not paused.waiting.any()
    whole = ensemble.run_members(records(P), 3.0, 1e-6)
    np.testing.assert_array_equal(ensemble.run_on(records(P), paused, 3.0, 1e-6), whole)


@settings(max_examples=25)
@given(
    force=st.floats(1.0, 60.0), stages=st.integers(0, 6), stroke=st.floats(0.02, 0.2),
    exponent=st.floats(0.8, 1.6), held=st.booleans(),
)  # fmt: skip
def test_more_energy_in_the_brake_never_raises_the_load(
    force: float, stages: int, stroke: float, exponent: float, held: bool
) -> None:
    loads = []
    for count in (stages, stages + 1):
        start = 2.0 + 0.25 * np.arange(count)
        P = braked((), cord_exponent=exponent, stand_friction=NEVER if held else 0.0)
        P = P._replace(
            brake_start=start, brake_stop=start + stroke, brake_force=np.full(count, force)
        )
        loads.append(
            ensemble.run_members(records(P, 1), 3.0, 1e-7)[0, ensemble.RunColumn.CORD_LOAD]
        )
    # a stage itself pulls with its force, so that much is always there
    assert loads[1] <= max(loads[0], force) * (1.0 + 1e-6)
