"""A run as numbers for other programs: ``numbers.json`` and ``curves.csv``."""

from __future__ import annotations

import dataclasses
from typing import Any

import numpy as np

from baypulse.case import units
from baypulse.caution import CAUTION
from baypulse.run.result import Numbers, Result
from baypulse.show.data import (
    CUSTOMARY,
    both,
    case_as_read,
    clean,
    doubts,
    fingerprint,
    rule_of,
    suffix,
    versions,
)

SCHEMA_VERSION = 2
"""Version of the layout of ``numbers.json``; it grows when a key changes its meaning."""

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
