"""The sentences of a rocket's joints: the worst of it, what helps, the coast."""

from __future__ import annotations

from baypulse.case.quantities import about, digits, height, often, show
from baypulse.members.chances import Chance
from baypulse.run.result import Parachute
from baypulse.studies.joints.result import BayOpening, Drag, Jerk, JerkChange, Joints

SELDOM = 0.01
"""Chance of separation below which a joint is said to hold."""


def headline(joints: Joints) -> str:
    """Return the worst of it in a few words."""
    pairs = _jerks(joints)
    sure = [
        f"Drag parts the {drag.name} in coast" for drag in joints.drags if drag.force >= drag.hold
    ]
    sure += [
        f"The {jerk.joint} comes out when the {opening.name} opens"
        for opening, jerk in pairs
        if not jerk.parting.held_by_pins
    ]
    if sure:
        more = f"; {len(sure)} such dangers in all" * (len(sure) > 1)
        return sure[0] + more
    if pairs:
        opening, jerk = max(pairs, key=lambda pair: by_motion(pair[1]).share)
        chance = by_motion(jerk)
        if chance.share >= SELDOM:
            return f"The {jerk.joint} may come out when the {opening.name} opens: {often(chance)}"
    for drag in joints.drags:
        if drag.chance.share >= SELDOM:
            return f"Drag may part the {drag.name} in coast"
    for opening, jerk in pairs:
        if _doubtful(jerk):
            return (
                f"The {jerk.joint} holds when the {opening.name} opens, but not "
                f"{digits(jerk.sudden)} times the load"
            )
    return (
        "No joint separates before its turn" if pairs or joints.drags else "No joint is pulled at"
    )


def _jerks(joints: Joints) -> list[tuple[BayOpening, Jerk]]:
    return [(opening, jerk) for opening in joints.openings for jerk in opening.jerks]


def _doubtful(jerk: Jerk) -> bool:
    """Say whether the joint would not hold the load as suddenly as it may come."""
    return jerk.sudden * jerk.felt >= jerk.hold


def by_motion(jerk: Jerk) -> Chance:
    """Return the chance that a joint lets go by its motion under the load."""
    return jerk.chances[1]


def meaning(joints: Joints) -> list[str]:
    """Return the sentences behind the headline: the joint in most danger, and the coast."""
    found = []
    pairs = _jerks(joints)
    if pairs:
        opening, jerk = max(pairs, key=lambda pair: pair[1].felt / pair[1].hold)
        found.append(
            f"When the {opening.name} opens, the {jerk.joint} feels {_f(jerk.felt)} of the cord's "
            f"{_f(opening.cord_load)} and holds {_f(jerk.hold)}: it would let go at "
            f"{times(jerk.lets_go)} this load, and with all that scatters it lets go "
            f"{often(by_motion(jerk))}."
        )
    worst = min(joints.drags, key=lambda each: each.hold / max(each.force, 1e-9), default=None)
    if worst is not None:
        found.append(
            f"In coast drag pulls the {worst.name} open with {_f(worst.force)}; it holds "
            f"{_f(worst.hold)}."
            if worst.force > 0.0
            else "In coast drag presses every joint together."
        )
    return [
        *found,
        "Computed in flight, whatever [setting] says: both sections of a bay are free, without "
        "stand and ground. Each bay separates in the air that its case types.",
    ]


def next_steps(joints: Joints) -> list[str]:
    """Return what helps each joint in danger most, and the test that tells more than all this."""
    pairs = _jerks(joints)
    found = [
        f"Of the changes tried this helps the {jerk.joint} most: {jerk.changes[0].words}. It then "
        f"lets go at {times(jerk.changes[0].factor)} the load."
        for _, jerk in pairs
        if jerk.changes and _doubtful(jerk)
    ]
    if pairs:
        opening, jerk = pairs[0]
        found.append(
            f"Ground-test the {opening.name} with the joint of the {jerk.joint} closed and pinned "
            "as in flight."
        )
    return found


