"""A measured leak put into the text of a case file, all else in it left as it stands."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import tomlkit

from baypulse.case.casefile.fitted_values import as_remark, edited
from baypulse.case.model import Case
from baypulse.errors import ModelError

_CLEARANCE = "joint.clearance"


@dataclass(frozen=True)
class LeakEntry:
    """The opening that stands for a measured leak, as a case file says it.

    Attributes
    ----------
    name : str
        What the opening is called.
    diameter : str
        Its value as TOML, such as ``{ value = "0.83 mm", spread = "7 %" }``.
    discharge : float
        Discharge coefficient.
    remarks : tuple of str
        Where it comes from, one comment line each.
    """

    name: str
    diameter: str
    discharge: float
    remarks: Sequence[str]


def with_entry(text: str, entry: LeakEntry, name: str, file: str) -> tuple[str, Case]:
    """Return the text of a case file with a leak added and the shoulder's clearance left out.

    Parameters
    ----------
    text : str
        Of a good case file.
    entry : LeakEntry
        The leak.
    name, file : str
        Of the new case, and what messages call its file.

    Returns
    -------
    text : str
        With comments, order and line ends as before.
    case : Case
        What it reads as.

    Raises
    ------
    ModelError
        If the text is written in a way that cannot be changed safely; it says what to do by hand.
    """

    def change(held: Any) -> str:
        remarks = list(entry.remarks)
        joint: Any = held.get("joint", {})
        if "clearance" in joint:
            gap = as_remark(joint.pop("clearance"))
            remarks.append(f"It holds the joint's clearance, which was {gap}")
        lines = [tomlkit.dumps(held).rstrip(), "", *(f"# {remark}" for remark in remarks),
                 "[[openings]]", f'name = "{entry.name}"', f"diameter = {entry.diameter}",
                 f"discharge = {entry.discharge:g}", ""]  # fmt: skip
        return "\n".join(lines)

    unread = (
        "with the leak at its end the case cannot be read ({}); write its openings as "
        "[[openings]] tables, and run this again"
    )
    old, new, case = edited(text, name, file, change, unread)
    expected = replace(old, joint=replace(old.joint, clearance=0.0))
    if _values(replace(case, openings=case.openings[:-1])) != _values(expected):
        raise ModelError(
            f"{file} is not written: with the leak at its end the case would change in more than "
            "that; add the opening by hand"
        )
    return new, case


def _values(case: Case) -> Case:
    """Return a case without what says how it was typed, and without spreads of the two places."""
    place = f"openings[{len(case.openings)}]."
    kept = {
        path: spread
        for path, spread in case.spreads.items()
        if path != _CLEARANCE and not path.startswith(place)
    }
    return replace(case, provenance={}, source_text="", spreads=kept)
