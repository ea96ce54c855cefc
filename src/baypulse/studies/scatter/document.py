"""What a scatter says: chances, what drives them, how the numbers scatter."""

from __future__ import annotations

import math
from functools import partial
from typing import Any

from baypulse.case.model import Case
from baypulse.case.quantities import capital
from baypulse.case.unit_table import SI_UNITS
from baypulse.members.chances import chance
from baypulse.members.factors import nominal_at, spread_at
from baypulse.members.quantities import Limit
from baypulse.show.cells import both, clean, suffix
from baypulse.show.document import (
    Between,
    Column,
    Document,
    Figure,
    Quantity,
    Section,
    Table,
    of_case,
)
from baypulse.show.phrases import charge, dimension_of
from baypulse.studies.scatter import figures, words
from baypulse.studies.scatter.result import Band, Distribution, Output, Scatter

UNKNOWN = (
    "The chances hold for the spreads listed here and for this model, and for nothing else. "
    "Most spreads of the library are estimates; an input that is listed without a source has "
    "nobody behind it. The intervals say how well this number of shots pins a chance down, not "
    "how well the model knows the bay: the model has one pressure and two zones of gas in the bay "
    "and moves the sections along one line, it knows no jet of flame on a wall, no shoulder that "
    "tilts and jams, no lines that tangle, and no measured pressure trace of a recovery bay was "
    "found to compare it with. A damp charge, a forgotten plug or a knot tied wrong is in no "
    "spread. A ground test knows them all."
)
"""What the chances do not know."""

CHANCES = (
    "Share of the shots with each verdict. The whisker is the interval that holds the "
    "chance with 95 % confidence."
)
"""What the figure of the chances shows."""

HISTOGRAMS = (
    "How many shots gave which value. Broken lines mark the values below which "
    "5, 50 and 95 % of the shots lie, heavy ones the limits."
)
"""What the figure of the numbers shows."""

DRIVERS = (
    "Bars, if any: the value when one input alone stands at its 10 % point (low) or its "
    "90 % point (high). Marks: the share of the variance that an input takes alone "
    "(first-order index) and together with others (total index), with their 95 % intervals."
)
"""What the figure of the drivers of a number shows."""

BELOW = (("below_5_percent", "5 %", 0.05), ("median", "Median", 0.5),
         ("below_95_percent", "95 %", 0.95))  # fmt: skip
"""Values of a number in its table: name, label, share of the shots below."""

SAMPLING = {"sobol": "scrambled Sobol' points", "latin": "Latin hypercube"}
"""How the shots were drawn, in words."""


def document(scatter: Scatter, *, kept: bool = True) -> Document:
    """Return what a scatter says.

    Parameters
    ----------
    scatter : Scatter
        Findings.
    kept : bool
        Whether its shots stand beside the report.
    """
    return of_case(
        scatter.case,
        "scatter",
        about=f"Charge: {charge(scatter.case)}",
        headline=words.headline(scatter),
        sentences=tuple(words.meaning(scatter)),
        next_steps=tuple(words.advice(scatter, output)[0] for output in scatter.outputs),
        first=_chances(scatter),
        warnings=scatter.warnings,
        sections=(
            Section("Chances", (Figure("chances", CHANCES, partial(figures.chances, scatter)),)),
            *_drivers(scatter),
            *_numbers(scatter),
            *_bands(scatter),
            Section("What scattered", (
                f"{words.from_library(scatter)} A measured value in the case, with its own "
                "spread, takes the place of the library's.",
                _inputs(scatter),
            )),
        ),
        unknown=UNKNOWN,
        effort=f"{scatter.members:,} shots, {SAMPLING.get(scatter.sampling, scatter.sampling)}, "
        f"seed {scatter.seed}; {scatter.influence_runs:,} runs behind the indices."
        + " The shots themselves are in the folder simulated-shots." * kept,
        findings=_findings(scatter),
        kept=("simulated-shots",),
    )  # fmt: skip


def _chances(scatter: Scatter) -> Table:
    groups = (("", scatter.verdicts), ("", scatter.contents), ("exceeds: ", scatter.limits))
    return Table(
        "chances",
        (Column("name", "Outcome"), Column("chance", "Chance, with its 95 % interval")),
        tuple((f"{before}{each.name}", each) for before, group in groups for each in group),
    )


def _drivers(scatter: Scatter) -> tuple[Section, ...]:
    """Return what would narrow each number, its figure and its indices."""
    parts: list[Any] = []
    for output in scatter.outputs:
        parts.append(" ".join(words.advice(scatter, output)))
        if figures.has_swings(output) or output.influences:
            draw = partial(figures.drivers, scatter, output)
            parts.append(Figure(f"drivers-{output.name}", DRIVERS, draw))
        if output.influences:
            parts.append(_indices(scatter, output))
    return (Section("What would narrow the answer", tuple(parts)),) if parts else ()


