"""What the bays of a rocket have in common: it stands once, in the rocket file."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from baypulse.case.casefile.findings import Finding
from baypulse.case.casefile.keys import tables
from baypulse.spelling import near

if TYPE_CHECKING:
    from baypulse.case.casefile.reader import Reader

TABLE = "shared"
"""The table of a rocket file below which they stand, such as ``[shared.bay]``."""


@dataclass(frozen=True)
class SharedValues:
    """Values of a rocket file that hold in each of its cases that does not give its own.

    Attributes
    ----------
    file : str
        What messages call the rocket file.
    tables : dict
        As read, by table and key.
    lines : dict of str to int
        Line in the rocket file, by the path in a case, such as ``"bay.bore"``.
    """

    file: str = ""
    tables: dict[str, dict[str, Any]] = field(default_factory=dict)
    lines: dict[str, int] = field(default_factory=dict)

    def missing_in(self, data: dict[str, Any]) -> dict[str, dict[str, Any]]:
        """Return what a case takes from here: every key that it has not, in tables it may have.

        Parameters
        ----------
        data : dict
            The case as parsed.
        """
        found = {}
        for table, keys in self.tables.items():
            own = data.get(table, {})
            if isinstance(own, dict):
                found[table] = {name: value for name, value in keys.items() if name not in own}
        return {table: keys for table, keys in found.items() if keys}


NOTHING_SHARED = SharedValues()
"""Of a case that no rocket file names."""


def read_shared(reader: Reader, given: Any) -> SharedValues:
    """Read what stands below ``shared`` in a rocket file; the values are read with each case.

    Parameters
    ----------
    reader : Reader
        Of the rocket file, which takes what is wrong.
    given : object
        As parsed.
    """
    known = {name: table for name, table in tables().items() if not table.repeated}
    if not isinstance(given, dict):
        reader.refuse(TABLE, "this is a table: write [shared.bay], then keys of a case's [bay]")
        return NOTHING_SHARED
    for table, keys in given.items():
        path = f"{TABLE}.{table}"
        if table not in known:
            reader.refuse(path, _unknown("table", table, list(known)))
        elif not isinstance(keys, dict):
            reader.refuse(path, f"this is a table: write [{path}], then its keys")
        else:
            names = list(known[table].keys)
            reader.refuse_all(
                (f"{path}.{name}", _unknown("key", name, names))
                for name in keys
                if name not in names
            )
    before = f"{TABLE}."
    lines = {p.removeprefix(before): n for p, n in reader.lines.items() if p.startswith(before)}
    return SharedValues(reader.file, given, lines)


def placed(text: str, taken: dict[str, dict[str, Any]], lines: dict[str, int]) -> str:
    """Return the text of a case with the shared values in it, which alone makes the same case.

    Parameters
    ----------
    text : str
        Of the case, in which :func:`unplaceable` finds nothing.
    taken : dict
        From :meth:`SharedValues.missing_in`.
    lines : dict of str to int
        Line of each key of the case.
    """
    rows = text.rstrip("\n").split("\n")
    headers = {lines[table]: table for table in taken if table in lines}
    found: list[str] = []
    for number, row in enumerate(rows, 1):
        found.append(row)
        if number in headers:
            found += _rows(taken[headers[number]])
    for table in taken:
        if table in lines:
            continue
        found += ["", f"[{table}]", *_rows(taken[table])]
    return "\n".join(found) + "\n"


def unplaceable(
    text: str, taken: dict[str, dict[str, Any]], lines: dict[str, int]
) -> Iterator[Finding]:
    """Find tables of a case that cannot take shared values, since they have no line of their own.

    Parameters
    ----------
    text, taken, lines
        As for :func:`placed`.
    """
    rows = text.split("\n")
    for table in taken:
        if table in lines and not re.match(rf"\s*\[\s*{table}\s*\]", rows[lines[table] - 1]):
            yield (
                table,
                f"the rocket file shares keys of this table: write [{table}] on a line of its own",
            )


def _rows(keys: dict[str, Any]) -> list[str]:
    return [f"{name} = {_toml(value)}  # from the rocket file" for name, value in keys.items()]


def _toml(value: Any) -> str:
    """Return a value as TOML on one line."""
    if isinstance(value, dict):
        inside = (f"{json.dumps(k, ensure_ascii=False)} = {_toml(v)}" for k, v in value.items())
        return f"{{ {', '.join(inside)} }}"
    if isinstance(value, list):
        return f"[{', '.join(map(_toml, value))}]"
    return json.dumps(value, ensure_ascii=False, default=str)


def _unknown(what: str, given: str, known: list[str]) -> str:
    close = near(given, known) if len(given) <= 40 else ""
    hint = f'did you mean "{close}"?' if close else f"a rocket's bays may share: {', '.join(known)}"
    return f'unknown {what} "{given[:40]}"; {hint}'
