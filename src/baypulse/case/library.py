"""The library of materials: data files whose every number has a source and a spread."""

from __future__ import annotations

import re
import threading
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache
from importlib import resources
from types import MappingProxyType
from typing import Any, get_args, get_type_hints

from baypulse.case import materials, units
from baypulse.errors import ModelError
from baypulse.spelling import near


@dataclass(frozen=True)
class LibraryValue:
    """One number of the library.

    Attributes
    ----------
    value : float
        In SI.
    text : str
        The value as the data file has it.
    spread : float
        Standard deviation in SI.
    spread_text : str
        The spread as the data file has it.
    source : str
        Citation, or "estimate".
    dimension : str
        One of :data:`baypulse.case.units.DIMENSIONS`.
    """

    value: float
    text: str
    spread: float
    spread_text: str
    source: str
    dimension: str


TABLES: dict[str, type[Any]] = {
    "powders": materials.PowderData,
    "packings": materials.PackingData,
    "gases": materials.GasData,
    "walls": materials.WallData,
    "cloths": materials.ClothData,
    "threads": materials.ThreadData,
    "pin materials": materials.PinMaterialData,
    "cords": materials.CordData,
    "fibres": materials.FibreData,
    "knots": materials.KnotData,
    "fits": materials.FitData,
    "packs": materials.PackData,
}
"""The class of an entry of each table of the library; a table is a data file of its name."""

GENERIC = ("walls", "pin materials", "cloths")
"""Tables of materials, whose entries go by other generic names too."""

UNCHANGED: Mapping[str, Any] = MappingProxyType({})
"""No number of the library is replaced."""


def names(table: str) -> list[str]:
    """Return the names of a table's entries, in the order of the data file.

    Parameters
    ----------
    table : str
        One of :data:`TABLES`.
    """
    return [name for name in _read(table) if name != "common"]


@cache
def other_names(table: str) -> dict[str, str]:
    """Return what else people call the entries of a table, each with the entry's own name.

    Parameters
    ----------
    table : str
        One of :data:`TABLES`.
    """
    place = resources.files("baypulse") / "case" / "data" / "other_names.toml"
    return dict(tomllib.loads(place.read_text(encoding="utf-8")).get(table, {}))


def own_name(table: str, given: str) -> str:
    """Return the entry that a generic name or another spelling means, or an empty text.

    Parameters
    ----------
    table : str
        One of :data:`TABLES`.
    given : str
        As typed; capitals, spaces and hyphens make no difference.

    Examples
    --------
    >>> own_name("walls", "g-10")
    'fibre glass'
    """
    known = {_plain(name): own for name, own in other_names(table).items()}
    known |= {_plain(name): name for name in names(table)}
    return known.get(_plain(given), "")


def _plain(name: str) -> str:
    """Return a name without what people write one way or another."""
    return re.sub(r"[\s-]", "", name.casefold())


@cache
def _facts(table: str, name: str) -> dict[str, LibraryValue]:
    """Read one entry; shared by all callers, so kept private."""
    content = _read(table)
    if name not in names(table):
        close = near(name, names(table))
        hint = f'; did you mean "{close}"?' if close else ""
        known = ", ".join(f'"{known}"' for known in names(table))
        raise ModelError(f'"{name}" is not in the library of {table}{hint} Known: {known}')
    rows = {**content.get("common", {}), **content[name]}
    hints = get_type_hints(TABLES[table], include_extras=True)
    if sorted(rows) != sorted(hints):
        raise ModelError(f'{table}, "{name}": the data file must hold exactly {", ".join(hints)}')
    return {key: _fact(rows[key], get_args(hint)[1]) for key, hint in hints.items()}


def facts(table: str, name: str) -> dict[str, LibraryValue]:
    """Return every number of one entry with its spread and source.

    Parameters
    ----------
    table : str
        One of :data:`TABLES`.
    name : str
        An entry, such as ``"3F"``.

    Raises
    ------
    ModelError
        When there is no such entry; the text offers a near match.
    """
    return dict(_facts(table, name))


def entry(table: str, name: str, changes: Mapping[str, Any] = UNCHANGED) -> Any:
    """Return one entry as its dataclass, in SI.

    Parameters
    ----------
    table : str
        One of :data:`TABLES`.
    name : str
        An entry, such as ``"3F"``.
    changes : mapping
        A case's ``materials``: numbers that replace the library's, by :func:`address`.
    """
    if getattr(_asked, "changes", None) is not changes:
        _asked.changes, _asked.entries, _asked.numbers = changes, {}, _by_entry(changes)
    made: dict[tuple[str, str], Any] = _asked.entries
    if (table, name) not in made:
        held, mine = _entry(table, name), _asked.numbers.get((table, name))
        made[table, name] = replace(held, **mine) if mine else held
    return made[table, name]


