"""Checks of the parts of a case that are rows or tables of their own, each without the others."""

from __future__ import annotations

from collections.abc import Iterator

from baypulse.case import cord_fields
from baypulse.case.casefile.findings import Finding, area, length, mass
from baypulse.case.model import Case, Opening
from baypulse.case.quantities import show
from baypulse.constants import STANDARD_GRAVITY
from baypulse.engine.parameters import MOST_BRAKES

MOST_OPENINGS = 60
"""Openings that the compiled core has room for, beside those it adds itself."""

MOST_JOINTS = 4
"""Other joints of a case: each is a limit, and a kept row of a study has room for eight."""

MOST_ACCELERATION = 300.0 * STANDARD_GRAVITY
"""Thrust over mass that no rocket of this kind reaches [m/s^2]; estimate."""


def opening_problems(case: Case) -> Iterator[Finding]:
    """Check how many openings there are, what they join, and that each is a hole or a slot.

    Parameters
    ----------
    case : Case
        As read.
    """
    if len(case.openings) > MOST_OPENINGS:
        yield (
            f"openings[{MOST_OPENINGS}]",
            f"{len(case.openings)} openings given, at most {MOST_OPENINGS}; write holes of one "
            "size as one opening with a count",
        )
    for index, opening in enumerate(case.openings):
        path = f"openings[{index}]"
        ends = (opening.between, opening.to)
        if opening.between == opening.to:
            yield f"{path}.to", f'this opening leads from "{opening.to}" to itself'
        if "electronics" in ends and case.electronics is None:
            key = "to" if opening.to == "electronics" else "between"
            yield f"{path}.{key}", "there is no [electronics] table with the volume of that bay"
        yield from _size(opening, path)
        if "bay" in ends and opening.hole_diameter > case.bay.bore:
            yield (
                f"{path}.diameter",
                f"a hole of {length(opening.hole_diameter)} in a bay of {length(case.bay.bore)} "
                "bore",
            )


def _size(opening: Opening, path: str) -> Iterator[Finding]:
    """Check that an opening is either a hole or a slot."""
    sizes = {"gap": opening.gap, "width": opening.width, "length": opening.length}
    given = [name for name, size in sizes.items() if size is not None]
    left = [name for name in sizes if name not in given]
    if opening.diameter is not None and given:
        yield (
            f"{path}.{given[0]}",
            f"this opening has a diameter and {_and(given)}; give diameter alone for a hole, or "
            "gap, width and length for a slot",
        )
    elif given and left:
        yield (
            path,
            f"a slot needs gap, width and length; {_and(left)} {_are(left)} missing",
        )
    elif opening.gap is not None and opening.width is not None and opening.gap > opening.width:
        yield (
            f"{path}.gap",
            f"a slot of {length(opening.gap)} across and {length(opening.width)} along its mouth "
            "is none; swap gap and width, or give a hole by its diameter",
        )
    elif not given and opening.diameter is None:
        yield (
            path,
            'say how large it is: diameter, such as "3.2 mm", for a hole, or gap, width and '
            'length, such as "0.1 mm", "240 mm" and "25 mm", for a slot',
        )


