"""How far sections slide along the ground after a shot."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from baypulse.case import cord_fields
from baypulse.case.model import Case
from baypulse.constants import STANDARD_GRAVITY
from baypulse.run.result import EventKind, Result

HELD = "clamped"
"""A clamped section goes no way."""

JOINT = "joint"
"""A section that never left the tube ends its way at the joint."""

CORD = "cord"
"""The cord ends the way of a section."""

FRICTION = "friction"
"""Friction on the ground ends the way of a section."""

NOTHING = "nothing"
"""Nothing ends the way of a section."""

LANDED = 0.4
"""Friction coefficient of a section that comes down and slides, where the case types none: it flies
first, and then slides on grass or gravel; estimate."""


@dataclass(frozen=True)
class Slide:
    """How far one section goes away from where it stood, along the tube's line.

    Attributes
    ----------
    distance : float
        [m]; infinite where nothing stops it.
    stopped_by : str
        ``"clamped"``, ``"joint"`` (it never left the tube), ``"cord"``, ``"friction"`` or
        ``"nothing"``.
    computed : bool
        Whether all of the way is the engine's run; else its end, or the whole, is v^2/(2 mu g).
    """

    distance: float
    stopped_by: str
    computed: bool


def sliding_distance(speed: float, friction: float, slope: float = 0.0) -> float:
    """Return v^2/(2 g (mu cos a + sin a)), the way of a body that slides until it rests [m].

    On level ground v^2/(2 mu g): its kinetic energy is the work of friction (any text on
    mechanics).

    Parameters
    ----------
    speed : float
        At the beginning [m/s].
    friction : float
        Coefficient mu.
    slope : float
        Rise of the ground ahead [rad].

    Returns
    -------
    float
        Infinite where nothing slows it.
    """
    slowing = STANDARD_GRAVITY * (friction * math.cos(slope) + math.sin(slope))
    if speed == 0.0:
        return 0.0
    return speed * speed / (2.0 * slowing) if slowing > 0.0 else math.inf


def ground_friction(case: Case) -> float:
    """Return the friction coefficient of the leaving section on the ground.

    Parameters
    ----------
    case : Case
        A coefficient of 0 in it says that the section leaves through the air.
    """
    return case.setting.ground_friction or LANDED


def nose_share(case: Case) -> float:
    """Return the share of the separation velocity that the leaving section takes.

    All of it beside a clamped airframe; else the two momenta are equal, as the stand's friction
    is small against the push.

    Parameters
    ----------
    case : Case
        The case.
    """
    if case.setting.kind == "clamped":
        return 1.0
    behind = case.airframe.mass + (case.contents.mass if case.contents is not None else 0.0)
    return behind / (behind + case.nose.mass)


def without_cord(case: Case, separation: float) -> float:
    """Return how far the leaving section slides if nothing but friction stops it [m].

    Parameters
    ----------
    case : Case
        On the ground.
    separation : float
        Greatest separation velocity [m/s].
    """
    ground = case.setting
    stroke = case.joint.shoulder_length
    speed = nose_share(case) * separation
    return stroke + sliding_distance(speed, ground_friction(case), ground.attitude)


def slides(result: Result, separation: float) -> tuple[Slide, Slide]:
    """Return how far the leaving section and the airframe go.

    The engine's run as far as it goes: it ends where all rests, or where the cord has jerked. A
    section that still moves away then goes on by v^2/(2 mu g), or to the end of its cord. So does
    one that separates at `separation`, though it does not separate in the run.

    Parameters
    ----------
    result : Result
        Of a shot on the ground.
    separation : float
        Separation velocity to take where the run itself does not open [m/s]; NaN for none.
    """
    case = result.case
    opened = result.event(EventKind.CLEAR) is not None
    if opened or math.isnan(separation):
        nose, frame = _nose_of_run(result, opened), _frame_of_run(result)
    else:
        nose = _capped(case, without_cord(case, separation), False)
        back = separation - nose_share(case) * separation
        slope = -case.setting.attitude
        frame = _ended(sliding_distance(back, case.setting.stand_friction, slope), False)
    return nose, Slide(0.0, HELD, True) if case.setting.kind == "clamped" else frame


def _nose_of_run(result: Result, opened: bool) -> Slide:
    case = result.case
    away = max(float(result.nose_position.max()), 0.0)
    if not opened:
        return Slide(away, JOINT, True)
    if _pulled(result) is not None:
        return Slide(away, CORD, True)
    left = _left(result.nose_velocity[-1], ground_friction(case), case.setting.attitude)
    return _capped(case, away + left, left == 0.0)


def _frame_of_run(result: Result) -> Slide:
    case = result.case
    back = max(-float(result.airframe_position.min()), 0.0)
    pull = _pulled(result)
    before = 0 if pull is None else int(np.searchsorted(result.time, pull)) - 1
    if pull is not None and result.airframe_velocity[before] < 0.0:
        return Slide(back, CORD, True)
    left = _left(-result.airframe_velocity[-1], case.setting.stand_friction, -case.setting.attitude)
    return _ended(back + left, left == 0.0)


def _pulled(result: Result) -> float | None:
    """Return when the cord, or its brake, first pulls [s]."""
    found = map(result.event, (EventKind.BRAKE_TEARS, EventKind.TAUT))
    return next((event.time for event in found if event is not None), None)


def _left(velocity: float, friction: float, slope: float) -> float:
    """Return how much further a section goes that moves away at the end of its run [m]."""
    return sliding_distance(max(float(velocity), 0.0), friction, slope)


def _capped(case: Case, distance: float, computed: bool) -> Slide:
    """Return a slide that ends at the latest where the cord is taut."""
    if case.cord is not None:
        taut = float(cord_fields.taut_travel(case))
        if distance > taut:
            return Slide(taut, CORD, computed)
    return _ended(distance, computed)


def _ended(distance: float, computed: bool) -> Slide:
    return Slide(distance, FRICTION if math.isfinite(distance) else NOTHING, computed)
