"""A table of a document as a file for spreadsheets."""

from __future__ import annotations

import csv
import io
from typing import Any

from baypulse.show import as_json, cells
from baypulse.show.document import Table


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
    rows = [as_json.row(table, values) for values in table.rows]
    # a cell without a value may have fewer names than the same column of another row
    names = list(dict.fromkeys(name for row in rows for name in row))
    stream = io.StringIO()
    writer = csv.DictWriter(stream, names, restval="", lineterminator="\n")
    writer.writeheader()
    writer.writerows({name: _cell(value) for name, value in row.items()} for row in rows)
    return stream.getvalue()


def _cell(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, float):
        return f"{value:.{cells.DIGITS}g}"
    return str(value)
