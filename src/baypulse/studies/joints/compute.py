"""The joints of a rocket: whether the jerk of one opening, or drag, parts another.

The question is about a flight, so every bay is computed in flight, whatever its case says.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import NamedTuple

import numpy as np

from baypulse.case import geometry
from baypulse.case.model import Case, OtherJoint, Setting
from baypulse.case.rocket import Rocket, RocketBay
from baypulse.constants import AIR_GAS_CONSTANT
from baypulse.members import draws
from baypulse.members.blocks import Progress
from baypulse.members.chances import chance
from baypulse.members.ensemble import run_values
from baypulse.members.factors import Factor, dimensions, factors
from baypulse.members.retention import holds
from baypulse.observed.flight_profile import drag_separation
from baypulse.physics.atmosphere import standard_atmosphere
from baypulse.run.result import Result, Verdict
from baypulse.run.simulation import simulate
from baypulse.run.verdict import limit_checks
from baypulse.studies.joints.jerk_changes import changes
from baypulse.studies.joints.jerk_separation import (
    ClosedJoint,
    LoadCurve,
    closed_joint,
    comes_out,
    least_factor,
    lets_go,
    load_of,
    part,
)
from baypulse.studies.joints.result import BayOpening, Drag, Jerk, JerkChange, Joints

Array = np.ndarray

MEMBERS = 2048
"""Members behind the chances."""

CHECKED = 32
"""Members whose own load curve is followed, to check the factor found for the nominal one."""


def joints(
    rocket: Rocket, *, members: int = MEMBERS, seed: int = 1, workers: int = 1,
    progress: Progress | None = None,
) -> Joints:  # fmt: skip
    """Examine every joint of a rocket.

    Parameters
    ----------
    rocket : Rocket
        From :func:`baypulse.case.casefile.rocket_reader.read_rocket`; its bays are computed
        :func:`in_flight`.
    members : int
        Behind each chance.
    seed : int
        The same seed gives the same members.
    workers : int
        Threads; the answer does not depend on them.
    progress : callable, optional
        Told the openings' members that are done, and of all.

    Returns
    -------
    Joints
        Of the openings in order, and of the coast.
    """
    flying = replace(
        rocket,
        bays=tuple(
            replace(bay, case=in_flight(bay.case), plain=in_flight(bay.plain))
            for bay in rocket.bays
        ),
    )
    whole = members * len(rocket.bays)
    openings, warnings, runs = [], [], 0
    for k, bay in enumerate(flying.bays):
        later = flying.bays[k + 1 :]
        opening, spent, doubts = _opening(bay, later, members, seed, workers)
        openings.append(opening)
        warnings += doubts
        runs += spent
        if progress is not None:
            progress(members * (k + 1), whole)
    density, deceleration, drags = coast_drags(flying, members, seed)
    return Joints(
        rocket, tuple(openings), density, deceleration, drags, members, seed, runs,
        tuple(warnings),
    )  # fmt: skip


def in_flight(case: Case) -> Case:
    """Return a case with both sections free in the air, as they are when a rocket's bay fires.

    Stand and ground of a ground test are left out with all of its setting, and its attitude too:
    gravity pulls at both sections alike and drops out of how they part. The air stays that of the
    case, since nothing else says how high the bay fires.

    Parameters
    ----------
    case : Case
        Of a ground test or a shot in flight.
    """
    kept = {path: s for path, s in case.spreads.items() if not path.startswith("setting.")}
    return replace(case, setting=Setting(kind="flight"), spreads=kept)


def _opening(
    bay: RocketBay, later: tuple[RocketBay, ...], members: int, seed: int, workers: int
) -> tuple[BayOpening, int, list[str]]:
    """Run one bay, and follow what its cord does to the joints that fire later."""
    result = simulate(bay.case)
    load = load_of(result.time, result.cord_force)
    jerks: list[Jerk] = []
    warnings: list[str] = []
    runs = 1
    if not result.good:
        warnings.append(f"{bay.name}: {result.message}")
    if load.peak > 0.0:
        filled = {joint.name: joint for joint in bay.case.other_joints}
        for other in later:
            jerk, spent = _jerk(bay, other, filled[other.name], load, members, seed, workers)
            jerks.append(jerk)
            runs += spent
    elif later:
        warnings.append(f"{bay.name}: {_no_pull(result)}, so it jerks at no other joint")
    opening = BayOpening(
        bay.name, bay.case, result.verdict, _own_verdict(bay, result), result.contents,
        load.times, load.forces, load.peak, tuple(jerks),
    )  # fmt: skip
    return opening, runs, warnings


def _own_verdict(bay: RocketBay, result: Result) -> Verdict:
    """Return the verdict of a bay by itself: other joints are told one by one."""
    own = {check.name for check in limit_checks(bay.plain, result.numbers)}
    exceeded = any(not check.met and check.name in own for check in result.limit_checks)
    if result.verdict is Verdict.SEPARATES_TOO_HARD and not exceeded:
        return Verdict.SEPARATES
    return result.verdict


def _no_pull(result: Result) -> str:
    if result.case.cord is None:
        return "this case has no cord"
    return f"in its run this bay {result.verdict} and its cord does not pull"


def _jerk(
    bay: RocketBay, other: RocketBay, filled: OtherJoint, load: LoadCurve, members: int, seed: int,
    workers: int,
) -> tuple[Jerk, int]:  # fmt: skip
    """Follow one joint under the load of one opening."""
    section = filled.mass / geometry.felt_share(bay.case, filled)
    joint = closed_joint(other.plain, filled.mass, section)
    go = least_factor(joint, load, lets_go)
    # most joints whose pins are gone come out at once
    out = go if go and part(joint, load, go).parted else least_factor(joint, load, comes_out)
    felt = joint.share * load.peak
    dynamic = joint.hold / (go * felt) if go else 0.0
    found = _scattered(bay, other, filled, members, seed, workers)
    chances = tuple(
        chance(name, int(np.count_nonzero(found.felt * factor > found.hold)), members)
        for name, factor in (
            ("if the load came on slowly", 1.0),
            ("by the motion under the load", dynamic),
            ("with the assumed factor", filled.sudden),
        )
    )
    checked, agreed = _check(bay, other, filled, found, dynamic)
    tried: list[JerkChange] = []
    spent = 0
    for words, opening, held, aside in changes(bay.plain, other.plain, joint, load.peak):
        tried.append(_changed(words, opening, held, filled, aside))
        spent += 1
    jerk = Jerk(
        joint=other.name, side=filled.side, beyond=joint.beyond, section=section, felt=felt,
        sudden=filled.sudden, friction=joint.friction + joint.seal,
        pins=float(joint.strength.sum()), pin_count=joint.strength.size,
        parting=part(joint, load), lets_go=go, comes_out=out, chances=chances, checked=checked,
        agreed=agreed,
        changes=tuple(sorted(tried, key=lambda each: -(each.factor or math.inf))),
    )  # fmt: skip
    return jerk, members + checked + spent


class _Scattered(NamedTuple):
    """Members of an opening beside members of the joint that it jerks at.

    Attributes
    ----------
    felt, hold : ndarray, shape (members,)
        Share of the cord's highest load, 0 where it does not pull, and what holds [N].
    points, other_points : ndarray, shape (members, dimensions)
        Of the unit cube, from which the bay that opens is drawn, and that of the other joint.
    """

    felt: Array
    hold: Array
    points: Array
    other_points: Array


def _scattered(
    bay: RocketBay, other: RocketBay, filled: OtherJoint, members: int, seed: int, workers: int
) -> _Scattered:
    """Run members of the opening and draw the joint from its own bay's spreads.

    Both are drawn from one cube, so that neither repeats the other: bays that take their pins from
    one bag, or fly on one damp day, are more alike than this.
    """
    case, later = bay.plain, other.plain
    ours, theirs = factors(case), factors(later)
    split = dimensions(ours)
    points = draws.many_points(seed, members, split + dimensions(theirs))
    hold = _holds(later, theirs, points[:, split:])
    outcomes = run_values(case, points[:, :split], lambda u: draws.values(case, ours, u), workers)

    def felt(u: Array) -> Array:
        drawn = draws.member_case(case, draws.values(case, ours, u))
        return np.broadcast_to(geometry.felt_share(drawn, filled), u.shape[:1])

    share = _by_parts(felt, points[:, :split])
    load = np.nan_to_num(share * outcomes.column("cord_load"))
    return _Scattered(load, hold, points[:, :split], points[:, split:])


def _holds(case: Case, drawn: Sequence[Factor], points: Array) -> Array:
    """Return what holds each member's joint shut [N]."""
    return _by_parts(lambda u: holds(case, draws.values(case, drawn, u), u.shape[0]), points)


