"""The ground-test plan: its ladder, and that each step is predicted by a direct run."""

from __future__ import annotations

import math
import warnings
from dataclasses import replace
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from baypulse.case import geometry, units
from baypulse.case.casefile import read
from baypulse.case.held_value import with_value
from baypulse.case.model import Case, Setting
from baypulse.members import draws
from baypulse.members.answered import Answered
from baypulse.members.ensemble import Ensemble
from baypulse.members.outcomes import COUNTED_TOLERANCE, run_members
from baypulse.members.parts import StudyError
from baypulse.observed.slide_distance import sliding_distance
from baypulse.run.result import VERDICTS, Parachute
from baypulse.studies.plan.compute import (
    LARGEST,
    SMALLEST,
    GroundTestPlan,
    grain_of,
    ladder,
    on_ground,
    plan,
    refusal,
)
from baypulse.studies.window.result import Remedy
from quick_bays import HALF, empty, strand

CASES = Path(__file__).parents[3] / "cases"


MEMBERS, SIDE_MEMBERS = 128, 64
"""The fewest that a window is looked for with, and those of a step and of the window's checks."""


@cache
def shipped(name: str) -> Case:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return read(CASES / f"{name}.toml")


def quick(case: Case, **more: Any) -> GroundTestPlan:
    """Plan with few members, also for the steps and the window's own checks."""
    with pytest.MonkeyPatch.context() as patch:
        for name in (
            "plan.compute.SIDE_MEMBERS",
            "window.compute.SIDE_MEMBERS",
            "window.compute.CHECK_MEMBERS",
        ):
            patch.setattr(f"baypulse.studies.{name}", SIDE_MEMBERS)
        return plan(case, members=MEMBERS, wanted=0.9, **({"workers": 2} | more))


@cache
def bench() -> Case:
    """Return the bench bay under the quick law and without contents."""
    return empty(shipped("bench-76"), HALF)


@cache
def main() -> Case:
    """Return the main bay under the quick law; its contents and its holder stay."""
    return strand(shipped("main-98"))


@cache
def thin() -> Case:
    """Return the bay in thin air under the quick law."""
    return strand(shipped("thin-54"))


@cache
def made(name: str) -> GroundTestPlan:
    own = {"bench-76": bench, "main-98": main, "thin-54": thin}
    return quick(own[name]() if name in own else shipped(name))


@pytest.mark.parametrize("top", [0.4e-3, 0.59e-3, 1.2e-3, 7.5e-3])
@pytest.mark.parametrize("share", [0.0, 0.1, 0.4, 0.7, 0.95, 1.2])
def test_a_ladder_rises_in_weighable_steps_to_the_charge_to_prove(top: float, share: float) -> None:
    steps = ladder(share * top, top, "gram")
    assert steps[-1] == top
    assert len(steps) in (4, 5)
    assert all(a < b for a, b in pairwise(steps))
    for low, high in pairwise(steps):
        # half a gradation of the scale on either side
        grain = 0.05e-3 if high >= 0.5e-3 else 0.01e-3
        assert high + grain / 2.0 >= SMALLEST * (low - grain / 2.0)
        assert high - grain / 2.0 <= LARGEST * (low + grain / 2.0)
    for step in steps[:-1]:
        grams = 1e3 * step
        grain = 0.05 if grams >= 0.5 - 1e-9 else 0.01
        assert grams / grain == pytest.approx(round(grams / grain), abs=1e-9)


def test_a_plan_leaves_out_what_only_a_window_tells() -> None:
    plan = made("bench-76")
    found = plan.window
    assert found.recommended is not None and found.least is not None and found.most is not None
    assert not (found.backup or found.both or found.rule or found.curve or found.limits)
    assert not found.remedies
    # a leak is judged by the interval of the least charge; on that of the most nothing rests
    assert found.least.low < found.least.charge <= found.least.high
    assert math.isnan(found.most.low) and math.isnan(found.most.high)
    assert found.recommended.charge < plan.backup <= found.most.charge


