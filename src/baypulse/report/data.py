"""A result as numbers for other programs: ``numbers.json`` and ``curves.csv``."""

from __future__ import annotations

import dataclasses
import hashlib
import json
import math
import platform
from importlib import metadata
from typing import Any

import numpy as np

from baypulse import __version__, units
from baypulse.casefile import consistency
from baypulse.casefile.keys import tables
from baypulse.caution import CAUTION
from baypulse.model import Case, Provenance
from baypulse.result import Numbers, Result, RuleOf
from baypulse.spec import Number

SCHEMA_VERSION = 2
"""Version of the layout of ``numbers.json``; it grows when a key changes its meaning."""

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

_KINDS = {
    "peak_pressure": "gauge pressure",
    "peak_time": "time",
    "slip_pressure": "gauge pressure",
    "pin_pressure": "gauge pressure",
    "clear_time": "time",
    "clear_velocity": "velocity",
    "clear_energy": "energy",
    "greatest_velocity": "velocity",
    "greatest_travel": "length",
    "burnt": "ratio",
    "cord_load": "force",
    "cord_time": "time",
    "cord_strength": "force",
    "velocity_after_jerk": "velocity",
    "hoop_stress": "stress",
    "hottest_gas": "temperature",
    "electronics_pulse": "gauge pressure",
}


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


def numbers(result: Result) -> dict[str, Any]:
    """Return everything about a run but its curves, ready for JSON.

    Every name of a number ends in its unit.

    Parameters
    ----------
    result : Result
        A run.
    """
    return {
        "schema_version": SCHEMA_VERSION,
        "name": result.case.name,
        "title": result.case.title,
        "verdict": result.verdict,
        "parachute": result.contents,
        "tears_wall": result.tears_wall,
        "reasons": list(result.reasons),
        "status": result.status,
        "message": result.message,
        "numbers": _numbers(result.numbers),
        "checks": [_check(check) for check in result.checks],
        "events": [
            {
                "name": event.name,
                **both("time", event.time, "time"),
                **both("travel", event.travel, "length"),
                **both("gauge_pressure", event.gauge_pressure, "gauge pressure"),
                **both("separation_velocity", event.velocity, "velocity"),
            }
            for event in result.events
        ],
        "static_rule": _rule(result),
        "breakdown": {
            "steps": [
                {"name": name, **both("gauge_pressure", value, "gauge pressure")}
                for name, value in result.bridge.steps
            ],
            **both("held_peak", result.bridge.held_peak, "gauge pressure"),
        },
        "energy_budget": {
            "total_J": clean(result.budget.total),
            "terms_J": {name: clean(value) for name, value in result.budget.terms.items()},
            "gas_residual_J": clean(result.budget.gas_residual),
            "motion_residual_J": clean(result.budget.motion_residual),
            "mass_residual_kg": clean(result.budget.mass_residual),
        },
        "case": case_as_read(result.case),
        "doubts": doubts(result.case),
        "caution": CAUTION,
        "versions": versions(),
        "sha256": fingerprint(result.case),
    }


def _numbers(held: Numbers) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for field in dataclasses.fields(held):
        value = getattr(held, field.name)
        if field.name == "brake_energy":
            found["brake_energy_J"] = clean(value)
            continue
        kind = _KINDS.get(field.name)
        found |= {field.name: value} if kind is None else both(field.name, value, kind)
    return found


def _check(check: Any) -> dict[str, Any]:
    return {
        "name": check.name,
        "must": check.must,
        **both("value", check.value, check.dimension),
        **both("limit", check.limit, check.dimension),
        "margin_ratio": clean(check.margin),
        "met": bool(check.met),
    }


def _rule(result: Result) -> dict[str, Any]:
    rule = result.rule
    return {
        **both("bore_area", rule.area, "area"),
        **both("target_pressure", rule.target_pressure, "gauge pressure"),
        **both("target_force", rule.target_force, "force"),
        **both("needed_pressure", rule.needed_pressure, "gauge pressure"),
        "empty_bay": rule_of(rule.empty),
        "free_volume": rule_of(rule.free),
    }


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


def csv(result: Result) -> str:
    """Return every curve as a table: a column in SI, and one in the unit that people use.

    Parameters
    ----------
    result : Result
        A run.

    Returns
    -------
    str
        Comma-separated, names in the first line, each with its unit at its end.
    """
    names, columns = [], []
    for curve in result.curves.values():
        names.append(f"{curve.name}_{suffix(curve.unit)}")
        columns.append(curve.values)
        other = CUSTOMARY.get(curve.dimension)
        if other is not None:
            names.append(f"{curve.name}_{suffix(other)}")
            columns.append(np.asarray(units.convert(curve.values, other)))  # type: ignore[arg-type]
    row = ",".join(["%.9g"] * len(columns))
    lines = [",".join(names)]
    lines += [row % tuple(values) for values in np.column_stack(columns).tolist()]
    return "\n".join(lines) + "\n"
