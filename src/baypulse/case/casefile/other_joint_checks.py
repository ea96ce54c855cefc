"""Checks of the joints that are still closed when a bay separates."""

from __future__ import annotations

from collections.abc import Iterator

from baypulse.case import quantities
from baypulse.case.model import Case

Finding = tuple[str, str]
"""Path of the key that the line is taken from, and the sentence."""

MOST_JOINTS = 4
"""Other joints of a case: each is a limit, and a kept row of a study has room for eight."""


def problems(case: Case) -> Iterator[Finding]:
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
                f"{_m(joint.mass)} beyond this joint, in a section ({joint.side}) of "
                f"{_m(section)}: the part beyond a joint weighs less than its whole section",
            )
        if joint.name in met:
            yield f"{path}.name", f'two joints are called "{joint.name}"; give each its own name'
        met[joint.name] = index


def _m(mass: float) -> str:
    return quantities.show(mass, "mass")
