"""The table ``[library]``: numbers of the library that a case replaces by its own.

``[library.powders.3F]`` with ``rate = { value = "10 mm/s", spread = "30 %" }`` below it. Which
tables, entries and numbers there are, and in what units, is the library's data alone.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from functools import cache
from typing import TYPE_CHECKING, Any

import numpy as np

from baypulse.case import cord_fields, library, params
from baypulse.case.casefile.findings import Finding, length
from baypulse.case.casefile.keys import LIBRARY, number_at, put_at, renamed, tables, value_at
from baypulse.case.library import parts_of
from baypulse.case.model import Case
from baypulse.case.spec import Choice
from baypulse.spelling import near

if TYPE_CHECKING:
    from baypulse.case.casefile.reader import Reader

TABLE = "library"
"""What the table is called in a case file."""

_BARE = re.compile(r"[A-Za-z0-9_-]+")
_GRADE = re.compile(r"([Ff]{1,4})[Gg]?")
_TRIED = (0.01, 1.1)
"""Factors on a number by which it is seen whether it acts: a wall bears on pins only if weak."""

_BEHIND = {"thin_air_none": "thin_air_full"}
"""Numbers that act wherever another one does, which decides it."""


def header(table: str, name: str) -> str:
    """Return the line that opens the numbers of one entry, such as ``[library.powders.3F]``.

    Parameters
    ----------
    table, name : str
        Of the library.
    """
    parts = (part if _BARE.fullmatch(part) else f'"{part}"' for part in (TABLE, table, name))
    return f"[{'.'.join(parts)}]"


def meant(given: str, known: Sequence[str], table: str = "") -> str:
    """Return which of several words may have been meant, or an empty string.

    Parameters
    ----------
    given : str
        As typed.
    known : sequence of str
        What it may have been.
    table : str
        Of the library, where the words are its entries: a grade of powder is written in many ways.
    """
    own = library.own_name(table, given) if table in library.GENERIC else ""
    if own in known:
        return own
    grade = _GRADE.fullmatch(given) if table == "powders" else None
    if grade is None:
        return near(given, known)
    close = f"{len(grade.group(1))}F"
    return close if close in known else ""


def read_numbers(reader: Reader, given: Any) -> dict[str, float]:
    """Read the numbers that replace the library's; spreads and origins are left in the reader.

    Parameters
    ----------
    reader : Reader
        Which also takes what is wrong.
    given : object
        What stands under ``library`` in the file.

    Returns
    -------
    dict
        By address, usable only when there are no problems.
    """
    example = header("powders", "3F")
    found: dict[str, float] = {}
    for table, name, path, numbers in _entries(reader, given, example):
        known = list(library.facts(table, name))
        for number, raw in numbers.items():
            here = f"{path}.{number}"
            dotted = f"{name}.{number}"
            if number in known:
                value = reader.typed(here, number_at(here), raw)
                if value is not None:
                    found[library.address(table, name, number)] = value
            elif dotted in library.names(table):
                text = f"a name with a dot needs quotes: {header(table, dotted)}"
                reader.refuse(here, text)
            else:
                what = f"number of {name} in the library of {table}"
                reader.refuse(here, _unknown(what, number, known))
    return found


def _entries(
    reader: Reader, given: Any, example: str
) -> Iterator[tuple[str, str, str, dict[str, Any]]]:
    """Yield table, entry, path and numbers of everything that the library knows."""
    if not isinstance(given, dict):
        reader.refuse(TABLE, f"this is a table: write {example}, then numbers of that entry")
        return
    for table, entries in given.items():
        path = f"{TABLE}.{table}"
        if table not in library.TABLES:
            reader.refuse(path, _unknown("table of the library", table, list(library.TABLES)))
            continue
        names = library.names(table)
        first = header(table, names[0])
        if not isinstance(entries, dict):
            reader.refuse(path, f"this is a table of entries: write {first}, then its numbers")
            continue
        for name, numbers in entries.items():
            here = f"{path}.{name}"
            if name not in names:
                if name in library.facts(table, names[0]):
                    text = f"{_short(name)} is a number of an entry: write it below {first}"
                else:
                    text = _unknown(f"entry of the library of {table}", name, names, table)
                reader.refuse(here, text)
            elif not isinstance(numbers, dict):
                own = header(table, name)
                reader.refuse(here, f"this is an entry: write {own}, then its numbers")
            else:
                yield table, name, here, numbers


def _unknown(what: str, given: str, known: Sequence[str], table: str = "") -> str:
    """Say that a word is unknown, and which one may have been meant."""
    new = renamed(given, known)
    if new:
        return f"is now called {new}; write that"
    close = meant(given, known, table) if len(given) <= 40 else ""
    if close:
        return f'unknown {what}: {_short(given)}; did you mean "{close}"?'
    listed = ", ".join(f'"{word}"' for word in known)
    return f"unknown {what}: {_short(given)}; known here: {listed}"


def _short(text: str) -> str:
    return f'"{text}"' if len(text) <= 40 else f'"{text[:37]}..."'


def problems(case: Case) -> Iterator[Finding]:
    """Find replaced numbers that cannot be together.

    Parameters
    ----------
    case : Case
        A case whose single values are in range.
    """
    for name in dict.fromkeys(parts_of(place)[1] for place in case.materials
                              if parts_of(place)[0] == "threads"):  # fmt: skip
        thread = library.thread(name, case.materials)
        if thread.root_diameter > thread.major_diameter:
            numbers = ("root_diameter", "major_diameter")
            places = (library.address("threads", name, number) for number in numbers)
            yield (
                LIBRARY + next(place for place in places if place in case.materials),
                f"{name} has a root of {length(thread.root_diameter)}, which is more than its "
                f"outside, {length(thread.major_diameter)}",
            )


def doubts(case: Case) -> Iterator[Finding]:
    """Find replaced numbers that do not act in the case.

    Parameters
    ----------
    case : Case
        A case without problems.
    """
    for place in case.materials:
        table, name, _ = parts_of(place)
        used = _used_names(case, table)
        if used is None:
            continue
        if name not in used:
            own = " or ".join(header(table, each) for each in used)
            yield (
                LIBRARY + place,
                f"this does not act: a run of this case does not take {_short(name)} from the "
                f"library of {table}{f'; write {own}' if own else ''}",
            )
        elif not acts(case, place):
            yield (
                LIBRARY + place,
                "this does not act: a run of this case does not depend on it; a measured value "
                "of the case may stand in its place",
            )


def used_places(case: Case) -> Iterator[str]:
    """Yield the addresses of the numbers behind every word of the library in a case, once each.

    Parameters
    ----------
    case : Case
        A single one.
    """
    for table in _naming_keys():
        for name in _used_names(case, table) or ():
            for number in library.facts(table, name):
                yield library.address(table, name, number)


def acts(case: Case, place: str) -> bool:
    """Say whether a run of the case, or one of its limits, depends on a number of the library.

    Parameters
    ----------
    case : Case
        A single one, without problems.
    place : str
        Address of the number.
    """
    table, name, number = parts_of(place)
    place = library.address(table, name, _BEHIND.get(number, number))
    present = value_at(case, LIBRARY + place)
    fact = library.fact(place)
    present = fact.value if present is None else present
    spec = number_at(LIBRARY + place)
    tried = [factor * present for factor in _TRIED] + [fact.value, 0.01 * spec.low]
    tried += [0.01 * spec.high] if present == 0.0 else []
    with np.errstate(all="ignore"):
        here, *others = (
            _depended_on(put_at(case, LIBRARY + place, value)) for value in (present, *tried)
        )
        return not all(all(map(np.array_equal, here, other)) for other in others)


def _depended_on(case: Case) -> list[Any]:
    """Return every number that a run and its limits depend on."""
    wall = library.wall(case.bay.wall, case.materials)
    links = cord_fields.cord_links(case) if case.cord is not None else []
    core = params.parameters(case)
    return [*core, wall.tensile_strength, *(strength for strength, _ in links)]


def _used_names(case: Case, table: str) -> list[str] | None:
    """Return the entries of a table that a case names; None of a table that no key names."""
    paths = _naming_keys().get(table)
    if paths is None:
        return None
    found = []
    for home, key in paths:
        held = getattr(case, home)
        rows = held if isinstance(held, tuple) else () if held is None else (held,)
        found += [word for row in rows if (word := getattr(row, key)) is not None]
    return list(dict.fromkeys(found))


@cache
def _naming_keys() -> dict[str, list[tuple[str, str]]]:
    """Return the keys of a case that name an entry, by the library's table."""
    found: dict[str, list[tuple[str, str]]] = {}
    for home in tables().values():
        for key in home.keys.values():
            if isinstance(key.spec, Choice) and key.spec.table:
                found.setdefault(key.spec.table, []).append((home.name, key.name))
    return found
