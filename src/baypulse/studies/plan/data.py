"""A ground-test plan as numbers for other programs."""

from __future__ import annotations

import math
from typing import Any

from baypulse.observed.slide_distance import Slide
from baypulse.show.data import both
from baypulse.show.study_data import chance_numbers, foot, head
from baypulse.studies.plan.compute import GroundTestPlan, LadderStep
from baypulse.studies.plan.success_count import lower_bound, shots_needed
from baypulse.studies.plan.text import SUCCESSES, WANTED


def plan_numbers(plan: GroundTestPlan) -> dict[str, Any]:
    """Return everything about a plan, ready for JSON.

    Every name of a number that has a unit ends in it.

    Parameters
    ----------
    plan : Plan
        The plan.
    """
    found = plan.window
    assert found.recommended is not None and found.least is not None
    charge, kind = found.label.replace(" ", "_"), found.dimension
    most = None if found.most is None else found.most.charge
    return {
        **head("plan", plan.case),
        "reliability_ratio": found.wanted,
        "path": found.path,
        "seed": found.seed,
        "simulated_shots_window": found.members,
        "simulated_shots_step": plan.members,
        "runs": plan.runs,
        **both(f"least_{charge}", found.least.charge, kind),
        **both(f"most_{charge}", most, kind),
        **both(f"recommended_{charge}", found.recommended.charge, kind),
        **both(f"backup_{charge}", None if found.backup is None else found.backup.charge, kind),
        **both(f"half_{charge}", plan.half, kind),
        "reaches_recommended": plan.reached,
        **both("pull_off", plan.friction, "force"),
        **both("pins_together", plan.pins, "force"),
        **both("held_pressure", plan.held_pressure, "gauge pressure"),
        "steps": [_step(step, charge, kind) for step in plan.steps],
        "successes": [
            {"shots": n, "succeeded": n, "lower_bound_ratio": lower_bound(n, n)} for n in SUCCESSES
        ],
        "shots_needed": [
            {"chance_ratio": c, "failures": k, "shots": shots_needed(c, k)}
            for c in WANTED for k in (0, 1)
        ],
        **foot(plan.case, found.warnings),
    }  # fmt: skip


def _step(step: LadderStep, charge: str, kind: str) -> dict[str, Any]:
    trial = step.trial
    return {
        **both(charge, step.charge, kind),
        "likely": step.likely.name,
        "verdicts": [chance_numbers(each) for each in step.verdicts],
        "parachute_stays_in": None if step.stay_in is None else chance_numbers(step.stay_in),
        "separates_with_parachute_out": chance_numbers(trial.opens),
        "separates_in_flight": None if step.aloft is None else chance_numbers(step.aloft),
        "limits_exceeded": [chance_numbers(each) for each in trial.limits],
        **_quantiles("peak_pressure", trial.peak_pressure, "gauge pressure"),
        **_quantiles("separation_velocity", trial.clear_velocity, "velocity"),
        **_quantiles("travel_without_separation", step.shut_travel, "length"),
        "nose": _slide(step.nose),
        "airframe": _slide(step.airframe),
        **both("nose_without_cord", _finite(step.free_nose), "length"),
    }


def _quantiles(name: str, values: tuple[float, ...], kind: str) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for share, value in zip(("5", "50", "95"), values, strict=True):
        found |= both(f"{name}_below_{share}_percent", _finite(value), kind)
    return found


def _slide(slide: Slide) -> dict[str, Any]:
    return {
        **both("distance", _finite(slide.distance), "length"),
        "stopped_by": slide.stopped_by,
        "computed_to_its_end": slide.computed,
    }


def _finite(value: float) -> float | None:
    return value if math.isfinite(value) else None
