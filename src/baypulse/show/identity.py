"""What a report was made of: the cases as they were read, the versions, and their digest."""

from __future__ import annotations

import dataclasses
import hashlib
import json
import platform
from collections.abc import Sequence
from functools import cache
from importlib import metadata
from typing import Any

from baypulse import __version__
from baypulse.case.casefile.keys import tables
from baypulse.case.model import Case, Provenance
from baypulse.case.spec import Number
from baypulse.case.unit_table import SI_UNITS
from baypulse.show.cells import clean, suffix


def as_read(case: Case) -> dict[str, Any]:
    """Return a case as it was read: its text, and every value in SI with its origin."""
    values: dict[str, Any] = {}
    for table in tables().values():
        held = getattr(case, table.name)
        rows = held if table.repeated else () if held is None else (held,)
        for index, row in enumerate(rows):
            path = f"{table.name}[{index}]" if table.repeated else table.name
            for key in table.keys.values():
                values[f"{path}.{key.name}"] = _value(
                    case, f"{path}.{key.name}", key.spec, getattr(row, key.name)
                )
    return {
        "note": case.note,
        "values": values,
        "materials": {place: clean(value) for place, value in sorted(case.materials.items())},
        "spreads": {
            path: {k: clean(v) for k, v in dataclasses.asdict(spread).items()}
            for path, spread in sorted(case.spreads.items())
        },
        "source_text": case.source_text,
    }  # fmt: skip


def _value(case: Case, path: str, spec: object, value: Any) -> dict[str, Any]:
    origin = case.provenance.get(path, Provenance(text="", origin="default"))
    unit = suffix(SI_UNITS[spec.dimension]) if isinstance(spec, Number) else ""
    return {
        f"value_{unit}" if unit else "value": clean(value),
        "text": origin.text,
        "origin": origin.origin,
        "line": origin.line,
        "source": origin.source,
    }


@cache
def versions() -> dict[str, str]:
    """Return the versions that a result depends on; they do not change while a process lives."""
    found = {"baypulse": __version__, "python": platform.python_version()}
    return found | {name: metadata.version(name) for name in ("numpy", "scipy", "numba")}


def fingerprint(cases: Sequence[Case], beside: str = "") -> str:
    """Return the SHA-256 of the text of every case, of what was read beside, and our version.

    A case that was not read from text is taken by its values.
    """
    digest = hashlib.sha256(f"baypulse {__version__}\n{beside}".encode())
    for case in cases:
        digest.update((case.source_text or _values_text(case)).encode())
    return digest.hexdigest()


def _values_text(case: Case) -> str:
    read = as_read(case)
    return json.dumps([read["values"], read["materials"]], sort_keys=True)