def _and(names: list[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def _are(names: list[str]) -> str:
    return "is" if len(names) == 1 else "are"


def brake_problems(case: Case) -> Iterator[Finding]:
    """Find bundles that cannot be in this cord.

    Parameters
    ----------
    case : Case
        A case whose single values are in range.
    """
    if not case.brakes or case.cord is None:
        return
    for index, brake in enumerate(case.brakes):
        if brake.length is not None and brake.length < brake.stroke:
            yield (
                f"brakes[{index}].length",
                f"a stage that holds {length(brake.length)} of cord cannot pull over a stroke of "
                f"{length(brake.stroke)}; give the whole length of cord in the bundle, or leave it "
                "out",
            )
    stages = sum(brake.count for brake in case.brakes)
    if stages > MOST_BRAKES:
        yield "brakes[0]", f"{stages} stages of all bundles together, at most {MOST_BRAKES}"
    yield from _too_long(case)


def _too_long(case: Case) -> Iterator[Finding]:
    """Find bundles that hold more cord than there is where they are tied."""
    assert case.cord is not None
    held = sum(each.count * max(each.length or 0.0, each.stroke) for each in case.brakes)
    taut = float(cord_fields.taut_travel(case))
    first = taut - held
    if held > case.cord.length:
        yield (
            "brakes[0]",
            f"the bundles hold {length(held)} of a cord of {length(case.cord.length)}; give fewer "
            "stages, shorter ones, or a longer cord",
        )
    elif first < cord_fields.earliest_taut(case):
        yield (
            "brakes[0]",
            f"with {length(held)} of it in bundles the cord of {length(case.cord.length)} pulls "
            "before the shoulder is well out; give fewer stages, shorter ones, or a longer cord",
        )
    elif case.contents is not None and first < case.cord.nose_share * taut:
        behind = (1.0 - case.cord.nose_share) * taut
        yield (
            "brakes[0]",
            f"the bundles lie between the packed contents and the airframe, where {length(behind)} "
            f"of cord pays out, and they hold {length(held)}; give fewer stages, shorter ones, a "
            "longer cord, or a smaller nose_share",
        )


def brake_doubts(case: Case) -> Iterator[Finding]:
    """Find bundles that are stronger than what they are to protect.

    Parameters
    ----------
    case : Case
        A case without problems.
    """
    if case.cord is None:
        return
    strength, link = cord_fields.cord_strength(case)
    for index, brake in enumerate(case.brakes):
        if brake.force > strength:
            yield (
                f"brakes[{index}].force",
                f"{show(brake.force, 'force')} is more than the cord's weakest link stands: "
                f"{link}, {show(strength, 'force')}; that breaks before this brake tears",
            )


def other_joint_problems(case: Case) -> Iterator[Finding]:
    """Find joints that cannot be where they are said to be.

    Parameters
    ----------
    case : Case
        A case whose single values are in range.
    """
    if len(case.other_joints) > MOST_JOINTS:
        yield (
            f"other_joints[{MOST_JOINTS}]",
            f"{len(case.other_joints)} joints given, at most {MOST_JOINTS}; leave out the "
            "strongest",
        )
    met: dict[str, int] = {}
    for index, joint in enumerate(case.other_joints):
        path = f"other_joints[{index}]"
        section = case.nose.mass if joint.side == "nose" else case.airframe.mass
        if joint.mass >= section:
            yield (
                f"{path}.mass",
                f"{mass(joint.mass)} beyond this joint, in a section ({joint.side}) of "
                f"{mass(section)}: the part beyond a joint weighs less than its whole section",
            )
        if joint.name in met:
            yield f"{path}.name", f'two joints are called "{joint.name}"; give each its own name'
        met[joint.name] = index


def ascent_problems(case: Case) -> Iterator[Finding]:
    """Find an ascent that cannot be.

    Parameters
    ----------
    case : Case
        A case whose single values are in range.
    """
    ascent = case.ascent
    if ascent is None:
        return
    fore, whole = ascent.fore_drag_area, ascent.drag_area
    if fore is not None and fore > whole:
        yield (
            "ascent.fore_drag_area",
            f"{area(fore)} ahead of the joint is more than the {area(whole)} of the whole rocket",
        )
    mean = ascent.burnout_speed**2 / (2.0 * ascent.burnout_height)
    if mean > MOST_ACCELERATION:
        yield (
            "ascent.burnout_speed",
            f"{show(ascent.burnout_speed, 'velocity')} after "
            f"{show(ascent.burnout_height, 'length', ('m', 'ft'))} takes "
            f"{mean / STANDARD_GRAVITY:.0f} g: check the units of speed and height",
        )
