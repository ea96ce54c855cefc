"""The tables and keys of a case file as data, taken from the model's field metadata."""

from __future__ import annotations

import dataclasses
import types
import typing
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from functools import cache
from typing import Any

from baypulse.case import library
from baypulse.case.model import Case
from baypulse.case.spec import Choice, Number, Spec

LIBRARY = "library."
"""What the path of a number of the library begins with."""

RENAMED = {"drag_out": "extraction_force", "burnt_ceiling": "burnable_fraction"}
"""Keys, and numbers of the library, that had another name: the old one and the new."""

MEASURED = {
    "smallest_grain": "powder.smallest_grain",
    "largest_grain": "powder.largest_grain",
    "burnable_fraction": "powder.burnable_fraction",
    "break_load": "cord.break_load",
    "break_elongation": "cord.break_elongation",
}
"""Numbers of the library in whose place a case may have a measured one, with its allowed range."""

_SHARES = {"afterburning_efficiency", "burnable_fraction", "emissivity", "exposure", "efficiency",
           "permanent_set", "reference_moisture"}  # fmt: skip
"""Numbers of the library that cannot exceed 1, beside those whose name ends in "_share"."""

_REACH = 100.0
"""Factor beyond the library's own numbers of a kind that is allowed: a slip from mm to m is 1000;
our choice."""

_WARMER = 3.0
"""Factor beyond the library's own temperatures that is allowed; our choice."""

_MAY_VANISH = {"ratio", "per kelvin", "heat transfer", "covolume", "conductivity",
               "heat capacity slope"}  # fmt: skip
"""Dimensions of which a number of the library may be put to zero, but for an exponent."""


@dataclass(frozen=True)
class Key:
    """One key of a table.

    Attributes
    ----------
    name : str
        As typed in the case file.
    spec : Number, Count, Choice or Text
        What it holds.
    required : bool
        Whether a case without it is refused.
    default : object
        In SI; None where the value comes from elsewhere or is not wanted.
    """

    name: str
    spec: Spec
    required: bool
    default: Any = None


@dataclass(frozen=True)
class KeyTable:
    """One table of a case file.

    Attributes
    ----------
    name : str
        As typed between the brackets.
    kind : type
        The dataclass that holds it.
    required : bool
        Whether a case without it is refused.
    repeated : bool
        Whether it is typed in double brackets, once for each.
    absent : bool
        Whether a case without it holds None, not a table of defaults.
    help : str
        What the table is.
    keys : dict
        The keys by name.
    """

    name: str
    kind: type[Any]
    required: bool
    repeated: bool
    absent: bool
    help: str
    keys: dict[str, Key]

    @property
    def header(self) -> str:
        """The line that opens the table."""
        return f"[[{self.name}]]" if self.repeated else f"[{self.name}]"


@cache
def tables(whole: Any = Case) -> dict[str, KeyTable]:
    """Return every table of a case file, or of another kind of file, in the order of the model.

    Parameters
    ----------
    whole : type
        Dataclass of the whole file.
    """
    hints = typing.get_type_hints(whole)
    found = {}
    for field in dataclasses.fields(whole):
        kind, repeated = _dataclass_of(hints[field.name])
        if kind is None:
            continue
        given = field.default is not dataclasses.MISSING
        made = field.default_factory is not dataclasses.MISSING
        found[field.name] = KeyTable(
            name=field.name,
            kind=kind,
            required=not given and not made,
            repeated=repeated,
            absent=given and field.default is None,
            help=(kind.__doc__ or "").strip().splitlines()[0],
            keys=_keys(kind),
        )
    return found


@cache
def top_keys(whole: Any = Case) -> dict[str, Key]:
    """Return the keys that stand above all tables."""
    return _keys(whole)


def options(spec: Choice) -> tuple[str, ...]:
    """Return the words that a choice allows."""
    return tuple(library.names(spec.table)) if spec.table else spec.options


def place_of(path: str) -> tuple[str, int | None, str]:
    """Take a path apart: ``"openings[1].diameter"`` into ``"openings"``, 1 and ``"diameter"``."""
    table, _, name = path.partition(".")
    table, _, index = table.partition("[")
    return table, int(index[:-1]) if index else None, name


def key_at(path: str) -> Key:
    """Return the description of the key at a path, such as ``"openings[1].diameter"``.

    A number of the library has one too, made from the library's own data.
    """
    if path.startswith(LIBRARY):
        return _library_key(path.removeprefix(LIBRARY))
    table, _, name = place_of(path)
    return tables()[table].keys[name]


def number_at(path: str) -> Number:
    """Return the description of the number at a path."""
    spec = key_at(path).spec
    assert isinstance(spec, Number)
    return spec


def charge_path(case: Case) -> str:
    """Return the path of what the charge is measured by: powder, or the fill of a reservoir."""
    return "powder.mass" if case.powder is not None else "cold_gas.pressure"


