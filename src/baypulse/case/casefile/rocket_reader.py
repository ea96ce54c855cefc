"""The rocket-file reader: several case files become one rocket, all problems at once."""

from __future__ import annotations

import json
import os
import re
import tomllib
from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from typing import Any

from baypulse.case.casefile import shared_values
from baypulse.case.casefile.findings import Finding, area, mass
from baypulse.case.casefile.joint_retention import hold, hold_deviation
from baypulse.case.casefile.keys import number_at
from baypulse.case.casefile.part_checks import MOST_JOINTS, other_joint_problems
from baypulse.case.casefile.reader import Reader, file_text, parsed, reads, unplaced
from baypulse.case.casefile.shared_values import SharedValues, read_shared
from baypulse.case.casefile.toml_lines import key_lines
from baypulse.case.model import Case, OtherJoint, Provenance, Spread
from baypulse.case.quantities import show
from baypulse.case.rocket import NamedBay, Rocket, RocketBay, RocketFile
from baypulse.errors import CaseError
from baypulse.spelling import near

FEWEST = 2
"""Bays of a rocket, at least: a single one needs no rocket file."""

MOST = MOST_JOINTS + 1
"""Bays of a rocket, at most: the joints of all but the first are the first one's other joints."""

TOTALS_APART = 0.05
"""Share by which the whole rocket's mass may differ between its cases: scales and packing differ,
but above this a section was left out; our choice."""

SAME_MASS = 1e-3
"""Relative difference of masses below which two joints cannot be told apart."""

_NAME = re.compile(r"\w(?:[\w .-]{0,38}[\w-])?")
_BACK_SLASH = ("Unescaped", "Invalid hex")
_SLASH = 'write "/" between folders, on Windows too: case = "../main-98.toml"'


def bay_names(path: str | Path) -> list[str]:
    """Return the names of the bays in a rocket file; none of any other, or of an unreadable one.

    Parameters
    ----------
    path : str or pathlib.Path
        A file, which may not exist.
    """
    data = _glance(path)
    rows = data.get("bays")
    if not isinstance(rows, list):
        return []
    names = [row.get("name") if isinstance(row, dict) else None for row in rows]
    good = [name for name in names if isinstance(name, str)]
    return good if len(good) == len(set(good)) == len(names) else []


def is_rocket(path: str | Path) -> bool:
    """Say whether a file has ``bays`` at its top, which only a rocket file has."""
    return "bays" in _glance(path)


def _glance(path: str | Path) -> dict[str, Any]:
    try:
        return tomllib.loads(file_text(path).removeprefix("\ufeff"))
    except (CaseError, ValueError, RecursionError):
        return {}


def read_rocket(path: str | Path) -> Rocket:
    """Read a rocket file and the case files that it names.

    Parameters
    ----------
    path : str or pathlib.Path
        The file; its name without the suffix becomes the name of the rocket.

    Returns
    -------
    Rocket
        The bays in the order in which they fire; each case is called by the rocket and the bay,
        and has the joints of the bays that fire later in its ``other_joints``.

    Raises
    ------
    CaseError
        With every problem found in the file and in the cases that it names, each with its line.
    """
    place, file = Path(path), str(path)
    text = file_text(path).removeprefix("\ufeff")
    # lines are looked up in a text that is known to be TOML
    data = _parsed(text, file)
    reader = Reader(file, key_lines(text), RocketFile, apart=(shared_values.TABLE,))
    if "bays" not in data and {"bay", "joint"} & set(data):
        only = "this is the case of one bay; a rocket file names several: [[bays]] with a name "
        raise unplaced(file, f"{only}and a case file each")
    values = reader.values(data)
    shared = read_shared(reader, data.get(shared_values.TABLE, {}))
    reader.refuse_all(
        (key, "nothing of a rocket file scatters; give the value alone") for key in reader.spreads
    )
    reader.stop_at_problems()
    given = RocketFile(**values)
    reader.refuse_all((*bay_findings(given), *_coast(given)))
    cases = [
        _case(reader, f"bays[{k}].case", place, bay, shared) for k, bay in enumerate(given.bays)
    ]
    reader.problems = list(dict.fromkeys(reader.problems))  # what is shared is read with each case
    read_ones = [case for case in cases if case is not None]
    reader.stop_at_problems()
    reader.refuse_all((*_masses(given, read_ones), *_areas(given, read_ones)))
    reader.stop_at_problems()
    bays = [
        RocketBay(
            name=bay.name,
            case=_with_joints(place, given, read_ones, k),
            plain=read_ones[k],
            fore_drag_area=bay.fore_drag_area,
        )
        for k, bay in enumerate(given.bays)
    ]
    for k, each in enumerate(bays):
        reader.refuse_all((f"bays[{k}]", said) for _, said in other_joint_problems(each.case))
    reader.stop_at_problems()
    return Rocket(
        name=place.stem, title=given.title, note=given.note, bays=tuple(bays), coast=given.coast,
        source_text=text,
    )  # fmt: skip