def test_a_ladder_begins_where_half_of_the_bays_open_unless_that_is_too_far_off() -> None:
    assert ladder(0.2e-3, 0.6e-3, "gram")[0] == pytest.approx(0.2e-3)
    assert ladder(0.01e-3, 1.2e-3, "gram")[0] == pytest.approx(1.2e-3 / LARGEST**4, abs=6e-6)
    assert ladder(0.59e-3, 0.6e-3, "gram")[0] == pytest.approx(0.6e-3 / SMALLEST**3, abs=6e-6)


def test_a_tiny_charge_has_no_two_steps_that_weigh_the_same() -> None:
    steps = ladder(0.02e-3, 0.03e-3, "gram")
    assert steps == pytest.approx([0.02e-3, 0.03e-3])
    assert ladder(1e-6, 3e-6, "gram") == [3e-6]


@pytest.mark.parametrize(("grain", "unit", "step"), [("psi", "psi", 5.0), ("bar", "bar", 0.1)])
def test_a_reservoir_is_filled_to_a_mark_of_its_gauge(grain: str, unit: str, step: float) -> None:
    steps = ladder(1.08e6, 2.38e6, grain)
    assert steps[-1] == 2.38e6
    for pressure in steps[:-1]:
        read_off = units.convert(pressure, unit) / step
        assert read_off == pytest.approx(round(read_off), abs=1e-6)


def test_the_gauge_is_that_of_the_case() -> None:
    assert grain_of(bench()) == "gram"
    assert grain_of(shipped("cold-gas-98")) == "psi"
    assert grain_of(replace(shipped("cold-gas-98"), provenance={})) == "bar"


@pytest.mark.parametrize("name", ["bench-76", "main-98", "cold-gas-98"])
def test_the_ladder_goes_from_a_low_chance_to_the_recommended_charge(name: str) -> None:
    found = made(name)
    charges = [step.charge for step in found.steps]
    assert all(a < b for a, b in pairwise(charges))
    assert found.reached
    assert charges[-1] == found.window.recommended.charge
    chances = [step.trial.opens.share for step in found.steps]
    assert 0.2 < chances[0] < 0.8
    assert all(a <= b for a, b in pairwise(chances))
    assert chances[-1] >= 0.9
    assert all(step.aloft is None for step in found.steps)


def test_each_step_is_what_members_do_with_that_charge() -> None:
    found = made("main-98")
    case = found.case
    plan_of_members = Ensemble(case, 2048, 1)
    # members behind those of the window's search, which are in the first block
    block = plan_of_members.points(1)[: found.members]
    for step in found.steps[:3]:
        values = draws.values(case, plan_of_members.factors, block)
        values["powder.mass"] = values["powder.mass"] * (step.charge / case.powder.mass)
        outcomes = run_members(case, values, found.members, COUNTED_TOLERANCE)
        counts = np.bincount(outcomes.verdict, minlength=len(VERDICTS))
        assert [each.count for each in step.verdicts] == counts.tolist()
        assert step.likely.count == counts.max()
        speeds = outcomes.column("clear_velocity")
        assert step.trial.clear_velocity == tuple(np.nanquantile(speeds, (0.05, 0.5, 0.95)))
        opened = np.isin(outcomes.verdict, (2, 3))
        assert step.stay_in.count == (outcomes.contents[opened] == Parachute.STAYS_IN.code).sum()
        assert step.stay_in.members == opened.sum()
        travel = outcomes.column("greatest_travel")[~opened]
        assert step.shut_travel == tuple(np.quantile(travel, (0.05, 0.5, 0.95)))


def test_half_of_fresh_bays_open_at_the_half_charge() -> None:
    found = made("bench-76")
    case = found.case
    fresh = Ensemble(case, 512, seed=77)
    values = draws.values(case, fresh.factors, fresh.points(0))
    values["powder.mass"] = values["powder.mass"] * (found.half / case.powder.mass)
    opened = run_members(case, values, 512).opened.mean()
    # the search had 128 members: 4 standard deviations of the binomial distribution
    assert opened == pytest.approx(0.5, abs=4.0 * 0.5 / math.sqrt(128))


