"""Values as they are written for other programs: both units, the case, versions."""

from __future__ import annotations

import dataclasses
import hashlib
import json
import math
import platform
from importlib import metadata
from typing import Any

from baypulse import __version__
from baypulse.case import units
from baypulse.case.casefile import consistency
from baypulse.case.casefile.keys import tables
from baypulse.case.model import Case, Provenance
from baypulse.case.spec import Number
from baypulse.run.result import RuleOf

CUSTOMARY = {
    "gauge pressure": "psi",
    "absolute pressure": "psi",
    "stress": "psi",
    "force": "lbf",
    "length": "in",
    "area": "in^2",
    "volume": "in^3",
    "velocity": "ft/s",
    "temperature": "degF",
    "mass": "g",
    "mass flow": "g/s",
    "energy": "ft*lbf",
}
"""Unit that people use beside the SI one."""


def suffix(unit: str) -> str:
    """Return a unit as the end of a name.

    Parameters
    ----------
    unit : str
        Such as ``"ft/s"``.

    Examples
    --------
    >>> suffix("kg/s")
    'kg_per_s'
    """
    plain = unit.replace("/", "_per_").replace("*", "_").replace("^", "")
    return plain if plain not in ("", "1") else "ratio"


def clean(value: Any) -> Any:
    """Return a number, or each of several, with nine digits, and None for what is no number."""
    if value is None or isinstance(value, (str, bool, int)):
        return value
    if isinstance(value, tuple):
        return [clean(one) for one in value]
    number = float(value)
    return float(f"{number:.9g}") + 0.0 if math.isfinite(number) else None


def both(name: str, value: float | None, dimension: str) -> dict[str, Any]:
    """Return a value under two names, in SI and in the unit that people use.

    Parameters
    ----------
    name : str
        Without a unit.
    value : float or None
        In SI.
    dimension : str
        Kind of value.
    """
    found = {f"{name}_{suffix(units.SI_UNITS[dimension])}": clean(value)}
    other = CUSTOMARY.get(dimension)
    if other is not None:
        shown = None if value is None else units.convert(float(value), other)
        found[f"{name}_{suffix(other)}"] = clean(shown)
    return found


def rule_of(each: RuleOf) -> dict[str, Any]:
    """Return the static rule's answers for one reading of the volume."""
    return {
        **both("volume", each.volume, "volume"),
        **both("promised_pressure", each.promised_pressure, "gauge pressure"),
        **both("target_mass", each.target_mass, "mass"),
        **both("needed_mass", each.needed_mass, "mass"),
    }


def case_as_read(case: Case) -> dict[str, Any]:
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
    unit = suffix(units.SI_UNITS[spec.dimension]) if isinstance(spec, Number) else ""
    return {
        f"value_{unit}" if unit else "value": clean(value),
        "text": origin.text,
        "origin": origin.origin,
        "line": origin.line,
        "source": origin.source,
    }


def doubts(case: Case) -> list[str]:
    """Return what is possible and unlikely in a case, a sentence each."""
    return [f"{key}: {sentence}" for key, sentence in consistency.doubts(case)]


def versions() -> dict[str, str]:
    """Return the versions that a result depends on."""
    found = {"baypulse": __version__, "python": platform.python_version()}
    return found | {name: metadata.version(name) for name in ("numpy", "scipy", "numba")}


def fingerprint(case: Case) -> str:
    """Return the SHA-256 of the case's text and our version.

    A case that was not read from text is taken by its values.
    """
    described = case_as_read(case)
    text = case.source_text or json.dumps(
        [described["values"], described["materials"]], sort_keys=True
    )
    return hashlib.sha256(f"baypulse {__version__}\n{text}".encode()).hexdigest()


def to_json(found: Any) -> str:
    """Return JSON text, the same for the same numbers."""
    return json.dumps(found, indent=2, ensure_ascii=False, allow_nan=False) + "\n"
