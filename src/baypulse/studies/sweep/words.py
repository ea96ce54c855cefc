"""The sentences of a sweep: where it separates, where limits are reached; the map in letters."""

from __future__ import annotations

import textwrap

import numpy as np

from baypulse.case import quantities
from baypulse.case.quantities import capital
from baypulse.members.quantities import QuantityCurve
from baypulse.run.result import VERDICTS, Verdict
from baypulse.show.figures.quantity_curves import is_chance
from baypulse.show.figures.regions import runs
from baypulse.studies.sweep.result import Axis, Sweep, axis_scale, flattened

LEVELS = (0.5, 0.9, 0.99)
"""Chances whose place on an input is told."""

SURE = 0.99
"""Chance from which a bay is said to open nearly always."""

MOST_ROWS = 21
"""Points up of the map in letters."""

MOST_COLUMNS = 60
"""Points across of the map in letters."""

LETTERS = {
    Verdict.NO_SEPARATION: ".",
    Verdict.PARTIAL_SEPARATION: "-",
    Verdict.SEPARATES: "O",
    Verdict.SEPARATES_TOO_HARD: "#",
    Verdict.UNDECIDED: "?",
}
"""Verdicts in the map of the terminal."""


def axis_value(axis: Axis, value: float) -> str:
    """Return one value of a swept input, as people say it."""
    scale = axis_scale(axis)
    return (
        scale.text(value) if axis.dimension == "ratio" else quantities.show(value, axis.dimension)
    )


def axis_span(axis: Axis, first: int, last: int) -> str:
    """Return a range of a swept input between two of its points."""
    low, high = float(axis.values[first]), float(axis.values[last])
    if axis.dimension == "ratio":
        return f"{axis_value(axis, low)} to {axis_value(axis, high)}"
    return quantities.span(low, high, axis.dimension)


def headline(sweep: Sweep) -> str:
    """Return where the bay separates, or where it mostly does."""
    flat = flattened(sweep)
    opens = flat.verdict == Verdict.SEPARATES.code
    word = "Mostly separates" if sweep.members > 1 else "Separates"
    if not opens.any():
        return f"{word} nowhere in this range without exceeding a limit"
    if opens.all():
        return f"{word} everywhere in this range"
    if len(flat.axes) == 2:
        return f"{word} at {int(opens.sum())} of {opens.size} points"
    stretches = [run for run in runs(flat.verdict) if run[2] is Verdict.SEPARATES]
    axis = flat.axes[0]
    texts = [_stretch(axis, first, last) for first, last, _ in stretches]
    if len(texts) > 3:
        return f"{word} in {len(texts)} separate ranges"
    return f"{word} {' and '.join(texts)}"


def _stretch(axis: Axis, first: int, last: int) -> str:
    """Return "from 0.35 to 1.1 g", with the name of an input that has no unit."""
    name = "" if axis_scale(axis).unit else f" ({axis.label})"
    if first == last:
        return f"at {axis_value(axis, float(axis.values[first]))}{name}"
    return f"from {axis_span(axis, first, last)}{name}"


def over(sweep: Sweep) -> str:
    """Return what was swept."""
    parts = [
        f"{axis.label} from {axis_span(axis, 0, -1)}, {axis.values.size} points"
        if axis.values.size > 1
        else f"{axis.label} at {axis_value(axis, float(axis.values[0]))}"
        for axis in sweep.axes
    ]
    each = (
        f"{sweep.members:,} shots at each, seed {sweep.seed}"
        if sweep.members > 1
        else "one shot at each, nothing scatters"
    )
    return f"{'; '.join(parts)}; {each}"


def meaning(sweep: Sweep) -> list[str]:
    """Return the sentences behind the headline.

    Parameters
    ----------
    sweep : Sweep
        Findings.
    """
    flat = flattened(sweep)
    counts = np.bincount(flat.verdict.ravel(), minlength=len(VERDICTS))
    often = "most frequent verdict" if sweep.members > 1 else "verdict"
    found = []
    if len(flat.axes) == 2:
        parts = [f"{VERDICTS[k]} at {int(counts[k])}" for k in range(counts.size) if counts[k]]
        found.append(f"The {often}: {', '.join(parts)} of {flat.verdict.size} points.")
        return [*found, *_sure(flat)]
    axis = flat.axes[0]
    stretches = runs(flat.verdict)
    if len(stretches) <= 6:
        parts = [f"{name} {_stretch(axis, first, last)}" for first, last, name in stretches]
        found.append(f"The {often} at the points: {'; '.join(parts)}.")
    found += _sure(flat)
    for quantity in flat.quantities:
        found += _crossings(axis, quantity)
    return found


