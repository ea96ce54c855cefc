"""A table of a document as a file for spreadsheets."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Sequence
from typing import Any

import numpy as np

from baypulse.show import cells
from baypulse.show.document import Column, Table


def text(table: Table) -> str:
    """Return a table as comma-separated values, quoted where they need it.

    Parameters
    ----------
    table : Table
        Of a document.

    Returns
    -------
    str
        Names in the first line, each with its unit at its end; what did not happen is left empty.
    """
    columns: dict[str, list[str]] = {}
    for column, held in zip(table.columns, zip(*table.rows, strict=True), strict=False):
        columns |= _texts(column, held)
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow(columns)
    writer.writerows(zip(*columns.values(), strict=True))
    return stream.getvalue()


def _texts(column: Column, held: Sequence[Any]) -> dict[str, list[str]]:
    """Return the cells of a column under the names of their numbers."""
    if column.dimension and all(isinstance(cell, float) for cell in held):
        # a table of curves has ten thousands of them
        named = cells.in_units(column.name, np.array(held), column.dimension)
        return {name: [_number(value) for value in values.tolist()] for name, values in named}
    # a cell without a value may have fewer names than another of its column
    found = [dict(cells.named(column.name, cell, column)) for cell in held]
    names = dict.fromkeys(name for each in found for name in each)
    return {name: [_cell(each.get(name)) for each in found] for name in names}


def _number(value: float) -> str:
    # a zero has no sign
    return f"{value + 0.0:.{cells.DIGITS}g}" if math.isfinite(value) else ""


def _cell(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, float):
        return _number(value)
    return str(value)
