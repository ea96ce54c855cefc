"""Fitted values put into the text of a case file, all else in it left as it stands."""

from __future__ import annotations

import re
import warnings
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from baypulse.case.casefile.keys import LIBRARY, place_of
from baypulse.case.casefile.reader import reads
from baypulse.case.casefile.toml_lines import key_lines
from baypulse.case.model import Case
from baypulse.errors import CaseError, ModelError, RangeWarning

_VALUE = r"""("[^"\\]*"|'[^']*'|\{[^{}#]*\}|[0-9][^#\s]*)"""

_GIVES_WAY = {"joint.pull_off": "joint.fit"}
"""Keys that a case cannot have beside the fitted one."""


@dataclass(frozen=True)
class Entry:
    """A value as a case file says it.

    Attributes
    ----------
    path : str
        Such as ``"bay.mixing_time"`` or ``"openings[0].diameter"``.
    value : str
        As TOML, such as ``{ value = "23 ms", spread = "18 %" }``.
    """

    path: str
    value: str


def with_values(
    text: str, entries: Sequence[Entry], remarks: Sequence[str], name: str, file: str
) -> tuple[str, Case]:
    """Return the text of a case file with values replaced or added.

    The old value stays as a comment.

    Parameters
    ----------
    text : str
        Of a good case file.
    entries : sequence of Entry
        The new values.
    remarks : sequence of str
        Where they come from, comment lines for the head of the file.
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
    with warnings.catch_warnings():
        # what is doubtful in the case was told when it was read
        warnings.simplefilter("ignore", RangeWarning)
        old = reads(text, name, file)
        end = "\r\n" if "\r\n" in text else "\n"
        lines = text.split(end)
        places = key_lines(text)
        added: list[tuple[int, str]] = []
        for entry in entries:
            _leave_out(lines, places, _GIVES_WAY.get(entry.path), file)
            if entry.path in places:
                _replaced(lines, places[entry.path] - 1, entry, file)
            else:
                added.append(_place_below_header(lines, places, entry, file))
        # from the end, so that the lines before keep their numbers
        for after, line in sorted(added, key=lambda one: -one[0]):
            lines.insert(after, line)
        new = end.join([*(f"# {remark}" for remark in remarks), *lines])
        try:
            case = reads(new, name, file)
        except CaseError as error:
            raise ModelError(
                f"{file} is not written: with the fitted values it cannot be read "
                f"({error.problems[0].text}); {_by_hand(entries)}"
            ) from None
        if _rest(case, entries) != _rest(old, entries):
            raise ModelError(
                f"{file} is not written: more than the fitted values would change in it; "
                f"{_by_hand(entries)}"
            )
    return new, case


def _replaced(lines: list[str], number: int, entry: Entry, file: str) -> None:
    """Put a new value in the line of the old one, which stays as a comment."""
    name = entry.path.rpartition(".")[2]
    found = re.fullmatch(
        rf"(\s*(?:[\w\"' -]+\.\s*)?{re.escape(name)}\s*=\s*){_VALUE}\s*(#.*)?", lines[number]
    )
    if found is None:
        raise ModelError(
            f"{file} is not written: {entry.path} on line {number + 1} cannot be replaced safely; "
            f"write it on a line of its own and run this again, or {_by_hand([entry])}"
        )
    lines[number] = f"{found.group(1)}{entry.value}  # fitted; was {found.group(2)}"
    if found.group(3):
        lines[number] += f" {found.group(3)}"


def _place_below_header(
    lines: list[str], places: dict[str, int], entry: Entry, file: str
) -> tuple[int, str]:
    """Return the line, and its place below the header of its table."""
    table, _, name = entry.path.rpartition(".")
    number = places.get(table)
    if number is None or not re.match(r"\s*\[", lines[number - 1]):
        raise ModelError(
            f"{file} is not written: it has no line [{table.partition('[')[0]}] below which "
            f"{name} could stand; {_by_hand([entry])}"
        )
    return number, f"{name} = {entry.value}  # fitted"


def _leave_out(lines: list[str], places: dict[str, int], path: str | None, file: str) -> None:
    """Turn the line of a key that gives way into a comment."""
    if path is None or path not in places:
        return
    number = places[path] - 1
    _, _, name = place_of(path)
    if not re.fullmatch(rf"\s*(?:[\w]+\.\s*)?{name}\s*=\s*{_VALUE}\s*(#.*)?", lines[number]):
        raise ModelError(
            f"{file} is not written: {path} on line {number + 1} gives way to a fitted value and "
            "cannot be left out safely; write it on a line of its own, and run this again"
        )
    lines[number] = f"# {lines[number].strip()}  # gave way to the fitted value"


def _by_hand(entries: Sequence[Entry]) -> str:
    """Return how to do it by hand."""
    return "put in by hand " + "; ".join(f"{entry.path} = {entry.value}" for entry in entries)


def _rest(case: Case, entries: Sequence[Entry]) -> Any:
    """Return a case without what was fitted and without what says how it was typed."""
    paths = {entry.path for entry in entries}
    paths |= {_GIVES_WAY[path] for path in paths if path in _GIVES_WAY}
    kept = {path: spread for path, spread in case.spreads.items() if path not in paths}
    materials = {
        place: value for place, value in case.materials.items() if LIBRARY + place not in paths
    }
    case = replace(case, materials=materials)
    for path in paths:
        if path.startswith(LIBRARY):
            continue
        table, index, name = place_of(path)
        held = getattr(case, table)
        if index is None:
            held = replace(held, **{name: None})
        else:
            held = tuple(
                replace(row, **{name: None}) if k == index else row for k, row in enumerate(held)
            )
        case = replace(case, **{table: held})
    return replace(case, provenance={}, source_text="", spreads=kept)
