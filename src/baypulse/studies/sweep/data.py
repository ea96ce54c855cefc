"""A sweep as numbers for other programs: ``numbers.json`` and ``sweep.csv``."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from baypulse.case import units
from baypulse.members.quantities import Quantity
from baypulse.run.result import VERDICTS
from baypulse.show.data import (
    CUSTOMARY,
    suffix,
)
from baypulse.show.figures.quantity_curves import is_chance
from baypulse.show.study_data import foot, head, in_si, limit_numbers, listed
from baypulse.studies.sweep.grid import axis_scale
from baypulse.studies.sweep.result import Axis, Sweep


def sweep_numbers(sweep: Sweep) -> dict[str, Any]:
    """Return everything that a sweep found, ready for JSON.

    Every name of a number that has a unit ends in it; lists stand in SI. Over two inputs a list
    holds a list for each value of the first.

    Parameters
    ----------
    sweep : Sweep
        Findings.
    """
    words = np.array(VERDICTS, dtype=object)
    return {
        **head("sweep", sweep.case),
        "simulated_shots": sweep.members,
        "seed": sweep.seed,
        "axes": [
            {"path": axis.path, "label": axis.label, _values_name(axis): listed(axis.values)}
            for axis in sweep.axes
        ],
        "verdicts": words[sweep.verdict].tolist(),
        "quantities": [_quantity(each) for each in sweep.quantities],
        **foot(sweep.case, sweep.warnings),
    }


def sweep_csv(sweep: Sweep) -> str:
    """Return a sweep as a table with a row for each point; what did not happen is left empty.

    Parameters
    ----------
    sweep : Sweep
        Findings.

    Returns
    -------
    str
        Comma-separated, names in the first line, each with its unit at its end.
    """
    names: list[str] = []
    columns: list[list[str]] = []

    def add(name: str, values: np.ndarray, dimension: str) -> None:
        flat = np.asarray(values, dtype=float).ravel()
        names.append(f"{name}_{suffix(units.SI_UNITS[dimension])}")
        columns.append(_cells(flat))
        other = CUSTOMARY.get(dimension)
        if other is not None:
            names.append(f"{name}_{suffix(other)}")
            columns.append(_cells(units.convert(flat, other)))  # type: ignore[arg-type]

    grid = np.meshgrid(*(axis.values for axis in sweep.axes), indexing="ij")
    for axis, values in zip(sweep.axes, grid, strict=True):
        if axis_scale(axis).whole:
            names.append(axis.path)
            columns.append(_cells(values.ravel()))
        else:
            add(axis.path, values, axis.dimension)
    names.append("verdict")
    columns.append([VERDICTS[int(code)] for code in sweep.verdict.ravel()])
    for each in sweep.quantities:
        name = f"chance_{each.name}" if is_chance(each) else each.name
        add(name, each.middle, each.dimension)
        for end, values in (("low", each.low), ("high", each.high)):
            if values is not None:
                add(f"{name}_{end}", values, each.dimension)
    lines = [",".join(names), *(",".join(row) for row in zip(*columns, strict=True))]
    return "\n".join(lines) + "\n"


def _cells(values: Any) -> list[str]:
    return [f"{value:.9g}" if math.isfinite(value) else "" for value in np.asarray(values).tolist()]


def _values_name(axis: Axis) -> str:
    return "values" if axis_scale(axis).whole else in_si("values", axis.dimension)


def _quantity(each: Quantity) -> dict[str, Any]:
    found: dict[str, Any] = {"name": each.name, "label": each.label, "chance": is_chance(each)}
    for name, values in (("middle", each.middle), ("low", each.low), ("high", each.high)):
        found[in_si(name, each.dimension)] = None if values is None else listed(values)
    return found | {"limits": limit_numbers(each.limits, each.dimension)}
