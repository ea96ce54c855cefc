"""Fitted values put into the text of a case file, all else in it left as it stands."""

from __future__ import annotations

import warnings
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any

import tomlkit
from tomlkit.exceptions import NonExistentKey
from tomlkit.items import InlineTable

from baypulse.case.casefile.keys import LIBRARY, place_of, put_at
from baypulse.case.casefile.reader import reads
from baypulse.case.model import Case
from baypulse.errors import CaseError, ModelError, RangeWarning

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
    by_hand = "put in by hand " + "; ".join(f"{entry.path} = {entry.value}" for entry in entries)

    def change(held: Any) -> str:
        for entry in entries:
            try:
                _put(held, entry)
            except (NonExistentKey, IndexError):
                raise ModelError(
                    f"{file} is not written: it has no table for {entry.path}; put in by hand "
                    f"{entry.path} = {entry.value}"
                ) from None
        return "".join(f"# {remark}\n" for remark in remarks) + tomlkit.dumps(held)

    unread = f"with the fitted values it cannot be read ({{}}); {by_hand}"
    old, new, case = edited(text, name, file, change, unread)
    if _rest(case, entries) != _rest(old, entries):
        raise ModelError(
            f"{file} is not written: more than the fitted values would change in it; {by_hand}"
        )
    return new, case


def edited(
    text: str, name: str, file: str, change: Callable[[Any], str], unread: str
) -> tuple[Case, str, Case]:
    """Change the text of a case file, all else in it left as it stands.

    Parameters
    ----------
    text : str
        Of a good case file.
    name, file : str
        Of the new case, and what messages call its file.
    change : callable
        From the parsed file, which it may change, to the new text.
    unread : str
        What to say where the new text cannot be read, with braces for why.

    Returns
    -------
    old : Case
        What the text reads as before.
    new : str
        The text after it, with the line ends of before.
    case : Case
        What that reads as.
    """
    with warnings.catch_warnings():
        # what is doubtful in the case was told when it was read
        warnings.simplefilter("ignore", RangeWarning)
        old = reads(text, name, file)
        end = "\r\n" if "\r\n" in text else "\n"
        new = change(tomlkit.parse(text.replace(end, "\n"))).replace("\n", end)
        try:
            return old, new, reads(new, name, file)
        except CaseError as error:
            told = unread.replace("{}", error.problems[0].text)
            raise ModelError(f"{file} is not written: {told}") from None


def _put(held: Any, entry: Entry) -> None:
    """Put a value into a file; the old one, and what gives way, stay in a comment."""
    if entry.path.startswith(LIBRARY):
        kind, _, rest = entry.path.removeprefix(LIBRARY).partition(".")
        row, _, name = rest.rpartition(".")
        table = held["library"][kind][row]
    else:
        place, index, name = place_of(entry.path)
        table = held[place] if index is None else held[place][index]
    told = "fitted"
    other = place_of(_GIVES_WAY.get(entry.path, ""))[2]
    for key, how in ((name, "was"), (other, f"{other} gave way:")):
        if key in table:
            told += f"; {how} {as_remark(table[key])}"
    table.pop(other, None)
    table[name] = tomlkit.value(entry.value)
    if not isinstance(table, InlineTable):
        table[name].comment(told)


def as_remark(item: Any) -> str:
    """Return a value that stood in a file, and its comment, on one line."""
    return " ".join(f"{item.as_string()} {item.trivia.comment}".split())


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
        if not path.startswith(LIBRARY):
            case = put_at(case, path, None)
    return replace(case, provenance={}, source_text="", spreads=kept)