def _by_parts(told: Callable[[Array], Array], points: Array) -> Array:
    """Return a number of each member, whose values are drawn a part at a time to spare memory."""
    parts = np.array_split(points, -(-points.shape[0] // draws.PART))
    return np.concatenate([told(part) for part in parts])


def _check(
    bay: RocketBay, other: RocketBay, filled: OtherJoint, found: _Scattered, dynamic: float
) -> tuple[int, int]:
    """Follow the joints of some members under their own curves.

    Of the members those are taken in which the factor of the nominal curve leaves most doubt.

    Returns
    -------
    checked, agreed : int
        Members followed, and those of which the factor says the same.
    """
    ratio = found.felt * dynamic / found.hold
    pulled = np.flatnonzero(ratio > 0.0)
    order = pulled[np.argsort(np.abs(np.log(ratio[pulled])), kind="stable")]
    # from the closest calls to the clear ones, evenly
    chosen = order[np.unique(np.linspace(0, max(order.size - 1, 0), CHECKED).astype(int))] if (
        order.size
    ) else order  # fmt: skip
    agreed = 0
    values = draws.values(bay.plain, factors(bay.plain), found.points[chosen])
    others = draws.values(other.plain, factors(other.plain), found.other_points[chosen])
    for place, k in enumerate(chosen):
        member = draws.one_member(bay.plain, values, place)
        later = draws.one_member(other.plain, others, place)
        result = simulate(member)
        load = load_of(result.time, result.cord_force)
        section = filled.mass / float(geometry.felt_share(member, filled))
        joint = closed_joint(later, filled.mass, section)
        gone = load.peak > 0.0 and lets_go(part(joint, load))
        agreed += gone == bool(ratio[k] > 1.0)
    return int(chosen.size), agreed


def _changed(
    words: str, opening: Case, joint: ClosedJoint, filled: OtherJoint, aside: str
) -> JerkChange:
    """Run one change."""
    result = simulate(opening)
    load = load_of(result.time, result.cord_force)
    factor = least_factor(joint, load, lets_go) if load.peak > 0.0 else None
    return JerkChange(words, load.peak, joint.hold, factor, result.verdict, result.contents, aside)


def coast_drags(rocket: Rocket, members: int, seed: int) -> tuple[float, float, tuple[Drag, ...]]:
    """Hold the drag of the coast against every joint.

    Parameters
    ----------
    rocket : Rocket
        With a coast, or there is nothing to say.
    members, seed : int
        Behind the chance that a joint parts.

    Returns
    -------
    density, deceleration : float
        Of the air [kg/m^3], and by drag alone [m/s^2]; NaN without a coast.
    drags : tuple of Drag
        From the tip.
    """
    coast = rocket.coast
    if coast is None:
        return math.nan, math.nan, ()
    pressure, temperature = standard_atmosphere(coast.altitude)
    density = pressure / (AIR_GAS_CONSTANT * temperature)
    head = 0.5 * density * coast.speed**2
    found = []
    for bay in rocket.bays:
        case = bay.plain
        assert bay.fore_drag_area is not None
        fore = case.nose.mass
        aft = case.airframe.mass + (0.0 if case.contents is None else case.contents.mass)
        fore_drag = head * bay.fore_drag_area
        aft_drag = head * (coast.drag_area - bay.fore_drag_area)
        force = drag_separation(fore, aft, fore_drag, aft_drag)
        joint = closed_joint(case, fore, fore + aft)
        drawn = factors(case)
        held = _holds(case, drawn, draws.many_points(seed, members, dimensions(drawn)))
        count = int(np.count_nonzero(held < force))
        gives = coast.speed * math.sqrt(joint.hold / force) if force > 0.0 else None
        found.append(
            Drag(
                bay.name, fore, aft, fore_drag, aft_drag, force, joint.friction + joint.seal,
                float(joint.strength.sum()), gives, chance("parts by drag", count, members),
            )
        )  # fmt: skip
    found.sort(key=lambda each: each.fore_mass)
    whole = found[0].fore_mass + found[0].aft_mass
    return density, head * coast.drag_area / whole, tuple(found)
