"""A cell of a table as people read it, and as programs do."""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import cache
from typing import Any

import numpy as np

from baypulse.case import quantities, units
from baypulse.case.unit_table import DIMENSIONS
from baypulse.members.chances import Chance
from baypulse.show.document import Between, Column, Fact, PageLink, Quantity, Said

DIGITS = 9
"""Significant digits of a number in a file."""


def text(cell: Any, column: Column, *, brief: bool = False) -> str:
    """Return a cell as people read it.

    Parameters
    ----------
    cell : object
        See :class:`baypulse.show.document.Table`.
    column : Column
        Its column.
    brief : bool
        In the first unit only, where there is little room.
    """
    match cell:
        case None:
            return column.absent
        case Said() | PageLink():
            return cell.text
        case Quantity():
            kind = Column("", "", cell.dimension, absent=column.absent)
            return text(cell.value, kind, brief=brief)
        case Between():
            return _between(cell, column, brief)
        case Chance():
            return quantities.chance(cell)
        case str():
            return cell
        case bool() | np.bool_():
            return "yes" if cell else "no"
        case int():
            return f"{cell:,}"
        case tuple():
            if not any(math.isfinite(value) for value in cell):
                return column.absent
            return _written(cell, column.dimension, " / ", brief)
    value = float(cell)
    if not math.isfinite(value):
        return column.absent
    if not column.dimension:
        return quantities.digits(value)
    return _written((value,), column.dimension, "", brief)


def _written(values: tuple[float, ...], dimension: str, between: str, brief: bool) -> str:
    if not brief or dimension == "ratio":
        return quantities.several(values, dimension, between)
    largest = max(abs(value) for value in values if math.isfinite(value))
    units_ = quantities.preferred(largest, dimension)[:1]
    return quantities.several(values, dimension, between, units_)


def _between(cell: Between, column: Column, brief: bool) -> str:
    if not math.isfinite(cell.value):
        return column.absent
    dimension = cell.dimension or column.dimension
    known = math.isfinite(cell.low) and math.isfinite(cell.high)
    if known and cell.dimension == "ratio":
        return quantities.share(*cell[:3])
    middle = text(cell.value, Column("", "", dimension), brief=brief)
    if not known:
        return middle
    if dimension in ("", "ratio"):
        return quantities.estimate(*cell[:3])
    return f"{middle}; {_written(cell[1:3], dimension, ' to ', brief)}"


def named(name: str, cell: Any, column: Column) -> Iterator[tuple[str, Any]]:
    """Return a cell as names and values for programs, every name ending in its unit.

    A value with a unit comes twice: in SI, and in the unit that people use beside it.

    Parameters
    ----------
    name : str
        Of the cell, without a unit.
    cell : object
        See :class:`baypulse.show.document.Table`.
    column : Column
        Its column.
    """
    match cell:
        case Said():
            yield from named(name, cell.value, column)
            yield f"{name}_said" if name else "said", cell.text
        case PageLink():
            yield name, cell.text
        case Quantity():
            yield from with_units(name, cell.value, cell.dimension)
        case Between():
            kind = Column("", "", cell.dimension or column.dimension)
            for end, value in zip(("", "_low", "_high"), cell[:3], strict=True):
                yield from named(f"{name}{end}", value, kind)
        case Chance():
            yield from {
                f"{name}_count": cell.count,
                f"{name}_shots": cell.members,
                f"{name}_ratio": clean(cell.share),
                f"{name}_low_ratio": clean(cell.low),
                f"{name}_high_ratio": clean(cell.high),
            }.items()
        case tuple():
            for share, value in zip(column.below, cell, strict=True):
                yield from named(f"{name}_{100.0 * share:.3g}_percent_below", value, column)
        case None if column.below:
            yield from named(name, (None,) * len(column.below), column)
        case str() | bool() | int() | np.bool_():
            yield name, bool(cell) if isinstance(cell, np.bool_) else cell
        case _ if column.dimension:
            yield from with_units(name, cell, column.dimension)
        case _:
            yield name, clean(cell)


def with_units(name: str, value: float | None, dimension: str) -> Iterator[tuple[str, Any]]:
    """Return a value under two names, in SI and in the unit that people use.

    Parameters
    ----------
    name : str
        Without a unit.
    value : float or None
        SI.
    dimension : str
        Its kind.
    """
    for full, number in in_units(name, value, dimension):
        yield full, clean(number)


def in_units(name: str, value: Any, dimension: str) -> Iterator[tuple[str, Any]]:
    """Return what :func:`with_units` does, with all its digits; of an array too."""
    kind = DIMENSIONS[dimension]
    yield f"{name}_{suffix(kind.si_unit)}", value
    if kind.filed:
        other = None if value is None else units.convert(value, kind.filed)
        yield f"{name}_{suffix(kind.filed)}", other


def both(name: str, value: float | None, dimension: str) -> dict[str, Any]:
    """Return what :func:`with_units` does, for the findings of a document."""
    return dict(with_units(name, value, dimension))


def chance(each: Chance) -> dict[str, Any]:
    """Return a chance for the findings of a document."""
    return {"name": each.name, "count": each.count, "shots": each.members,
            "chance_ratio": clean(each.share), "low_ratio": clean(each.low),
            "high_ratio": clean(each.high)}  # fmt: skip


def clean(value: Any) -> Any:
    """Return a number, or each of several, with nine digits, and None for what is no number."""
    if value is None or isinstance(value, (str, bool, int)):
        return value
    if isinstance(value, (tuple, list, np.ndarray)):
        return [clean(one) for one in value]
    number = float(value)
    return float(f"{number:.{DIGITS}g}") + 0.0 if math.isfinite(number) else None


@cache
def suffix(unit: str) -> str:
    """Return a unit as the end of a name.

    Examples
    --------
    >>> suffix("kg/s")
    'kg_per_s'
    """
    plain = unit.replace("/", "_per_").replace("*", "_").replace("^", "")
    return plain if plain not in ("", "1") else "ratio"


def fact(each: Fact) -> str:
    """Return the value of a fact as people read it."""
    return text(each.value, Column(each.name, each.label))
