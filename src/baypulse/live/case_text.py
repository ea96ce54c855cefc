"""What is typed on the page, put into the text of a case file: the file's own reader judges it."""

from __future__ import annotations

from collections.abc import Mapping, MutableMapping
from typing import Any

import tomlkit
from tomlkit.items import Array

from baypulse.case.casefile.keys import LIBRARY, key_at, place_of, tables, top_keys
from baypulse.case.casefile.library_table import TABLE
from baypulse.case.library import parts_of
from baypulse.case.spec import Count, Spec

MOST_ROWS = 100
"""Rows of a repeated table that the page may make: a slip must not fill the memory."""


def with_typed(text: str, typed: Mapping[str, str]) -> str:
    """Return the text of a case file with values as they were typed.

    Parameters
    ----------
    text : str
        Of a case file that the TOML reader takes.
    typed : mapping of str to str
        Texts by path, such as ``"openings[0].diameter"``; an empty one leaves the key out. The
        path of a whole table, or of one of its rows, with an empty text leaves that out.

    Returns
    -------
    str
        With comments, order and line ends as before. A value that stands there with its spread
        keeps it.
    """
    if not typed:
        return text
    end = "\r\n" if "\r\n" in text else "\n"
    held = tomlkit.parse(text.replace(end, "\n"))
    # rows that go away last, and from the end, do not move the others
    gone = [path for path, value in typed.items() if not value.strip() and "." not in path]
    for path, value in typed.items():
        if path not in gone:
            _put(held, path, value.strip())
    for path in sorted(gone, key=_row, reverse=True):
        _leave_out(held, path)
    return tomlkit.dumps(held).replace("\n", end)


def without_pins(typed: Mapping[str, str]) -> dict[str, str]:
    """Return what was typed with no pins written as a case file says it: without the table."""
    if typed.get("pins.count", "").strip() != "0":
        return dict(typed)
    kept = {path: value for path, value in typed.items() if not path.startswith("pins.")}
    return kept | {"pins": ""}


def _row(path: str) -> int:
    """Return the number of a row, -1 of a table."""
    return place_of(path)[1] or 0


def _leave_out(held: Any, path: str) -> None:
    table, index, _ = place_of(path)
    if table not in held:
        return
    if index is None:
        del held[table]
    elif index < len(held[table]):
        del held[table][index]
        if not len(held[table]):
            del held[table]


def _put(held: Any, path: str, text: str) -> None:
    """Put one value in, make its table if it is missing, or leave it out."""
    if path.startswith(LIBRARY):
        _put_number(held, path, text)
        return
    name, index, key = place_of(path)
    if not key:
        _set(held, name, text, top_keys()[name].spec)
        return
    spec = tables()[name].keys[key].spec
    if name not in held:
        if not text:
            return
        held[name] = tomlkit.table() if index is None else tomlkit.aot()
    table = held[name]
    if index is not None and isinstance(table, list):
        while len(table) <= min(index, MOST_ROWS) and text:
            table.append(tomlkit.inline_table() if isinstance(table, Array) else tomlkit.table())
        table = table[index] if index < len(table) else None
    # what is no table in the file is left to the reader, which says so
    if isinstance(table, MutableMapping):
        _set(table, key, text, spec)


def _put_number(held: Any, path: str, text: str) -> None:
    """Put a number in the place of one of the library's, or leave it out with its entry."""
    table, name, number = parts_of(path.removeprefix(LIBRARY))
    way = [held]
    for part in (TABLE, table, name):
        if part not in way[-1]:
            if not text:
                return
            way[-1][part] = tomlkit.table(is_super_table=part != name)
        way.append(way[-1][part])
        if not isinstance(way[-1], MutableMapping):
            return
    _set(way[-1], number, text, key_at(path).spec)
    # an entry without a number says nothing
    for home, part in zip(way[2::-1], (name, table, TABLE), strict=True):
        if home[part]:
            return
        del home[part]


def _set(table: Any, key: str, text: str, spec: Spec) -> None:
    """Set a key; of a value with a spread only the value."""
    if not text:
        table.pop(key, None)
        return
    # anything but a plain whole number goes to the reader as it was typed
    whole = isinstance(spec, Count) and text.isdecimal() and len(text) < len(str(spec.high)) + 3
    value: Any = int(text) if whole else text
    if isinstance(table.get(key), MutableMapping) and "value" in table[key]:
        table[key]["value"] = value
    else:
        table[key] = value
