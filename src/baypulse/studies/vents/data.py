"""The study of a vent as numbers for other programs: ``numbers.json`` and ``vents.csv``."""

from __future__ import annotations

from typing import Any

from baypulse.case import units
from baypulse.case.drills import SYSTEMS, source
from baypulse.show.data import both, clean
from baypulse.show.study_data import chance_numbers, foot, head
from baypulse.studies.vents.result import Lower, Upper, VentAscent, Vents
from baypulse.studies.vents.text import answer, headline, matters


def vent_numbers(vents: Vents) -> dict[str, Any]:
    """Return everything about the window of a vent, ready for JSON.

    Every name of a number that has a unit ends in it. A vent is told by the diameter of the single
    hole that has its area.

    Parameters
    ----------
    vents : Vents
        Findings.
    """
    return {
        **head("vents", vents.case),
        "headline": headline(vents),
        "sentences": answer(vents),
        "reliability_ratio": clean(vents.wanted),
        "confidence_ratio": 0.95,
        "share_of_hold_ratio": clean(vents.share),
        "window": vents.is_window,
        "simulated_shots": vents.members,
        "seed": vents.seed,
        "runs": vents.runs,
        "vent": {
            "name": vents.vent.name,
            "assumed": vents.vent.assumed,
            "count": vents.vent.count,
            **both("hole_diameter", vents.vent.diameter, "length"),
            **both("single_hole", vents.vent.single, "length"),
            "place": vents.place,
        },
        "ascent": vents.way,
        "drag_included": vents.pulled,
        **both("greatest_hole_searched", vents.greatest, "length"),
        **both("hold_low_side", vents.lower.hold, "force"),
        "smallest": _lower(vents.lower),
        "smallest_with_gap_open": None if vents.leaky is None else _lower(vents.leaky),
        "largest": _upper(vents.upper),
        "present": {**_push(vents.present), "separates": chance_numbers(vents.present_chance)},
        "closed": {**_push(vents.sealed), "separates": chance_numbers(vents.sealed_chance)},
        "ascent_curve": [_push(push) for push in vents.pushes],
        "ascent_curve_with_gap_open": [_push(push) for push in vents.leaky_pushes],
        "separation_curve": [
            {**both("single_hole", single, "length"), "separates": chance_numbers(each)}
            for single, each in vents.chances
        ],
        "shots": [
            {
                "name": shot.name,
                **both("single_hole", shot.single, "length"),
                "slower_powder": shot.slow,
                "gas_lost_ratio": clean(shot.lost),
                **both("peak_pressure", shot.peak, "gauge pressure"),
                **both("burn_time", shot.burn_time, "time"),
                **both("clear_time", shot.clear_time, "time"),
                "separates": chance_numbers(shot.opens),
            }
            for shot in vents.shots
        ],
        "matters": matters(vents),
        "matters_with_slower_powder": matters(vents, slow=True),
        "bleed": None if vents.bleed is None else {
            **both("single_hole", vents.bleed.single, "length"),
            **both("hot_time_constant", vents.bleed.hot, "time"),
            **both("cold_time_constant", vents.bleed.cold, "time"),
            **both("hot_temperature", vents.bleed.temperature, "temperature"),
        },
        "matters_from": None if vents.turn is None else {
            "times_slower_ratio": clean(vents.turn.times),
            **both("burn_time", vents.turn.burn_time, "time"),
            "taken_of_peak_ratio": clean(vents.turn.taken),
            "separates_without_vent": vents.turn.opens,
            "separates_with_vent": vents.turn.still,
        },
        "drills": [
            {
                "count": each.count,
                "drill": each.drill.name,
                "system": each.drill.system,
                **both("hole_diameter", each.drill.diameter, "length"),
                **both("single_hole", each.single, "length"),
            }
            for each in vents.patterns
        ],
        "drill_sources": {system: source(system) for system in SYSTEMS},
        "remedies": [
            {
                "change": each.change,
                "smallest": _lower(each.lower),
                "largest": _upper(each.upper),
                "opens_window": each.opens_window,
            }
            for each in vents.remedies
        ],
        **foot(vents.case, vents.warnings),
    }  # fmt: skip


def _lower(lower: Lower) -> dict[str, Any]:
    return {"state": lower.state, **both("single_hole", lower.single, "length")}


def _upper(upper: Upper) -> dict[str, Any]:
    return {
        "state": upper.state,
        **both("single_hole", upper.single, "length"),
        **both("low_single_hole", upper.low, "length"),
        **both("high_single_hole", upper.high, "length"),
        "separates": chance_numbers(upper.chance),
    }


def _push(push: VentAscent) -> dict[str, Any]:
    return {
        **both("single_hole", push.single, "length"),
        **both("force", push.force, "force"),
        **both("pressure_difference", push.pressure, "gauge pressure"),
        **both("drag", push.drag, "force"),
        **both("time", push.time, "time"),
        **both("altitude", push.altitude, "length"),
    }


def vent_csv(vents: Vents) -> str:
    """Return the ascent over the vent as a table, a row for each diameter.

    Parameters
    ----------
    vents : Vents
        Findings.

    Returns
    -------
    str
        Comma-separated, names in the first line, each with its unit at its end.
    """
    names = ("single_hole_mm", "single_hole_in", "force_N", "force_lbf", "share_of_hold_ratio",
             "pressure_difference_Pa", "pressure_difference_psi", "time_s",
             "altitude_m")  # fmt: skip
    lines = [",".join(names)]
    for push in vents.pushes:
        row = (
            units.convert(push.single, "mm"), units.convert(push.single, "in"), push.force,
            units.convert(push.force, "lbf"), push.force / vents.lower.hold, push.pressure,
            units.convert(push.pressure, "psi"), push.time, push.altitude,
        )  # fmt: skip
        lines.append(",".join(f"{value:.9g}" for value in row))
    return "\n".join(lines) + "\n"