def _indices(scatter: Scatter, output: Output) -> Table:
    labels = {factor.name: factor.label for factor in scatter.factors}
    return Table(
        f"indices_{output.name}",
        (
            Column("name", "Input"), Column("first_order", "First-order index", "ratio"),
            Column("total", "Total index", "ratio"),
        ),
        tuple(
            (labels.get(name, name), Between(each.first, each.first_low, each.first_high),
             Between(each.total, each.total_low, each.total_high))
            for name, _, each in figures.rows_of(output) if each is not None
        ),
        look="again",
    )  # fmt: skip


def _numbers(scatter: Scatter) -> tuple[Section, ...]:
    if not scatter.distributions:
        return ()
    rows = []
    for held in scatter.distributions:
        values = dict(zip(held.shares, held.quantiles, strict=True))
        shown = [Quantity(values.get(share, math.nan), held.dimension) for *_, share in BELOW]
        happened = chance("", held.happened, held.members)
        rows.append((capital(held.label), happened, *shown))
    table = Table(
        "numbers",
        (
            Column("name", "Number"), Column("happened", "Happened in"),
            *(Column(name, label, absent="none") for name, label, _ in BELOW),
        ),
        tuple(rows),
    )  # fmt: skip
    figure = Figure("histograms", HISTOGRAMS, partial(figures.histograms, scatter))
    return (Section("Numbers", (figure, table)),)


def _bands(scatter: Scatter) -> tuple[Section, ...]:
    if not scatter.bands:
        return ()
    caption = (
        f"Curves of {scatter.bands[0].members:,} of the shots, on one axis of time: at each "
        "time half of them lie within the hatched band, nine of ten within the plain one. "
        "The broken curve is the run in which nothing scatters."
    )
    return (Section("Curves", (Figure("bands", caption, partial(figures.bands, scatter)),)),)


def _inputs(scatter: Scatter) -> Table:
    """Return name, value, spread and source of everything that scatters."""
    rows = []
    for path in words.scattered_paths(scatter.factors):
        kind, value = dimension_of(path), nominal_at(scatter.case, path)
        spread = words.spread_words(spread_at(scatter.case, path), value, kind)
        rows.append((words.path_label(scatter.factors, path), Quantity(value, kind), spread,
                     words.source_of(scatter.case, path)))  # fmt: skip
    return Table(
        "inputs",
        (Column("name", "Input"), Column("value", "Value"), Column("spread", "Spread"),
         Column("source", "Source")),
        tuple(rows),
    )  # fmt: skip


def _findings(scatter: Scatter) -> dict[str, Any]:
    """Return what stands in no table."""
    rare = scatter.rare
    return {
        "simulated_shots": scatter.members,
        "seed": scatter.seed,
        "sampling": scatter.sampling,
        "confidence_ratio": 0.95,
        "rare": None if rare is None else {
            "name": scatter.rare_name,
            "resolved": rare.resolved,
            "reason": rare.reason,
            "share_ratio": clean(rare.share),
            "low_ratio": clean(rare.low),
            "high_ratio": clean(rare.high),
            "effective_simulated_shots": round(rare.effective),
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
        "scattered": [
            _scattered(scatter.case, path) for path in words.scattered_paths(scatter.factors)
        ],
    }  # fmt: skip


def _in_si(name: str, dimension: str) -> str:
    """Return the name of a list of SI values."""
    return f"{name}_{suffix(SI_UNITS[dimension])}"


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
        _in_si("edges", held.dimension): clean(held.edges),
        "counts": held.counts.tolist(),
        "limits": _limits(held.limits, held.dimension),
    }


def _band(band: Band) -> dict[str, Any]:
    return {
        "name": band.name,
        "label": band.label,
        "simulated_shots": band.members,
        "times_s": clean(band.times),
        _in_si("nominal", band.dimension): clean(band.nominal),
        "below": [
            {"below_ratio": clean(share), _in_si("values", band.dimension): clean(values)}
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
        "advice": words.advice(scatter, output),
    }  # fmt: skip


def _scattered(case: Case, path: str) -> dict[str, Any]:
    """Return a value that scatters with its spread, in SI."""
    spread = spread_at(case, path)
    kind = dimension_of(path)
    return {
        "path": path,
        **both("nominal", nominal_at(case, path), kind),
        "distribution": spread.distribution,
        **{_in_si(name, kind): clean(getattr(spread, name))
           for name in ("deviation", "low", "high", "sample")},
        "group": spread.group,
        "correlation_ratio": clean(spread.correlation),
        "source": words.source_of(case, path),
    }  # fmt: skip