_asked = threading.local()
"""The changes that were asked for last, and the entries that were made of them: they are asked for
some thirty times whenever members are drawn. Nobody changes a case's ``materials`` in place."""


def _by_entry(changes: Mapping[str, Any]) -> dict[tuple[str, str], dict[str, Any]]:
    """Return changed numbers by table and entry, and within by their name."""
    found: dict[tuple[str, str], dict[str, Any]] = {}
    for place, value in changes.items():
        table, name, number = parts_of(place)
        found.setdefault((table, name), {})[number] = value
    return found


def address(table: str, name: str, number: str = "") -> str:
    """Return how one entry, or one number of it, is called, such as ``"powders.3F.rate"``."""
    return f"{table}.{name}.{number}" if number else f"{table}.{name}"


def parts_of(place: str) -> tuple[str, str, str]:
    """Return table, entry and number of an address, such as ``"powders.3F.rate"``."""
    stem, _, number = place.rpartition(".")
    table, _, name = stem.partition(".")
    return table, name, number


def fact(place: str) -> LibraryValue:
    """Return one number with its spread and source.

    Parameters
    ----------
    place : str
        Its :func:`address`; the name between may hold dots of its own.
    """
    table, name, number = parts_of(place)
    return _facts(table, name)[number]


@cache
def _entry(table: str, name: str) -> Any:
    """Return one entry as the data file has it."""
    values = {key: fact.value for key, fact in _facts(table, name).items()}
    return TABLES[table](**values)


def powder(name: str, changes: Mapping[str, Any] = UNCHANGED) -> materials.PowderData:
    """Return an entry of the table of powders."""
    return entry("powders", name, changes)


def packing(name: str, changes: Mapping[str, Any] = UNCHANGED) -> materials.PackingData:
    """Return an entry of the table of packings."""
    return entry("packings", name, changes)


def gas(name: str, changes: Mapping[str, Any] = UNCHANGED) -> materials.GasData:
    """Return an entry of the table of gases."""
    return entry("gases", name, changes)


def wall(name: str, changes: Mapping[str, Any] = UNCHANGED) -> materials.WallData:
    """Return an entry of the table of walls."""
    return entry("walls", name, changes)


def cloth(name: str, changes: Mapping[str, Any] = UNCHANGED) -> materials.ClothData:
    """Return an entry of the table of cloths."""
    return entry("cloths", name, changes)


def thread(name: str, changes: Mapping[str, Any] = UNCHANGED) -> materials.ThreadData:
    """Return an entry of the table of threads."""
    return entry("threads", name, changes)


def pin_material(name: str, changes: Mapping[str, Any] = UNCHANGED) -> materials.PinMaterialData:
    """Return an entry of the table of pin materials."""
    return entry("pin materials", name, changes)


def cord(name: str, changes: Mapping[str, Any] = UNCHANGED) -> materials.CordData:
    """Return an entry of the table of cords."""
    return entry("cords", name, changes)


def fibre(name: str, changes: Mapping[str, Any] = UNCHANGED) -> materials.FibreData:
    """Return an entry of the table of fibres."""
    return entry("fibres", name, changes)


def knot(name: str, changes: Mapping[str, Any] = UNCHANGED) -> materials.KnotData:
    """Return an entry of the table of knots."""
    return entry("knots", name, changes)


def fit(name: str, changes: Mapping[str, Any] = UNCHANGED) -> materials.FitData:
    """Return an entry of the table of fits."""
    return entry("fits", name, changes)


def pack(name: str, changes: Mapping[str, Any] = UNCHANGED) -> materials.PackData:
    """Return an entry of the table of packs."""
    return entry("packs", name, changes)


def _fact(row: dict[str, str], dimension: str) -> LibraryValue:
    """Turn one row of a data file into numbers."""
    value = units.parse(row["value"], dimension)
    spread = units.parse_spread(row["spread"], dimension, value)
    return LibraryValue(value, row["value"], spread, row["spread"], row["source"], dimension)


@cache
def _read(table: str) -> dict[str, Any]:
    """Read a data file once."""
    if table not in TABLES:
        close = near(table, list(TABLES))
        hint = f'; did you mean "{close}"?' if close else ""
        raise ModelError(f'the library has no table "{table}"{hint}')
    file = f"{table.replace(' ', '_')}.toml"
    place = resources.files("baypulse") / "case" / "data" / file
    return tomllib.loads(place.read_text(encoding="utf-8"))
