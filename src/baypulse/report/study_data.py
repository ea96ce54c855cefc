"""Studies as numbers for other programs: ``numbers.json`` and ``sweep.csv``."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from baypulse import units
from baypulse.caution import CAUTION
from baypulse.model import Case
from baypulse.plot.swept import axis_scale, is_chance
from baypulse.report.data import (
    CUSTOMARY,
    both,
    case_as_read,
    clean,
    doubts,
    fingerprint,
    suffix,
    versions,
)
from baypulse.report.scatter_text import advice, dimension_of, scattered_paths, source_of
from baypulse.result import VERDICTS
from baypulse.study.chances import Chance
from baypulse.study.factors import nominal_at, spread_at
from baypulse.study.findings import (
    Axis,
    Band,
    Distribution,
    Limit,
    Output,
    Quantity,
    Scatter,
    Sweep,
)

SCHEMA_VERSION = 2
"""Version of the layout of both studies' ``numbers.json``; grows when a key changes its meaning."""


def scatter_numbers(scatter: Scatter) -> dict[str, Any]:
    """Return everything that a scatter study found, ready for JSON.

    Every name of a number that has a unit ends in it; lists stand in SI.

    Parameters
    ----------
    scatter : Scatter
        Findings.
    """
    rare = scatter.rare
    return {
        **head("scatter", scatter.case),
        "simulated_shots": scatter.members,
        "seed": scatter.seed,
        "sampling": scatter.sampling,
        "confidence_ratio": 0.95,
        "verdicts": [chance_numbers(each) for each in scatter.verdicts],
        "parachute": [chance_numbers(each) for each in scatter.contents],
        "limits_exceeded": [chance_numbers(each) for each in scatter.limits],
        "rare": None if rare is None else {
            "name": scatter.rare_name,
            "resolved": rare.resolved,
            "reason": rare.reason,
            "share_ratio": clean(rare.share),
            "low_ratio": clean(rare.low),
            "high_ratio": clean(rare.high),
            "effective_simulated_shots": clean(rare.effective),
            "simulated_shots": rare.members,
            "evaluations": rare.evaluations,
        },
        "distributions": [_distribution(each) for each in scatter.distributions],
        "bands": [_band(each) for each in scatter.bands],
        "outputs": [_output(scatter, each) for each in scatter.outputs],
        "influence_runs": scatter.influence_runs,
        "factors": [
            {"name": factor.name, "label": factor.label, "paths": list(factor.paths),
             "common": factor.common, "columns": len(factor.columns)}
            for factor in scatter.factors
        ],
        "scattered": [_scattered(scatter.case, path) for path in scattered_paths(scatter.factors)],
        **foot(scatter.case, scatter.warnings),
    }  # fmt: skip


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
            {"path": axis.path, "label": axis.label, _values_name(axis): _list(axis.values)}
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


def head(study: str, case: Case) -> dict[str, Any]:
    """Return what the numbers of every study begin with."""
    return {
        "schema_version": SCHEMA_VERSION,
        "study": study,
        "name": case.name,
        "title": case.title,
    }


def foot(case: Case, warnings: tuple[str, ...]) -> dict[str, Any]:
    """Return what the numbers of every study end with."""
    return {
        "warnings": list(warnings),
        "case": case_as_read(case),
        "doubts": doubts(case),
        "caution": CAUTION,
        "versions": versions(),
        "sha256": fingerprint(case),
    }


def chance_numbers(each: Chance) -> dict[str, Any]:
    """Return a chance for JSON."""
    return {
        "name": each.name,
        "count": each.count,
        "simulated_shots": each.members,
        "share_ratio": clean(each.share),
        "low_ratio": clean(each.low),
        "high_ratio": clean(each.high),
    }


def _list(values: Any) -> Any:
    """Return an array as lists of numbers, None for what is none."""
    if isinstance(values, np.ndarray):
        return [_list(each) for each in values] if values.ndim > 1 else [
            clean(each) for each in values.tolist()
        ]  # fmt: skip
    return [clean(each) for each in values]


def _in_si(name: str, dimension: str) -> str:
    return f"{name}_{suffix(units.SI_UNITS[dimension])}"


def _limits(limits: tuple[Limit, ...], dimension: str) -> list[dict[str, Any]]:
    return [{"label": limit.label, **both("value", limit.value, dimension)} for limit in limits]


def _distribution(held: Distribution) -> dict[str, Any]:
    return {
        "name": held.name,
        "label": held.label,
        "happened": held.happened,
        "simulated_shots": held.members,
        "quantiles": [
            {"below_ratio": clean(share), **both("value", value, held.dimension)}
            for share, value in zip(held.shares, held.quantiles, strict=True)
        ],
        **both("mean", held.mean, held.dimension),
        **both("deviation", held.deviation, held.dimension),
        _in_si("edges", held.dimension): _list(held.edges),
        "counts": [int(count) for count in held.counts],
        "limits": _limits(held.limits, held.dimension),
    }


def _band(band: Band) -> dict[str, Any]:
    return {
        "name": band.name,
        "label": band.label,
        "simulated_shots": band.members,
        "times_s": _list(band.times),
        _in_si("nominal", band.dimension): _list(band.nominal),
        "below": [
            {"below_ratio": clean(share), _in_si("values", band.dimension): _list(values)}
            for share, values in zip(band.shares, band.values, strict=True)
        ],
        "limits": _limits(band.limits, band.dimension),
    }


def _output(scatter: Scatter, output: Output) -> dict[str, Any]:
    return {
        "name": output.name,
        "label": output.label,
        **both("nominal", output.nominal, output.dimension),
        "swings": [
            {"factor": swing.factor, **both("low", swing.low, output.dimension),
             **both("high", swing.high, output.dimension)}
            for swing in output.swings
        ],
        "influences": [
            {
                "factor": each.factor,
                **{f"{name}_ratio": clean(getattr(each, name))
                   for name in ("first", "first_low", "first_high",
                                "total", "total_low", "total_high")},
            }
            for each in output.influences
        ],
        "reason": output.reason,
        "advice": advice(scatter, output),
    }  # fmt: skip


def _scattered(case: Case, path: str) -> dict[str, Any]:
    """Return a value that scatters with its spread, in SI."""
    spread = spread_at(case, path)
    dimension = dimension_of(path)
    return {
        "path": path,
        **both("nominal", nominal_at(case, path), dimension),
        "distribution": spread.distribution,
        _in_si("deviation", dimension): clean(spread.deviation),
        _in_si("low", dimension): clean(spread.low),
        _in_si("high", dimension): clean(spread.high),
        _in_si("sample", dimension): _list(spread.sample),
        "group": spread.group,
        "correlation_ratio": clean(spread.correlation),
        "source": source_of(case, path),
    }


def _values_name(axis: Axis) -> str:
    return "values" if axis_scale(axis).whole else _in_si("values", axis.dimension)


def _quantity(each: Quantity) -> dict[str, Any]:
    found: dict[str, Any] = {"name": each.name, "label": each.label, "chance": is_chance(each)}
    for name, values in (("middle", each.middle), ("low", each.low), ("high", each.high)):
        found[_in_si(name, each.dimension)] = None if values is None else _list(values)
    return found | {"limits": _limits(each.limits, each.dimension)}
