"""The tables and keys of a case file as data, taken from the model's field metadata."""

from __future__ import annotations

import dataclasses
import types
import typing
from dataclasses import dataclass
from functools import cache
from typing import Any

from baypulse import library
from baypulse.model import Case
from baypulse.spec import Choice, Spec


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
class Table:
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
def tables(whole: Any = Case) -> dict[str, Table]:
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
        found[field.name] = Table(
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
    """Return the description of the key at a path, such as ``"openings[1].diameter"``."""
    table, _, name = place_of(path)
    return tables()[table].keys[name]


def value_at(case: Case, path: str) -> Any:
    """Return the value of a case at a path, None where the case has no such table or row."""
    table, index, name = place_of(path)
    held = getattr(case, table)
    if index is not None:
        held = held[index] if index < len(held) else None
    return None if held is None else getattr(held, name)


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
