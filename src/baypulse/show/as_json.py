"""A document as numbers for other programs: one shape for all studies.

The shape is described by ``report.schema.json`` beside this module.
"""

from __future__ import annotations

import json
from typing import Any

from baypulse.caution import CAUTION
from baypulse.show import cells, identity
from baypulse.show.document import Column, Document, Facts, Table

SCHEMA_VERSION = 2
"""Version of the layout; it grows when a name changes or its meaning does."""


def numbers(document: Document) -> dict[str, Any]:
    """Return everything that a document says but its curves, ready for JSON.

    Parameters
    ----------
    document : Document
        What a study says.

    Returns
    -------
    dict
        Every name of a number that has a unit ends in it.
    """
    return {
        "schema_version": SCHEMA_VERSION,
        "study": document.study,
        "name": document.name,
        "title": document.title,
        "headline": document.headline,
        "sentences": list(document.sentences),
        "next_steps": list(document.next_steps),
        "warnings": list(document.warnings),
        "findings": dict(document.findings),
        "tables": {part.name: _rows(part) for part in [*document.tables, *document.files.values()]},
        "case": {case.name: identity.as_read(case) for case in document.cases},
        "doubts": document.doubts,
        "caution": CAUTION,
        "versions": identity.versions(),
        "sha256": identity.fingerprint(document.cases, document.also_read),
    }


def _rows(part: Table | Facts) -> Any:
    """Return the rows of a table as a list, facts as one object."""
    if isinstance(part, Facts):
        found: dict[str, Any] = {}
        for each in part.rows:
            found |= dict(cells.named(each.name, each.value, Column(each.name, each.label)))
        return found
    return [row(part, each) for each in part.rows]


def row(table: Table, values: tuple[Any, ...]) -> dict[str, Any]:
    """Return one row of a table as names and values."""
    found: dict[str, Any] = {}
    for cell, column in zip(values, table.columns, strict=True):
        found |= dict(cells.named(column.name, cell, column))
    return found


def text(found: Any) -> str:
    """Return JSON text, the same for the same numbers."""
    return json.dumps(found, indent=2, ensure_ascii=False, allow_nan=False) + "\n"
