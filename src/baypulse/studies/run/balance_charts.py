"""The bridge from the static rule to the run, and the budget of the energy."""

from __future__ import annotations

from typing import Any

from baypulse.case import quantities, units
from baypulse.run.result import Result
from baypulse.show.figures.base import (
    BOTTOM,
    INK,
    LETTER,
    MAIN,
    SOFT,
    TOP,
    WARM,
    WIDTH,
    blank,
    headline,
    points,
    ruler,
)
from baypulse.show.figures.labels import text_width

ROW = 0.27
"""Height of a bar with its share of the gap [in]."""

SMALL = 0.002
"""Share of the whole below which the terms of the budget are drawn as one."""


NAMES = {
    "wall": "heat into the tube",
    "cloth": "heat into the cloth",
    "friction": "friction of the joint",
    "pins": "shearing the pins",
    "stand and ground": "friction of stand and ground",
    "contents": "pulling out the pack",
    "brake": "tearing the brake of the cord",
    "cord": "stretching the cord",
    "motion left": "motion at the end",
}
"""What the terms of the budget are called in a report, where their own name is short."""


def _rows(title: str, names: list[str], right: float) -> tuple[Any, Any]:
    """Return a figure and axes with a row for each name, the first on top."""
    height = TOP + BOTTOM + ROW * len(names)
    figure = blank(height)
    left = max(text_width(name) for name in names) / 72.0 + 0.25
    axes = figure.add_axes(
        (left / WIDTH, BOTTOM / height, (WIDTH - left - right) / WIDTH, ROW * len(names) / height)
    )
    axes.set_axis_off()
    headline(figure, title)
    axes.set_ylim(len(names) - 0.5, -0.5)
    for row, name in enumerate(names):
        axes.text(-8.0 / points(axes)[0], row, name, ha="right", va="center",
                  transform=axes.get_yaxis_transform())  # fmt: skip
    return figure, axes


def bridge(result: Result) -> Any:
    """Draw the way from the static rule's pressure to the run's peak, one effect a row."""
    steps = [(name, units.convert(value, "psi")) for name, value in result.bridge.steps]
    names = [name for name, _ in steps] + ["peak of the run"]
    figure, axes = _rows("From the static rule to the run's peak", names, 0.35)
    before = 0.0
    most = max(value for _, value in steps)
    least = min(0.0, *(value for _, value in steps))
    for row, (_, value) in enumerate(steps):
        total = row == 0
        rise = value >= before
        axes.barh(
            row, value - before, left=before, height=0.62, edgecolor=INK, lw=0.8,
            facecolor=MAIN if total else "#dbe7ee" if rise else "#f3ddd0",
            hatch=None if total else "\\\\" if rise else "///",
        )  # fmt: skip
        text = quantities.digits(value) if total else f"{value - before:+.3g}"
        text = "0" if text in ("+0", "-0") else text
        text = text.replace("-", "\N{MINUS SIGN}")
        axes.text(max(value, before) + 0.012 * most, row, text, va="center", color=INK)
        axes.plot([value, value], [row + 0.31, row + 0.69], color=SOFT, lw=0.8)
        before = value
    row = len(steps)
    axes.barh(row, before, height=0.62, facecolor=MAIN, edgecolor=INK, lw=0.8)
    peak = result.numbers.peak_pressure
    axes.text(
        max(before, 0.0) + 0.012 * most, row, quantities.show(peak, "gauge pressure"), va="center",
        fontweight="bold",
    )  # fmt: skip
    axes.axvline(0.0, color=SOFT, lw=0.8)
    axes.set_xlim(least, 1.12 * max(most, 1e-3))
    ruler(axes, "bottom", "gauge pressure (psi); each bar adds one effect to the bay held shut")
    return figure


def shares(result: Result) -> list[tuple[str, float]]:
    """Return the terms of the budget [J], largest first, the smallest as one.

    Parameters
    ----------
    result : Result
        A run.
    """
    total = result.budget.total
    big = [(n, float(v)) for n, v in result.budget.terms.items() if abs(v) >= SMALL * abs(total)]
    found = sorted(big, key=lambda term: -term[1])
    rest = sum(float(v) for v in result.budget.terms.values()) - sum(v for _, v in found)
    if len(found) < len(result.budget.terms):
        found.append(("all smaller terms", rest))
    return found


def budget(result: Result) -> Any:
    """Draw where the energy of the charge went."""
    terms = shares(result)
    total = result.budget.total or 1.0
    what = "charge's" if result.case.powder is not None else "compressed gas's"
    figure, axes = _rows(
        f"Where the {what} energy went", [NAMES.get(name, name) for name, _ in terms], 1.25
    )
    most = max(abs(value) / total * 100.0 for _, value in terms)
    for row, (_, value) in enumerate(terms):
        percent = 100.0 * value / total
        gain = percent < 0.0
        axes.barh(row, percent, height=0.62, facecolor=WARM if gain else MAIN, edgecolor=INK,
                  lw=0.6, hatch="///" if gain else None)  # fmt: skip
        axes.text(
            max(percent, 0.0) + 0.012 * most, row,
            f"{percent:.1f} %, {quantities.digits(value)} J", va="center", fontsize=LETTER,
        )  # fmt: skip
    axes.set_xlim(min(0.0, *(100.0 * v / total for _, v in terms)) * 1.1, 1.02 * most)
    axes.axvline(0.0, color=SOFT, lw=0.8)
    ruler(axes, "bottom", f"share of {quantities.digits(result.budget.total)} J (%)")
    return figure
