"""What a sweep says: where a bay separates over one or two of its inputs."""

from __future__ import annotations

import re
from functools import partial
from itertools import product
from typing import Any

import numpy as np

from baypulse.case.quantities import short
from baypulse.members.quantities import QuantityCurve
from baypulse.run.result import VERDICTS
from baypulse.show import document as shown
from baypulse.show.cells import both
from baypulse.show.document import Between, Column, Document, Figure, Listing, Said, Section, Table
from baypulse.show.figures.quantity_curves import is_chance
from baypulse.show.phrases import charge
from baypulse.studies.sweep import figures, words
from baypulse.studies.sweep.result import Axis, Sweep, axis_scale, flattened

UNKNOWN = (
    "Every point is a computed shot of this model, or several; between the points the lines are "
    "drawn, not computed. The limits are those of the case's nominal values. Chances hold for the "
    "spreads given and for this model; most spreads of the library are estimates. The model has "
    "one pressure and two zones of gas in the bay and moves the sections along one line: it knows "
    "no jet of flame on a wall, no shoulder that tilts and jams, no lines that tangle. A ground "
    "test knows them all."
)
"""What a sweep does not know."""

BAND = (
    " Of a chance the band is its 95 % interval; of a number the line is the median and nine "
    "of ten shots lie within the band."
)
"""What the band about a curve is, where there are several shots at a point."""

ROWS = 13
"""Points of the table on the first screen; all of them are in the file beside the page."""

HEADS = {
    "separates": "Separates",
    "separates_too_hard": "Too hard",
    "peak_pressure": "Peak",
    "greatest_velocity": "Speed",
    "cord_load": "Cord",
}
"""Heads of its columns."""


def document(sweep: Sweep) -> Document:
    """Return what a sweep says.

    Parameters
    ----------
    sweep : Sweep
        Findings.
    """
    flat = flattened(sweep)
    along = len(flat.axes) == 1
    return shown.of_case(
        sweep.case,
        "sweep",
        about=f"Charge of the case: {charge(sweep.case)}",
        headline=words.headline(sweep),
        sentences=(f"Over {words.over(sweep)}.", *words.meaning(sweep)),
        first=_some_points(flat) if along else Listing(words.verdict_map(flat)),
        warnings=sweep.warnings,
        sections=(Section("Curves" if along else "Map", _curves(sweep) if along else _maps(flat)),),
        unknown=UNKNOWN,
        effort=f"{sweep.verdict.size:,} points, {sweep.members:,} shots at each, seed "
        f"{sweep.seed}.",
        findings=_findings(sweep),
        files={"sweep.csv": _points(sweep)},
    )


def _curves(sweep: Sweep) -> tuple[Figure, ...]:
    caption = (
        "The strip on top shows the verdict at each point, heavy broken lines are limits."
        f"{BAND if sweep.members > 1 else ''}"
    )
    return (Figure("curves", caption, partial(figures.curves, sweep)),)


def _maps(flat: Sweep) -> tuple[Figure, ...]:
    verdicts = Figure(
        "verdicts", "The verdict at every point; the lines lie half-way between points.",
        partial(figures.verdict_map, flat),
    )  # fmt: skip
    return (verdicts, *(_map(flat, each) for each in flat.quantities))


def _map(flat: Sweep, quantity: QuantityCurve) -> Figure:
    return Figure(
        f"map-{quantity.name}",
        "Lines at 1, 10, 50, 90 and 99 %, where they occur." if is_chance(quantity)
        else "Thin lines join equal values; a heavy broken line is a limit. Nothing is drawn "
        "where it does not happen.",
        partial(figures.quantity_map, flat, quantity),
    )  # fmt: skip


def _some_points(flat: Sweep) -> Table:
    """Return verdict and every quantity at some points over one input, in one unit each."""
    axis = flat.axes[0]

    def brief(quantity: QuantityCurve, k: int) -> Said | None:
        value = float(quantity.middle[k])
        if not np.isfinite(value):
            return None
        return Said(shown.Quantity(value, quantity.dimension), short(value, quantity.dimension))

    return Table(
        "some_points",
        (
            Column("input", "Input"), Column("verdict", "Verdict"),
            *(Column(each.name, HEADS.get(each.name, each.label)) for each in flat.quantities),
        ),
        tuple(
            (
                Said(_plain(axis, float(axis.values[k])), axis_scale(axis).short(axis.values[k])),
                str(VERDICTS[int(flat.verdict[k])]), *(brief(each, k) for each in flat.quantities),
            )
            for k in words.thinned(axis.values.size, ROWS)
        ),
        title=f"Over the {axis.label}",
        note="Every point is in sweep.csv." if axis.values.size > ROWS else "",
    )  # fmt: skip


def _plain(axis: Axis, value: float) -> Any:
    """Return the value of an input as a cell: a whole number for what is counted."""
    return round(value) if axis_scale(axis).whole else shown.Quantity(value, axis.dimension)


def _points(sweep: Sweep) -> Table:
    """Return every point, a row each."""

    def cell(quantity: QuantityCurve, at: tuple[int, ...]) -> Any:
        if quantity.low is None or quantity.high is None:
            return float(quantity.middle[at])
        middle, low, high = (quantity.middle[at], quantity.low[at], quantity.high[at])
        return Between(float(middle), float(low), float(high), quantity.dimension)

    return Table(
        "sweep",
        (
            *(Column(re.sub(r"\W+", "_", axis.path), axis.label) for axis in sweep.axes),
            Column("verdict", "Verdict"),
            *(Column(f"{'chance_' * is_chance(each)}{each.name}", each.label, each.dimension)
              for each in sweep.quantities),
        ),
        tuple(
            (
                *(_plain(axis, float(axis.values[k]))
                  for axis, k in zip(sweep.axes, at, strict=True)),
                str(VERDICTS[int(sweep.verdict[at])]),
                *(cell(each, at) for each in sweep.quantities),
            )
            for at in product(*(range(axis.values.size) for axis in sweep.axes))
        ),
    )  # fmt: skip


def _findings(sweep: Sweep) -> dict[str, Any]:
    """Return what stands in no table."""
    return {
        "simulated_shots": sweep.members,
        "seed": sweep.seed,
        "axes": [{"path": axis.path, "label": axis.label} for axis in sweep.axes],
        "quantities": [
            {
                "name": each.name, "label": each.label, "chance": is_chance(each),
                "limits": [{"label": limit.label, **both("value", limit.value, each.dimension)}
                           for limit in each.limits],
            }
            for each in sweep.quantities
        ],
    }  # fmt: skip