def value_at(case: Case, path: str) -> Any:
    """Return the value of a case at a path, None where the case has no such table or row.

    Of a number of the library it is the one that replaces it, None where none does.
    """
    if path.startswith(LIBRARY):
        return case.materials.get(path.removeprefix(LIBRARY))
    table, index, name = place_of(path)
    held = getattr(case, table)
    if index is not None:
        held = held[index] if index < len(held) else None
    return None if held is None else getattr(held, name)


def put_at(case: Case, path: str, value: Any) -> Case:
    """Return the case with another value at a path, of the library too; all else stays.

    Parameters
    ----------
    case : Case
        With such a table or row.
    path : str
        Such as ``"openings[1].diameter"`` or ``"library.powders.3F.rate"``.
    value : object
        In SI.
    """
    return put_all(case, {path: value})


def put_all(case: Case, values: Mapping[str, Any]) -> Case:
    """Return the case with other values at several paths; all else stays.

    Parameters
    ----------
    case : Case
        With such tables or rows.
    values : mapping
        By path, in SI.
    """
    materials: dict[str, Any] = {}
    rows: dict[tuple[str, int | None], dict[str, Any]] = {}
    for path, value in values.items():
        if path.startswith(LIBRARY):
            materials[path.removeprefix(LIBRARY)] = value
        else:
            table, index, name = place_of(path)
            rows.setdefault((table, index), {})[name] = value
    tables: dict[str, Any] = {}
    for (table, index), changed in rows.items():
        held = tables.get(table, getattr(case, table))
        if index is None:
            tables[table] = replace(held, **changed)
        else:
            tables[table] = (*held[:index], replace(held[index], **changed), *held[index + 1 :])
    if materials:
        tables["materials"] = case.materials | materials
    return replace(case, **tables) if tables else case


def renamed(given: str, known: Iterable[str]) -> str:
    """Return what a key is called now, or an empty text.

    Parameters
    ----------
    given : str
        The key as typed, alone or at the end of a path.
    known : iterable of str
        Keys, or paths, that there are.
    """
    stem, dot, name = given.rpartition(".")
    new = f"{stem}{dot}{RENAMED.get(name, '')}"
    return new if name in RENAMED and new in known else ""


def is_share(number: str) -> bool:
    """Say whether a number of the library is a share, from 0 to 1."""
    return number in _SHARES or number.endswith("_share")


@cache
def _library_key(place: str) -> Key:
    """Return the description of a number of the library, with what may replace it."""
    fact = library.fact(place)
    table, name, number = library.parts_of(place)
    low, high = library_range(table, number)
    words = f"{number.replace('_', ' ')} of {name}, in place of the library's {fact.text}"
    return Key(number, Number(fact.dimension, words, low, high, fact.text), required=False)


@cache
def library_range(table: str, number: str) -> tuple[float, float]:
    """Return between what [SI] a number of the library may be replaced.

    It keeps its sign, a share stays below 1, and none is far from what the library has of its
    kind.

    Parameters
    ----------
    table, number : str
        Such as ``"powders"`` and ``"rate"``.
    """
    if number in MEASURED:
        spec = number_at(MEASURED[number])
        return spec.low, spec.high
    facts = [library.facts(table, name)[number] for name in library.names(table)]
    least, most = (edge(fact.value for fact in facts) for edge in (min, max))
    if is_share(number):
        return 0.0, 1.0
    dimension = facts[0].dimension
    if dimension == "temperature":
        return least / _WARMER, most * _WARMER
    if least == most == 0.0:
        return -_REACH, _REACH
    zero = dimension in _MAY_VANISH and not number.endswith("exponent")
    low = _REACH * least if least < 0.0 else 0.0 if zero else least / _REACH
    return low, _REACH * max(most, 0.0)


def _keys(kind: type[Any]) -> dict[str, Key]:
    """Return the fields that carry a description."""
    found = {}
    for field in dataclasses.fields(kind):
        if "spec" not in field.metadata:
            continue
        required = field.default is dataclasses.MISSING
        default = None if required else field.default
        found[field.name] = Key(field.name, field.metadata["spec"], required, default)
    return found


def _dataclass_of(hint: Any) -> tuple[type[Any] | None, bool]:
    """Find the table's class in ``Bay``, ``Powder | None`` or ``tuple[Opening, ...]``."""
    origin = typing.get_origin(hint)
    if origin is tuple:
        return _dataclass_of(typing.get_args(hint)[0])[0], True
    candidates = typing.get_args(hint) if origin in (types.UnionType, typing.Union) else (hint,)
    for candidate in candidates:
        if dataclasses.is_dataclass(candidate) and isinstance(candidate, type):
            return candidate, False
    return None, False