def _parsed(text: str, file: str) -> dict[str, Any]:
    """Read the TOML; a back-slash between folders is the slip to expect here."""
    try:
        return parsed(text, file)
    except CaseError as error:
        problems = [
            replace(p, text=f"a back-slash in quotes is no folder; {_SLASH}")
            if any(word in p.text for word in _BACK_SLASH) else p
            for p in error.problems
        ]  # fmt: skip
        raise CaseError(file, problems) from None


def bay_findings(given: RocketFile) -> Iterator[Finding]:
    """Check how many bays there are, and what they are called.

    Parameters
    ----------
    given : RocketFile
        As it was read, or as it will be written.
    """
    if not FEWEST <= len(given.bays) <= MOST:
        yield (
            f"bays[{min(len(given.bays) - 1, MOST)}]",
            f"{len(given.bays)} bay{'s' * (len(given.bays) != 1)} given, allowed {FEWEST} to "
            f"{MOST}; a single bay needs no rocket file: run its case",
        )
    met: set[str] = set()
    for k, bay in enumerate(given.bays):
        if not _NAME.fullmatch(bay.name):
            yield (
                f"bays[{k}].name",
                f'"{bay.name[:60]}" cannot be part of a folder\'s name; use up to 40 letters, '
                "digits, spaces, - and _",
            )
        if bay.name.casefold() in met:
            yield f"bays[{k}].name", f'the bay "{bay.name}" is named twice; give each its own name'
        met.add(bay.name.casefold())


def _coast(given: RocketFile) -> Iterator[Finding]:
    """Check that drag areas are given where they are needed, and only there."""
    for k, bay in enumerate(given.bays):
        key, ahead = f"bays[{k}].fore_drag_area", bay.fore_drag_area
        if given.coast is None and ahead is not None:
            yield key, "drag areas are for the coast: add [coast] with speed, altitude, drag_area"
        elif given.coast is not None and ahead is None:
            yield key, 'missing: [coast] needs the Cd A ahead of each joint, such as "12 cm^2"'
        elif given.coast is not None and ahead is not None and ahead > given.coast.drag_area:
            yield (
                key,
                f"{area(ahead)} ahead of this joint is more than the whole rocket's "
                f"{area(given.coast.drag_area)}",
            )


def _case(
    reader: Reader, key: str, place: Path, bay: NamedBay, shared: SharedValues
) -> Case | None:
    """Read one case file; its problems become the rocket's, under its own name."""
    name = bay.case
    if not name.strip() or not name.isprintable() or "\\" in name:
        reader.refuse(key, f'"{name[:60]}" is no file; {_SLASH}')
        return None
    if name.startswith("/") or re.match(r"[A-Za-z]:", name):
        reader.refuse(
            key,
            f'"{name[:60]}" is a place on one machine; give the path from the folder of this file, '
            'such as "../main-98.toml"',
        )
        return None
    file = os.path.normpath(place.parent / name)
    if is_rocket(file):
        reader.refuse(key, f'"{name}" is a rocket file itself; name the case file of one bay')
        return None
    if not os.path.isfile(file):  # noqa: PTH113 (a name that no system takes is no error here)
        reader.refuse(key, f'there is no case file "{name}"{_near_file(place.parent, name)}')
        return None
    try:
        return reads(file_text(file), Path(file).stem, file, shared)
    except CaseError as error:
        reader.problems += [replace(p, file=p.file or file) for p in error.problems]
        return None


def _near_file(folder: Path, name: str) -> str:
    """Return a hint at a file that may have been meant."""
    home = folder / Path(name).parent
    try:
        files = sorted(each.name for each in home.iterdir() if each.suffix == ".toml")
    except OSError:
        return f"; there is no folder {os.path.normpath(home)}"
    close = near(Path(name).name, files)
    if close:
        return f'; did you mean "{(Path(name).parent / close).as_posix()}"?'
    return f" in {os.path.normpath(home)}"