def _sure(sweep: Sweep) -> list[str]:
    """Return at how many points it separates nearly always and hardly ever hard."""
    chances = {each.name: each.middle for each in sweep.quantities if is_chance(each)}
    if "separates" not in chances or "separates_too_hard" not in chances:
        return []
    good = (chances["separates"] >= SURE) & (chances["separates_too_hard"] <= 1.0 - SURE)
    text = "It separates in 99 % of the shots or more, and too hard in 1 % or less,"
    if not good.any():
        return [f"{text} at no point."]
    if len(sweep.axes) == 2:
        return [f"{text} at {int(good.sum())} of {good.size} points."]
    axis = sweep.axes[0]
    inside = np.flatnonzero(good)
    gaps = "" if inside[-1] - inside[0] + 1 == inside.size else ", with gaps"
    return [f"{text} {_stretch(axis, int(inside[0]), int(inside[-1]))}{gaps}."]


def _crossings(axis: Axis, quantity: QuantityCurve) -> list[str]:
    """Return where a quantity crosses its limits, or a chance its levels, between the points."""
    marks: list[tuple[str, float]] = (
        [(f"{100.0 * level:g} %", level) for level in LEVELS]
        if is_chance(quantity)
        else [(f"{quantities.show(limit.value, quantity.dimension)}, {limit.label},", limit.value)
              for limit in quantity.limits]
    )  # fmt: skip
    if axis_scale(axis).whole:
        return []
    found = []
    for name, value in marks:
        at = crossings(axis.values, quantity.middle, value)
        if at.size and at.size < 4:
            places = " and ".join(axis_value(axis, float(x)) for x in at)
            found.append(f"{name} at {places}")
    return [f"The {quantity.label} reaches {'; '.join(found)}."] if found else []


def crossings(x: np.ndarray, y: np.ndarray, value: float) -> np.ndarray:
    """Return where a curve through points passes a value, by straight lines between the points.

    Parameters
    ----------
    x, y : ndarray, shape (n,)
        The points; NaN interrupts the curve.
    value : float
        The value.

    Examples
    --------
    >>> crossings(np.array([0.0, 1.0, 2.0]), np.array([0.0, 2.0, 0.0]), 1.0)
    array([0.5, 1.5])
    """
    above = y >= value
    both = np.isfinite(y[1:]) & np.isfinite(y[:-1]) & (above[1:] != above[:-1])
    k = np.flatnonzero(both)
    return x[k] + (value - y[k]) / (y[k + 1] - y[k]) * (x[k + 1] - x[k])


def thinned(size: int, most: int) -> list[int]:
    """Return at most so many of the first whole numbers, evenly, both ends among them."""
    if size <= most:
        return list(range(size))
    return [round(k) for k in np.linspace(0, size - 1, most)]


def verdict_map(sweep: Sweep) -> str:
    """Return the verdicts of two inputs as letters, the second input upwards."""
    across, up = sweep.axes
    columns = thinned(across.values.size, MOST_COLUMNS)
    names = {j: axis_value(up, float(up.values[j])) for j in thinned(up.values.size, MOST_ROWS)}
    wide = max(len(name) for name in names.values())
    lines = [f"{capital(up.label)} upwards, {across.label} to the right"]
    for j in reversed(names):
        letters = "".join(LETTERS[VERDICTS[int(sweep.verdict[i, j])]] for i in columns)
        lines.append(f"{names[j].rjust(wide)}  {letters}")
    lines.append(f"{' ' * wide}  from {axis_span(across, 0, -1)}")
    used = [VERDICTS[int(code)] for code in np.unique(sweep.verdict)]
    lines += textwrap.wrap(", ".join(f"{LETTERS[name]} {name}" for name in used), MOST_COLUMNS)
    return "\n".join(lines)