def test_what_slides_without_its_cord_is_a_matter_of_energy() -> None:
    found = made("bench-76")
    for step in found.steps:
        way = sliding_distance(step.trial.greatest_velocity[2], 0.4)
        assert step.free_nose == pytest.approx(0.076 + way)
        assert step.nose.stopped_by == "cord"
        assert step.nose.distance < step.free_nose
        assert step.airframe.stopped_by == "clamped"


def test_what_holds_the_joint_is_friction_and_pins_over_the_bore() -> None:
    found = made("bench-76")
    area = 0.25 * math.pi * 0.076**2
    assert found.friction == pytest.approx(22.0)
    # the pins are named as a slow pull finds them; a shot breaks stronger ones
    pins = found.pins * geometry.rate_gain(found.ground)
    assert found.held_pressure == pytest.approx((found.friction + pins) / area)


def test_a_flight_is_tested_on_the_ground_and_told_for_both() -> None:
    found = made("thin-54")
    assert found.case.setting.kind == "flight"
    ground = found.ground
    assert ground.setting.kind == "stand"
    assert ground.setting.attitude == Setting().attitude
    assert ground.surroundings.altitude == 0.0
    low = found.steps[0]
    # thin air: what opens on the ground hardly ever does so at 9 km
    assert low.aloft.share < 0.5 < low.trial.opens.share
    assert low.nose.distance > 1.0
    assert on_ground(bench()) is bench()


def test_the_ladder_ends_where_the_ground_is_too_hard() -> None:
    """In flight the case's limit lets more through than on the ground."""
    limited = with_value(thin(), "limits.separation_velocity", 21.0)
    found = quick(with_value(limited, "bay.model_agreement", 1.0))
    assert not found.reached
    assert found.steps[-1].charge < found.window.recommended.charge
    assert all(step.trial.fails_hard.low <= 0.1 for step in found.steps)


def test_one_thread_gives_the_same_plan_and_tells_its_progress() -> None:
    told: list[tuple[int, int]] = []
    one = quick(bench(), workers=1,
                progress=lambda done, whole: told.append((done, whole)))  # fmt: skip
    other = made("bench-76")
    assert [step.verdicts for step in one.steps] == [step.verdicts for step in other.steps]
    assert [step.charge for step in one.steps] == [step.charge for step in other.steps]
    assert told[-1][0] == one.runs > one.window.runs
    assert all(a[0] <= b[0] for a, b in pairwise(told))
    assert all(done <= whole for done, whole in told)


def test_an_empty_window_gets_no_plan(monkeypatch: pytest.MonkeyPatch) -> None:
    found = made("bench-76").window
    most = replace(found.most, charge=0.5 * found.least.charge)
    empty = replace(found, most=most, recommended=None, reasons=("It takes too much.",))
    known = Answered(empty, lambda progress: empty)
    monkeypatch.setattr("baypulse.studies.plan.compute.answer", lambda case, **options: known)
    with pytest.raises(StudyError, match=r"no plan is written, .* It takes too much\. Change"):
        plan(found.case)


def test_the_refusal_names_a_change_that_helps_and_its_window() -> None:
    empty = replace(
        made("bench-76").window, recommended=None, reasons=("A reason.", "The last reason."),
        remedies=(Remedy("a change that does not help", 2e-3, 1e-3),
                  Remedy("2 pins in place of 3", 0.3e-3, 0.5e-3)),
    )  # fmt: skip
    sentence = refusal(empty)
    assert "The last reason. With 2 pins in place of 3 there is a window from 0.300 g" in sentence
    assert "does not help" not in sentence
    softer = replace(empty, remedies=(Remedy("a softer cord", 0.3e-3, None),))
    assert "With a softer cord there is a window from 0.300 g (4.63 grain) on." in refusal(softer)


def test_a_bay_that_leaks_gets_no_plan() -> None:
    with pytest.raises(StudyError, match=r"no ground-test charge\. .*open path"):
        quick(strand(shipped("drogue-98")))


def test_the_window_refuses_for_the_plan() -> None:
    with pytest.raises(StudyError, match="of 120 % cannot be asked for"):
        plan(bench(), wanted=1.2)
