"""A scatter as numbers for other programs: ``numbers.json``."""

from __future__ import annotations

from typing import Any

from baypulse.case.model import Case
from baypulse.members.factors import nominal_at, spread_at
from baypulse.show.data import (
    both,
    clean,
)
from baypulse.show.study_data import chance_numbers, foot, head, in_si, limit_numbers, listed
from baypulse.show.text import dimension_of
from baypulse.studies.scatter.result import Band, Distribution, Output, Scatter
from baypulse.studies.scatter.text import advice, scattered_paths, source_of


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
        in_si("edges", held.dimension): listed(held.edges),
        "counts": [int(count) for count in held.counts],
        "limits": limit_numbers(held.limits, held.dimension),
    }


def _band(band: Band) -> dict[str, Any]:
    return {
        "name": band.name,
        "label": band.label,
        "simulated_shots": band.members,
        "times_s": listed(band.times),
        in_si("nominal", band.dimension): listed(band.nominal),
        "below": [
            {"below_ratio": clean(share), in_si("values", band.dimension): listed(values)}
            for share, values in zip(band.shares, band.values, strict=True)
        ],
        "limits": limit_numbers(band.limits, band.dimension),
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
        in_si("deviation", dimension): clean(spread.deviation),
        in_si("low", dimension): clean(spread.low),
        in_si("high", dimension): clean(spread.high),
        in_si("sample", dimension): listed(spread.sample),
        "group": spread.group,
        "correlation_ratio": clean(spread.correlation),
        "source": source_of(case, path),
    }
