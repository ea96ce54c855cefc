"""What a study of a rocket's joints says, in words: sentences, rows, the text of the terminal."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

from baypulse.case.quantities import capital, digits, interval, percent, show
from baypulse.caution import CAUTION
from baypulse.constants import STANDARD_GRAVITY
from baypulse.members.chances import Chance
from baypulse.run.result import Parachute
from baypulse.show.text import WIDE, charge, wrapped
from baypulse.studies.joints.result import BayOpening, Drag, Jerk, JerkChange, Joints

SELDOM = 0.01
"""Chance of parting below which a joint is said to hold."""

LIMITS_OF_THE_STUDY = (
    "The cord's load is that of the model: one line, two bodies, no wave on the cord, no parachute "
    "that fills. The joint is taken as straight; one that is bent by a section swinging round on "
    "the cord gives earlier, and so do pins cracked by an earlier test. The packed contents are "
    "not counted in the section that the cord slows, and the vacuum behind a shoulder that moves "
    "out is left out: both on the safe side. Air trapped in a bay that is vented too little pushes "
    "at its joint as the air outside thins, which is not counted. Drag areas are taken as "
    "constant. The bays are drawn independently: pins of one bag are more alike than that. A "
    "ground test of the first bay with the other joint pinned as in flight tells more than all of "
    "this."
)
"""Printed in every report of joints."""


def headline(joints: Joints) -> str:
    """Return the worst of it in a few words."""
    pairs = [(opening, jerk) for opening in joints.openings for jerk in opening.jerks]
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
            return (
                f"The {jerk.joint} may come out when the {opening.name} opens: "
                f"in {percent(chance.share)} % of {chance.members:,} shots"
            )
    for drag in joints.drags:
        if drag.chance.share >= SELDOM:
            return f"Drag may part the {drag.name} in coast"
    for opening, jerk in pairs:
        if jerk.sudden * jerk.felt >= jerk.hold:
            return (
                f"The {jerk.joint} holds when the {opening.name} opens, but not "
                f"{digits(jerk.sudden)} times the load"
            )
    return (
        "No joint separates before its turn" if pairs or joints.drags else "No joint is pulled at"
    )


def by_motion(jerk: Jerk) -> Chance:
    """Return the chance that a joint lets go by its motion under the load."""
    return jerk.chances[1]


def meaning(joints: Joints) -> list[str]:
    """Return the sentences behind the headline: which joint is in danger, and what helps most."""
    found = []
    for opening in joints.openings:
        for jerk in opening.jerks:
            found.append(_in_short(opening, jerk))
            if jerk.changes and (jerk.sudden * jerk.felt >= jerk.hold):
                found.append(_best(jerk))
    worst = min(joints.drags, key=lambda each: each.hold / max(each.force, 1e-9), default=None)
    if worst is not None:
        found.append(
            f"In coast drag pulls the {worst.name} open with {_f(worst.force)}; it holds "
            f"{_f(worst.hold)}."
            if worst.force > 0.0
            else "In coast drag presses every joint together."
        )
    return found


def computed(joints: Joints) -> list[str]:
    """Return in which setting and in which air the bays are computed, as sentences."""
    found = [
        "Computed in flight, whatever [setting] says: both sections of a bay are free, without "
        "stand and ground. Each bay separates in the air that its case types."
    ]
    for bay in joints.rocket.bays:
        if bay.plain.setting.kind != "flight":
            altitude = show(bay.plain.surroundings.altitude, "length", ("m", "ft"))
            found.append(
                f"The case of the {bay.name} is a ground test at {altitude}, and its air was "
                "kept: where that bay fires higher up, type that altitude in its [surroundings]."
            )
    return found


def _in_short(opening: BayOpening, jerk: Jerk) -> str:
    lets_go = _times(jerk.lets_go)
    chance = by_motion(jerk)
    return (
        f"When the {opening.name} opens, the {jerk.joint} feels {_f(jerk.felt)} of the cord's "
        f"{_f(opening.cord_load)} and holds {_f(jerk.hold)}: it would let go at {lets_go} this "
        f"load, and with all that scatters it lets go in {_share(chance)}."
    )


def _best(jerk: Jerk) -> str:
    best = jerk.changes[0]
    return (
        f"Of the changes tried this helps the {jerk.joint} most: {best.words}. It then lets go at "
        f"{_times(best.factor)} the load."
    )


def jerk_sentences(opening: BayOpening, jerk: Jerk) -> list[str]:
    """Return what there is to say of one jerk, in full.

    Parameters
    ----------
    opening, jerk
        The opening, and one of its jerks.
    """
    share = f"{100.0 * jerk.share:.0f} %"
    pins = (
        f"{_f(jerk.friction)} by friction and {_f(jerk.pins)} by {_count(jerk.pin_count, 'pin')}"
        if jerk.pin_count else "by friction alone"
    )  # fmt: skip
    found = [
        f"The cord's highest load is {_f(opening.cord_load)}. The {jerk.joint} lies in the "
        f"section on the {jerk.side} side: {_m(jerk.beyond)} of its {_m(jerk.section)} hang on "
        f"that joint, so it feels {share} of the load, {_f(jerk.felt)}.",
        f"It holds {_f(jerk.hold)}: {pins}. Put on slowly, the load is "
        f"{digits(jerk.felt / jerk.hold)} of that; with the factor "
        f"{digits(jerk.sudden)} assumed for a sudden load it is "
        f"{digits(jerk.sudden * jerk.felt / jerk.hold)} times that.",
        f"Followed under the load's own curve, {_motion(jerk)}. {_factor(jerk)}",
        f"With all that scatters, the {jerk.joint} lets go in {_share(jerk.chances[1])} by that "
        f"motion; in {_share(jerk.chances[0])} {jerk.chances[0].name}, and in "
        f"{_share(jerk.chances[2])} {jerk.chances[2].name}.",
    ]
    if jerk.checked:
        found.append(
            f"Of {jerk.checked} shots followed under their own curves, from the closest calls to "
            f"the clearest, {jerk.agreed} came out as the factor of this one curve says."
        )
    return found


def _motion(jerk: Jerk) -> str:
    motion = jerk.parting
    if not motion.times.size:
        return "it does not move"
    moved = show(motion.greatest_travel, "length")
    if motion.parted:
        return "it comes out of its tube"
    if jerk.pin_count and not motion.held_by_pins:
        return f"its pins shear, and friction stops it after {moved}"
    if motion.pins_failed:
        failed = _count(motion.pins_failed, "pin")
        return f"{failed} of {jerk.pin_count} exceed their strength, and it stops after {moved}"
    return f"it moves {moved} and holds"


def _factor(jerk: Jerk) -> str:
    dynamic = jerk.dynamic_factor
    if dynamic is None:
        return "No multiple of this load that was tried parts it."
    out = ""
    if jerk.comes_out is not None and jerk.lets_go and jerk.comes_out > 1.01 * jerk.lets_go:
        out = f" (and comes out of its tube at {_times(jerk.comes_out)})"
    return (
        f"It lets go at {_times(jerk.lets_go)} this load{out}: the jerk works "
        f"{digits(dynamic)} times as hard as its peak put on slowly."
    )


CHANGE_HEAD = (
    "Change", "Cord's load", "The joint holds", "Lets go at", "The bay that separates", "Elsewhere",
)  # fmt: skip
"""Heads of the table of changes."""


def change_rows(opening: BayOpening, jerk: Jerk) -> list[tuple[str, ...]]:
    """Return a row of text for each change, after one for the bay as it is."""
    return [
        (
            each.words, _f(each.cord_load), _f(each.hold), f"{_times(each.factor)} the load",
            _verdict(each), each.aside,
        )
        for each in (_present(opening, jerk), *jerk.changes)
    ]  # fmt: skip


def _present(opening: BayOpening, jerk: Jerk) -> JerkChange:
    """Return the bay as it is, beside which the changes are told."""
    return JerkChange(
        "as it is", opening.cord_load, jerk.hold, jerk.lets_go, opening.own_verdict,
        opening.contents,
    )  # fmt: skip


def _change_line(change: JerkChange) -> str:
    """Return what a change does, in a line."""
    aside = f"; {change.aside}" if change.aside else ""
    return (
        f"{change.words}: cord {_f(change.cord_load)}, joint {_f(change.hold)}, lets go at "
        f"{_times(change.factor)} the load; {_verdict(change)}{aside}"
    )


def _verdict(change: JerkChange) -> str:
    stays = change.contents is Parachute.STAYS_IN and change.verdict.separated
    return f"{change.verdict}, but the parachute stays in" if stays else change.verdict


DRAG_HEAD = ("Joint", "Drag ahead / behind", "Pulls it with", "It holds", "Margin", "Gives at")
"""Heads of the table of the coast."""


def drag_rows(joints: Joints) -> list[tuple[str, ...]]:
    """Return a row of text for each joint in coast."""
    return [
        (
            each.name, f"{_f(each.fore_drag)} / {_f(each.aft_drag)}",
            _f(each.force) if each.force > 0.0 else f"pressed together by {_f(-each.force)}",
            _f(each.hold), _margin(each),
            "at no speed" if each.gives_at is None else show(each.gives_at, "velocity"),
        )
        for each in joints.drags
    ]  # fmt: skip


def coast_sentences(joints: Joints) -> list[str]:
    """Return what there is to say of the coast; nothing without one."""
    coast = joints.rocket.coast
    if coast is None:
        return []
    speed = show(coast.speed, "velocity")
    altitude = show(coast.altitude, "length", ("m", "ft"))
    found = [
        f"At {speed} and {altitude} the air weighs {digits(joints.density)} kg/m^3 and drag "
        f"slows the rocket by {digits(joints.deceleration / STANDARD_GRAVITY)} g. A part "
        "that drag slows less than the rest pulls at the joint between.",
    ]
    for each in joints.drags:
        if each.force > 0.0 and each.chance.count:
            found.append(
                f"The {each.name} parts in coast in {_share(each.chance)} of what holds it."
            )
    return found


def summary(joints: Joints) -> str:
    """Return the text for the terminal.

    Parameters
    ----------
    joints : Joints
        Findings.

    Returns
    -------
    str
        Headline, every jerk with what would help, the coast, the caution.
    """
    lines = wrapped(f"{joints.name}: {' '.join(joints.rocket.title.split())}", "", "  ")
    lines += ["", *wrapped(headline(joints).upper(), "  ", "  ")]
    for sentence in (*meaning(joints), *computed(joints)):
        lines += wrapped(sentence, "  ", "  ")
    for opening in joints.openings:
        lines += ["", f"  {capital(opening.name)} opens: {charge(opening.case)}"]
        if not opening.jerks:
            lines += wrapped(nothing_jerked(joints, opening), "    ", "    ")
        for jerk in opening.jerks:
            for sentence in jerk_sentences(opening, jerk):
                lines += wrapped(sentence, "    ", "      ")
            lines += ["    What would help, each by a run in which nothing scatters"]
            for change in (_present(opening, jerk), *jerk.changes):
                lines += wrapped(_change_line(change), "      ", "        ")
    if joints.drags:
        lines += ["", "  Coast"]
        for sentence in coast_sentences(joints):
            lines += wrapped(sentence, "    ", "      ")
        for drag in joints.drags:
            lines += wrapped(_drag_line(drag), "      ", "        ")
    lines += ["", "  Warnings"] * bool(joints.warnings)
    for text in joints.warnings:
        lines += wrapped(text, "    ", "      ")
    lines += ["", *textwrap.wrap(CAUTION, WIDE)]
    return "\n".join(lines) + "\n"


def nothing_jerked(joints: Joints, opening: BayOpening) -> str:
    """Return why an opening jerks at no joint."""
    if opening.name == joints.rocket.bays[-1].name:
        return "It fires last, and no joint is left that its jerk could part."
    return "Its cord does not pull, so it jerks at no joint."


def _drag_line(drag: Drag) -> str:
    """Return what drag does to a joint, in a line."""
    if drag.force <= 0.0 or drag.gives_at is None:
        return f"{drag.name}: pressed together by {_f(-drag.force)}"
    gives = show(drag.gives_at, "velocity")
    return (
        f"{drag.name}: pulled with {_f(drag.force)}, {_margin(drag)}; it would give at {gives}, "
        "if the drag areas held"
    )


def compare(found: Sequence[Joints]) -> str:
    """Return a table that compares several rockets, for the terminal.

    Parameters
    ----------
    found : sequence of Joints
        Findings of each.
    """
    lines = ["Rockets compared", ""]
    for joints in found:
        lines += wrapped(f"{joints.name}: {headline(joints)}", "  ", "    ")
        for opening in joints.openings:
            for jerk in opening.jerks:
                text = (
                    f"the {opening.name} opens: the {jerk.joint} lets go at "
                    f"{_times(jerk.lets_go)} the load, in {_share(by_motion(jerk))}"
                )
                lines += wrapped(text, "    ", "      ")
        for drag in joints.drags:
            lines += wrapped(f"coast: the {drag.name} {_margin(drag)}", "    ", "      ")
    return "\n".join(lines) + "\n"


def _margin(drag: Drag) -> str:
    if drag.force <= 0.0:
        return "not pulled at"
    return f"holds {digits(drag.hold / drag.force)} times the pull"


def _share(chance: Chance) -> str:
    ends = interval(chance.share, chance.low, chance.high)
    return f"{percent(chance.share)} % of {chance.members:,} shots ({ends})"


def _times(factor: float | None) -> str:
    return "no multiple of" if factor is None else f"{digits(factor)} times"


def _count(number: int, what: str) -> str:
    return f"{number} {what}{'s' * (number != 1)}"


def _f(value: float) -> str:
    return show(value, "force")


def _m(value: float) -> str:
    return show(value, "mass", ("kg", "lb"))