def _masses(given: RocketFile, cases: list[Case]) -> Iterator[Finding]:
    """Check that the cases agree on the rocket, so that it is known where each joint lies."""
    places = [os.path.normcase(bay.case) for bay in given.bays]
    for k in range(len(cases)):
        for j in range(k):
            one, two = given.bays[j].name, given.bays[k].name
            key = f"bays[{k}].case"
            fore = cases[j].nose.mass, cases[k].nose.mass
            whole = _whole(cases[j]), _whole(cases[k])
            if os.path.normpath(places[j]) == os.path.normpath(places[k]):
                yield key, f'"{given.bays[k].case}" is the case of {one} already; name another'
            elif abs(fore[0] - fore[1]) <= SAME_MASS * max(fore):
                yield (
                    key,
                    f"{one} and {two} have the same mass ahead of their joints, {mass(fore[1])}, "
                    "so neither lies ahead of the other; weigh what is ahead of each: [nose] mass",
                )
            elif abs(whole[0] - whole[1]) > TOTALS_APART * max(whole):
                yield (
                    key,
                    f"the whole rocket weighs {mass(whole[0])} by the case of {one} and "
                    f"{mass(whole[1])} by that of {two} (nose, airframe and contents together); "
                    "each case counts all of the rocket, ahead of its joint or behind it",
                )
            else:
                yield from _behind(given, cases, j, k)


def _behind(
    given: RocketFile, cases: list[Case], j: int, k: int
) -> Iterator[Finding]:  # fmt: skip
    """Check that what lies behind the later joint fits behind the earlier one."""
    side, beyond = _place(cases[j], cases[k])
    if side == "airframe" and beyond >= cases[j].airframe.mass:
        yield (
            f"bays[{k}].case",
            f"{mass(beyond)} lies behind the joint of {given.bays[k].name}, but the whole section "
            f"behind the joint of {given.bays[j].name} weighs {mass(cases[j].airframe.mass)} "
            "without its packed contents; weigh both again",
        )


def _areas(given: RocketFile, cases: list[Case]) -> Iterator[Finding]:
    """Check that a joint with more mass ahead of it has more drag area ahead of it."""
    if given.coast is None:
        return
    order = sorted(range(len(cases)), key=lambda k: cases[k].nose.mass)
    for one, two in pairwise(order):
        fore, more = given.bays[one].fore_drag_area, given.bays[two].fore_drag_area
        if fore is not None and more is not None and fore > more:
            yield (
                f"bays[{two}].fore_drag_area",
                f"{area(more)} ahead of {given.bays[two].name} is less than the {area(fore)} ahead "
                f"of {given.bays[one].name}, which lies nearer the tip",
            )


def _whole(case: Case) -> float:
    return case.nose.mass + case.airframe.mass + _contents(case)


def _contents(case: Case) -> float:
    return 0.0 if case.contents is None else case.contents.mass


def _place(case: Case, later: Case) -> tuple[str, float]:
    """Return on which side of a case's joint a later one lies, and the mass beyond it [kg].

    Less mass ahead means nearer the tip. The packed contents of the later bay lie in its tube,
    behind its joint.
    """
    if later.nose.mass < case.nose.mass:
        return "nose", later.nose.mass
    return "airframe", later.airframe.mass + _contents(later)


def _with_joints(place: Path, given: RocketFile, cases: list[Case], k: int) -> Case:
    """Return a case with the joints of all bays that fire later."""
    case = replace(cases[k], name=f"{place.stem}-{given.bays[k].name}")
    spec = number_at("other_joints[0].hold")
    joints, lines = list(case.other_joints), []
    provenance, spreads = dict(case.provenance), dict(case.spreads)
    for bay, later in list(zip(given.bays, cases, strict=True))[k + 1 :]:
        side, beyond = _place(case, later)
        held, deviation = hold(later), hold_deviation(later)
        path = f"other_joints[{len(joints)}]"
        joints.append(OtherJoint(name=bay.name, side=side, mass=beyond, hold=held))
        for key, value in (("name", bay.name), ("side", side), ("mass", show(beyond, "mass")),
                           ("hold", show(held, "force"))):  # fmt: skip
            provenance[f"{path}.{key}"] = Provenance(
                text=value, origin="rocket", source=f"the case of {bay.name}"
            )
        spreads[f"{path}.hold"] = Spread(
            distribution="normal", deviation=deviation, low=spec.low, high=spec.high
        )
        lines += [
            "", f"# from {place.name}", "[[other_joints]]",
            f"name = {json.dumps(bay.name, ensure_ascii=False)}", f'side = "{side}"',
            f'mass = "{beyond!r} kg"',
            f'hold = {{ value = "{held!r} N", spread = "{deviation!r} N" }}',
        ]  # fmt: skip
    # with these lines the text alone makes the same case again
    text = case.source_text.rstrip("\n") + "\n" + "\n".join(lines) + "\n" * bool(lines)
    return replace(
        case, other_joints=tuple(joints), provenance=provenance, spreads=spreads, source_text=text
    )
