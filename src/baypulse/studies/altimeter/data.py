"""The study of the electronics bay as numbers: ``numbers.json`` and ``altimeter.csv``."""

from __future__ import annotations

from typing import Any

import numpy as np

from baypulse.case import units
from baypulse.show.data import both, clean
from baypulse.show.study_data import chance_numbers, foot, head
from baypulse.studies.altimeter.result import SHARES, Altimeters, Leak, Shown, Spans


def altimeter_numbers(found: Altimeters) -> dict[str, Any]:
    """Return everything that was found, ready for JSON.

    Parameters
    ----------
    found : Altimeters
        Findings.
    """
    pulse = found.pulse
    return {
        **head("altimeter", found.case),
        **_height("wanted_error", found.error),
        "reliability_ratio": clean(found.wanted),
        "simulated_shots": found.members,
        "simulated_shots_followed": found.followed,
        "seed": found.seed,
        "runs": found.runs,
        **both("outside", pulse.ambient, "absolute pressure"),
        **_height("altitude_before", found.altitude),
        **both("too_high_from", found.bounds[0], "absolute pressure"),
        **both("too_low_from", found.bounds[1], "absolute pressure"),
        "nominal": _shown(found.nominal),
        "separated": pulse.opened,
        **both("hottest_gas_in_electronics", pulse.hottest, "temperature"),
        **both("products_in_electronics", pulse.products, "mass"),
        "too_low_by": _heights(found.lows),
        "time_beyond_wanted": [
            {"below_ratio": share, **both("time", value, "time")}
            for share, value in zip(SHARES, found.durations, strict=True)
        ],
        "too_high_by": _heights(found.highs),
        "leak": _leak(found.leak),
        **both("static_ports_as_one_hole", found.ports, "length"),
        "changes": [_shown(each) for each in found.changes],
        "map": {
            "leak_m": [clean(each) for each in found.leak_grid.tolist()],
            "static_ports_m": [clean(each) for each in found.port_grid.tolist()],
            "too_low_by_m": [[clean(each) for each in row] for row in found.grid.tolist()],
        },
        "same_pulse_at": [
            {**_height("altitude", h), **_height("too_low_by", error)} for h, error in found.aloft
        ],
        **foot(found.case, found.warnings),
    }


def _height(name: str, value: float) -> dict[str, Any]:
    """Return an altitude under two names, in metres and feet."""
    return {f"{name}_m": clean(value), f"{name}_ft": clean(units.convert(value, "ft"))}


def _heights(values: Spans) -> list[dict[str, Any]]:
    return [
        {"below_ratio": share, **_height("error", value)}
        for share, value in zip(SHARES, values, strict=True)
    ]


def _shown(each: Shown) -> dict[str, Any]:
    return {
        "name": each.name or "as it is",
        **_height("too_low_by", each.low),
        **both("too_low_at", each.low_time, "time"),
        **both("too_low_beyond_wanted_for", each.low_beyond, "time"),
        **_height("too_high_by", each.high),
        **both("too_high_at", each.high_time, "time"),
        **both("too_high_beyond_wanted_for", each.high_beyond, "time"),
        **both("pulse", each.pressure, "gauge pressure"),
        "sampled": [_height("error", value) for value in each.sampled],
        "filtered": [_height("error", value) for value in each.filtered],
    }


def _leak(leak: Leak) -> dict[str, Any]:
    return {
        **both("present", leak.present, "length"),
        "present_stays_below": chance_numbers(leak.present_chance),
        **both("largest", leak.largest, "length"),
        **both("largest_low", leak.low, "length"),
        **both("largest_high", leak.high, "length"),
        "stays_below": None if leak.chance is None else chance_numbers(leak.chance),
        "largest_is_largest_tried": leak.at_ceiling,
        "discharge_ratio": clean(leak.discharge),
    }


def altimeter_csv(found: Altimeters) -> str:
    """Return the curves with nothing scattering, as a table.

    Parameters
    ----------
    found : Altimeters
        Findings.

    Returns
    -------
    str
        Comma-separated, names with their units in the first line.
    """
    pulse = found.pulse
    names = (
        "time_s", "bay_gauge_pressure_Pa", "electronics_gauge_pressure_Pa", "altitude_error_m",
        "altitude_error_ft", "filtered_altitude_error_m",
    )  # fmt: skip
    table = np.column_stack(
        (pulse.times, pulse.bay - pulse.ambient, pulse.electronics - pulse.ambient, found.errors,
         units.convert(1.0, "ft") * found.errors, found.filtered)
    )  # fmt: skip
    rows = [",".join(f"{value:.9g}" for value in row) for row in table.tolist()]
    return "\n".join([",".join(names), *rows]) + "\n"