def kept_air(joints: Joints) -> list[str]:
    """Return of which bays the air is that of a ground test."""
    return [
        f"The case of the {bay.name} is a ground test at {height(bay.plain.surroundings.altitude)},"
        " and its air was kept: where that bay fires higher up, type that altitude in its "
        "[surroundings]."
        for bay in joints.rocket.bays
        if bay.plain.setting.kind != "flight"
    ]


def motion(jerk: Jerk) -> str:
    """Return how a joint moves under the load's own curve."""
    moves = jerk.parting
    if not moves.times.size:
        return "it does not move"
    moved = show(moves.greatest_travel, "length")
    if moves.parted:
        return "it comes out of its tube"
    if jerk.pin_count and not moves.held_by_pins:
        return f"its pins shear, and friction stops it after {moved}"
    if moves.pins_failed:
        failed = _pins(moves.pins_failed)
        return f"{failed} of {jerk.pin_count} exceed their strength, and it stops after {moved}"
    return f"it moves {moved} and holds"


def jerk_sentences(opening: BayOpening, jerk: Jerk) -> list[str]:
    """Return what there is to say of one jerk.

    Parameters
    ----------
    opening, jerk
        The opening, and one of its jerks.
    """
    pins = (
        f"{_f(jerk.friction)} by friction and {_f(jerk.pins)} by {_pins(jerk.pin_count)}"
        if jerk.pin_count else "by friction alone"
    )  # fmt: skip
    return [
        f"The cord's highest load is {_f(opening.cord_load)}. The {jerk.joint} lies in the section "
        f"on the {jerk.side} side: {show(jerk.beyond, 'mass')} of its {show(jerk.section, 'mass')} "
        f"hang on that joint, so it feels {about(jerk.share)} of the load, {_f(jerk.felt)}.",
        f"It holds {_f(jerk.hold)}: {pins}. Followed under the load's own curve, {motion(jerk)}.",
        _factor(jerk),
    ]


def _factor(jerk: Jerk) -> str:
    dynamic = jerk.dynamic_factor
    if dynamic is None:
        return "No multiple of this load that was tried parts it."
    out = ""
    if jerk.comes_out is not None and jerk.lets_go and jerk.comes_out > 1.01 * jerk.lets_go:
        out = f" (and comes out of its tube at {times(jerk.comes_out)})"
    return (
        f"It lets go at {times(jerk.lets_go)} this load{out}: the jerk works "
        f"{digits(dynamic)} times as hard as its peak put on slowly."
    )


def verdict(change: JerkChange) -> str:
    """Return what the bay that separates does with a change."""
    stays = change.contents is Parachute.STAYS_IN and change.verdict.separated
    return f"{change.verdict}, but the parachute stays in" if stays else str(change.verdict)


def coast_sentences(joints: Joints) -> list[str]:
    """Return what there is to say of the coast; nothing without one."""
    coast = joints.rocket.coast
    if coast is None:
        return []
    found = [
        f"At {show(coast.speed, 'velocity')} and {height(coast.altitude)} the air weighs "
        f"{show(joints.density, 'density')} and drag slows the rocket by "
        f"{show(joints.deceleration, 'acceleration')}. A part that drag slows less than the rest "
        "pulls at the joint between. The speeds at which a joint gives hold if the drag areas do.",
    ]
    for each in joints.drags:
        if each.force > 0.0 and each.chance.count:
            found.append(f"The {each.name} parts in coast {often(each.chance)}.")
    return found


def nothing_jerked(joints: Joints, opening: BayOpening) -> str:
    """Return why an opening jerks at no joint."""
    if opening.name == joints.rocket.bays[-1].name:
        return "It fires last, and no joint is left that its jerk could part."
    return "Its cord does not pull, so it jerks at no joint."


def pull(drag: Drag) -> str:
    """Return with what drag pulls a joint open."""
    return _f(drag.force) if drag.force > 0.0 else f"pressed together by {_f(-drag.force)}"


def times(factor: float | None) -> str:
    """Return a multiple of a load."""
    return "no multiple of" if factor is None else f"{digits(factor)} times"


def _pins(number: int) -> str:
    return f"{number} pin{'s' * (number != 1)}"


def _f(value: float) -> str:
    return show(value, "force")
