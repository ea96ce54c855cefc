"""The study of a cord as numbers for other programs: ``numbers.json`` and ``cord.csv``."""

from __future__ import annotations

import math
from typing import Any

from baypulse.case import units
from baypulse.show.data import CUSTOMARY, both, clean, suffix
from baypulse.show.study_data import chance_numbers, foot, head
from baypulse.studies.cord.result import (
    SHARES,
    BrakedCord,
    CarriedLoad,
    CordKind,
    Cords,
    Point,
    Spans,
)


def cord_numbers(cords: Cords) -> dict[str, Any]:
    """Return everything that was found, ready for JSON; a margin without load is None.

    Parameters
    ----------
    cords : Cords
        Findings.
    """
    return {
        **head("cord", cords.case),
        "wanted_margin_ratio": clean(cords.wanted),
        "simulated_shots": cords.members,
        "seed": cords.seed,
        "runs": cords.runs,
        "separates": chance_numbers(cords.opened),
        **both("nominal_load", cords.nominal_load, "force"),
        "nominal_margin_ratio": clean(cords.own.nominal),
        **_load(cords.load),
        "margins": _spans("margin", cords.margins, "ratio"),
        "velocity_after_jerk": _spans("velocity_after_jerk", cords.rebound, "velocity"),
        "exceeds_a_strength": chance_numbers(cords.exceeded),
        "links": [
            {
                "name": link.name,
                **both("strength", link.strength, "force"),
                "strengths": _spans("strength", link.strengths, "force"),
                "weakest": chance_numbers(link.weakest),
                "exceeded": chance_numbers(link.exceeded),
            }
            for link in cords.links
        ],
        **both("shortest_length", cords.shortest, "length"),
        **both("longest_length", cords.longest, "length"),
        "types": [_kind(kind) for kind in cords.kinds],
        **both("energy_when_brake_begins", cords.parting_energy, "energy"),
        "stages": [
            {
                "name": stage.name,
                **both("force", stage.force, "force"),
                **both("stroke", stage.stroke, "length"),
                **both("length", stage.length, "length"),
                **both("energy", stage.energy, "energy"),
                "energies": _spans("energy", stage.energies, "energy"),
                "torn": chance_numbers(stage.torn),
            }
            for stage in cords.stages
        ],
        "trial": None
        if math.isnan(cords.trial[0])
        else {
            **both("force", cords.trial[0], "force"),
            **both("stroke", cords.trial[1], "length"),
        },
        "brakes": [_brake(each) for each in cords.brakes],
        **foot(cords.case, cords.warnings),
    }


def _spans(name: str, values: Spans, dimension: str) -> list[dict[str, Any]]:
    return [
        {"below_ratio": share, **both(name, value, dimension)}
        for share, value in zip(SHARES, values, strict=True)
    ]


def _load(load: CarriedLoad) -> dict[str, Any]:
    return {
        "loads": _spans("load", load.loads, "force"),
        "margin_of_95_percent_ratio": clean(load.margin),
        "without_load_ratio": clean(load.unloaded),
    }


def _point(point: Point) -> dict[str, Any]:
    return {**both("length", point.length, "length"), **_load(point.load)}


def _kind(kind: CordKind) -> dict[str, Any]:
    return {
        "name": kind.name,
        "own": kind.own,
        **both("strength", kind.strength, "force"),
        "weakest_link": kind.weakest,
        "nominal_margin_ratio": clean(kind.nominal),
        "present": _point(kind.present),
        "needed": None if kind.needed is None else _point(kind.needed),
        "needed_is_shortest_tried": kind.at_shortest,
        "points": [_point(point) for point in kind.points],
    }


def _brake(brake: BrakedCord) -> dict[str, Any]:
    return {
        "stages": brake.stages,
        **both("nominal_load", brake.nominal, "force"),
        **both("energy", brake.energy, "energy"),
        **_load(brake.load),
        "stopped": chance_numbers(brake.stopped),
        "parachute_out": None if brake.contents_out is None else chance_numbers(brake.contents_out),
    }


def cord_csv(cords: Cords) -> str:
    """Return every type at every length that was run, as a table.

    Parameters
    ----------
    cords : Cords
        Findings.

    Returns
    -------
    str
        Comma-separated, names in the first line, each with its unit at its end; an empty cell is
        a margin without load.
    """
    names = ["type", "own"]
    loads = [f"load_{100.0 * share:.0f}_percent_below" for share in SHARES]
    columns = [("length", "length"), *((name, "force") for name in loads)]
    for name, dimension in columns:
        names += [f"{name}_{suffix(unit)}" for unit in _units(dimension)]
    names += ["margin_of_95_percent_ratio", "without_load_ratio", "holds_wanted_margin"]
    lines = [",".join(names)]
    for kind in cords.kinds:
        for point in kind.points:
            cells = [kind.name, str(kind.own).lower()]
            values = [point.length, *point.load.loads]
            for value, (_, dimension) in zip(values, columns, strict=True):
                cells += [f"{units.convert(value, unit):.9g}" for unit in _units(dimension)]
            margin = point.load.margin
            cells += [f"{margin:.9g}" if math.isfinite(margin) else ""]
            cells += [f"{point.load.unloaded:.9g}", str(margin >= cords.wanted).lower()]
            lines.append(",".join(cells))
    return "\n".join(lines) + "\n"


def _units(dimension: str) -> tuple[str, str]:
    return units.SI_UNITS[dimension], CUSTOMARY[dimension]
