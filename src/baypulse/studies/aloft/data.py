"""A charge aloft as numbers for other programs: ``numbers.json`` and ``aloft.csv``."""

from __future__ import annotations

import math
from typing import Any

from baypulse.case import units
from baypulse.show.data import both, clean
from baypulse.show.study_data import chance_numbers, foot, head
from baypulse.studies.aloft.result import Aloft, AltitudeStep, Level, Need, SourceAloft

BELOW = (0.05, 0.5, 0.95)
"""Shares of the members below each of three values."""


def aloft_numbers(aloft: Aloft) -> dict[str, Any]:
    """Return everything that was found, ready for JSON; None is what did not happen.

    Parameters
    ----------
    aloft : Aloft
        Findings.
    """
    return {
        **head("aloft", aloft.case),
        "reliability_ratio": clean(aloft.wanted),
        "simulated_shots": aloft.members,
        "seed": aloft.seed,
        "runs": aloft.runs,
        **both("present_charge", aloft.present, aloft.dimension),
        "margin_at_test_site_ratio": clean(aloft.margin),
        "levels": [_level(level) for level in aloft.levels],
        "steps": [_step(aloft, step) for step in aloft.steps],
        "charge_at_test_site": _need(aloft, aloft.home_need),
        "charges_aloft": [_need(aloft, need) for need in aloft.needs],
        **both("highest_altitude_tried", aloft.top, "length"),
        "sources": [_source(source) for source in aloft.sources],
        "source_missing": aloft.missing,
        **foot(aloft.case, aloft.warnings),
    }


def _three(name: str, values: tuple[float, ...], dimension: str) -> list[dict[str, Any]]:
    return [
        {"below_ratio": share, **both(name, value, dimension)}
        for share, value in zip(BELOW, values, strict=True)
    ]


def _level(level: Level) -> dict[str, Any]:
    return {
        "name": level.name,
        **both("altitude", level.altitude, "length"),
        **both("air_pressure", level.pressure, "absolute pressure"),
        **both("air_temperature", level.temperature, "temperature"),
        "nominal_verdict": level.verdict,
        **both("nominal_peak_pressure", level.peak_pressure, "gauge pressure"),
        **both("hold_pressure", level.hold_pressure, "gauge pressure"),
        "nominal_burnt_ratio": clean(level.burnt),
        **both("nominal_clear_time", level.clear_time, "time"),
        **both("nominal_clear_velocity", level.clear_velocity, "velocity"),
        **both("nominal_cord_load", level.cord_load, "force"),
        "nominal_cord_margin_ratio": clean(level.cord_margin),
        "separates": chance_numbers(level.opens),
        "limit_exceeded": chance_numbers(level.fails_hard),
        "peak_pressures": _three("peak_pressure", level.peak_pressures, "gauge pressure"),
        "burnt": _three("burnt", level.burnts, "ratio"),
        "clear_times": _three("clear_time", level.clear_times, "time"),
        "clear_velocities": _three("clear_velocity", level.clear_velocities, "velocity"),
        "cord_loads": _three("cord_load", level.cord_loads, "force"),
    }


def _step(aloft: Aloft, step: AltitudeStep) -> dict[str, Any]:
    return {
        "effect": step.effect,
        "label": step.label,
        **both("peak_pressure", step.peak_pressure, "gauge pressure"),
        **both("hold_pressure", step.hold_pressure, "gauge pressure"),
        **both("clear_velocity", step.clear_velocity, "velocity"),
        "cord_margin_ratio": clean(step.cord_margin),
        **both("least_charge", step.least, aloft.dimension),
    }


def _need(aloft: Aloft, need: Need) -> dict[str, Any]:
    least = need.least
    return {
        **both("altitude", need.altitude, "length"),
        "least": None
        if least is None
        else {
            **both("charge", least.charge, aloft.dimension),
            **both("low", least.low, aloft.dimension),
            **both("high", least.high, aloft.dimension),
            "chance": chance_numbers(least.chance),
        },
        **both("highest_charge_tried", need.highest, aloft.dimension),
        "separates_at_highest_ratio": clean(need.share_at_highest),
        **both("charge_of_same_margin", need.charge, aloft.dimension),
        "separates": None if need.opens is None else chance_numbers(need.opens),
        "limit_exceeded": None if need.fails_hard is None else chance_numbers(need.fails_hard),
        "limit_exceeded_too_often": need.limit or None,
    }


def _source(source: SourceAloft) -> dict[str, Any]:
    held = source.height
    return {
        "name": source.name,
        "own": source.own,
        "assumed": source.assumed,
        "holds_at_test_site": held.altitude > -math.inf,
        "holds_at_all_tried": held.altitude == math.inf,
        **both("holds_up_to", held.altitude, "length"),
        **both("holds_low", held.low, "length"),
        **both("holds_high", held.high, "length"),
        "altitudes": [
            {**both("altitude", float(altitude), "length"), "separates": chance_numbers(each)}
            for altitude, each in zip(source.altitudes, source.chances, strict=True)
        ],
    }


def aloft_csv(aloft: Aloft) -> str:
    """Return the chance of every source at every altitude as a table.

    Parameters
    ----------
    aloft : Aloft
        Findings.

    Returns
    -------
    str
        Comma-separated, names in the first line, each with its unit at its end.
    """
    lines = [
        "source,own,altitude_m,altitude_ft,separates_ratio,separates_low_ratio,separates_high_ratio"
    ]
    for source in aloft.sources:
        for altitude, each in zip(source.altitudes, source.chances, strict=True):
            cells = [altitude, units.convert(float(altitude), "ft"), each.share, each.low,
                     each.high]  # fmt: skip
            numbers = ",".join(f"{cell:.9g}" for cell in cells)
            lines.append(f"{source.name},{str(source.own).lower()},{numbers}")
    return "\n".join(lines) + "\n"
