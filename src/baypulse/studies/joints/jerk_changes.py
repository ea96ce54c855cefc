"""Changes to a bay, or to a joint, that would make a jerk of the cord less dangerous."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from baypulse.case import cord_fields, library, quantities
from baypulse.case.casefile import consistency
from baypulse.case.casefile.keys import key_at, number_at, value_at
from baypulse.case.held_value import with_value
from baypulse.case.model import Brake, Case
from baypulse.case.spec import Count
from baypulse.members.charges import charge_path
from baypulse.run.result import Parachute
from baypulse.run.simulation import simulate
from baypulse.studies.joints.jerk_separation import ClosedJoint, closed_joint

LONGER = 1.5
"""Factor by which the cord's length is changed."""

LESS = 0.8
"""Factor by which the charge is changed."""

STAGES = 6
"""Stages of the brake that is tried."""

STROKE = 0.1
"""Stroke of each of them [m]."""

PULL = 0.5
"""Their force as a share of what the joint stands when a load comes on suddenly."""

SUDDEN = 2.0
"""Factor of a sudden load, by which the brake's force is chosen."""

STRONG = 3.0
"""Least strength of a softer cord over the load of the present one."""


Changed = tuple[str, Case, ClosedJoint, str]
"""In words, the bay that separates, the joint, and what the change does elsewhere."""


def changes(case: Case, later: Case, joint: ClosedJoint, load: float) -> Iterator[Changed]:
    """Yield every change that can be made.

    Parameters
    ----------
    case : Case
        The bay that separates.
    later : Case
        The bay of the joint that is still closed.
    joint : ClosedJoint
        That joint.
    load : float
        Highest load of the cord [N].

    Yields
    ------
    words : str
        What is changed.
    case : Case
        The bay that separates, with the change.
    joint : ClosedJoint
        The joint, with the change.
    aside : str
        What the change does elsewhere; may be empty.
    """
    cord = case.cord
    assert cord is not None
    length = quantities.show(LONGER * cord.length, "length")
    yield from _sound(
        f"a longer cord, {length}", with_value(case, "cord.length", LONGER * cord.length), joint
    )
    softer = _softer(case, load)
    if softer is not None:
        changed = replace(cord, type=softer, break_load=None, break_elongation=None)
        yield from _sound(f"a softer cord, {softer}", replace(case, cord=changed), joint)
    yield from _braked(case, joint)
    path = charge_path(case)
    less = LESS * float(value_at(case, path))
    spec = number_at(path)
    shown = quantities.show(less, spec.dimension)
    yield from _sound(f"a weaker charge, {shown}", with_value(case, path, less), joint)
    yield from _pinned(case, later, joint)


def _sound(words: str, case: Case, joint: ClosedJoint) -> Iterator[Changed]:
    """Yield a change of the opening bay that makes a possible case."""
    if not consistency.problems(case):
        yield words, case, joint, ""


def _softer(case: Case, load: float) -> str | None:
    """Return the softest cord of the library that is strong enough, if it is softer."""
    assert case.cord is not None

    def stiffness(name: str) -> float:
        data = library.cord(name, case.materials)
        return data.break_load / data.break_elongation

    own = cord_fields.cord_data(case)
    strong = [
        name
        for name in library.names("cords")
        if library.cord(name, case.materials).break_load >= STRONG * load
    ]
    softest = min(strong, key=stiffness, default=None)
    if softest is None or stiffness(softest) >= 0.9 * own.break_load / own.break_elongation:
        return None
    return softest


def _braked(case: Case, joint: ClosedJoint) -> Iterator[Changed]:
    """Yield the case with a brake in its cord, if it has none yet and there is room."""
    if case.brakes:
        return
    force = PULL * joint.hold / (SUDDEN * joint.share)
    brake = Brake(name="brake", count=STAGES, force=force, stroke=STROKE)
    pull, travel = quantities.show(force, "force"), quantities.show(STROKE, "length")
    words = f"a brake in the cord, {STAGES} stages of {travel} at {pull}"
    yield from _sound(words, replace(case, brakes=(brake,)), joint)


def _pinned(case: Case, later: Case, joint: ClosedJoint) -> Iterator[Changed]:
    """Yield one more pin in the other joint, with what its own charge then does."""
    spec = key_at("pins.count").spec
    assert isinstance(spec, Count)
    if later.pins is None or later.pins.count >= spec.high:
        return
    stronger = with_value(later, "pins.count", later.pins.count + 1)
    result = simulate(stronger)
    aside = f"with its own charge that bay then {result.verdict}"
    if result.contents is Parachute.STAYS_IN and result.verdict.separated:
        aside += ", but its parachute stays in"
    words = f"one more pin there, {later.pins.count + 1} in all"
    yield words, case, closed_joint(stronger, joint.beyond, joint.section), aside
