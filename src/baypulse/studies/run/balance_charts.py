"""The breakdown from the static rule to the run, and the budget of the energy."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

from baypulse.case import quantities
from baypulse.run.result import Result
from baypulse.show.figures.base import INK, MAIN, SOFT, WARM, ruler
from baypulse.show.figures.rows import BAR, row_panels
from baypulse.show.figures.scales import scale_of

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


def breakdown(result: Result) -> Any:
    """Draw the way from the static rule's pressure to the run's peak, one effect a row."""
    scale = scale_of("gauge pressure", [value for _, value in result.breakdown.steps])
    steps = [(name, scale.to(value)) for name, value in result.breakdown.steps]
    names = [name for name, _ in steps] + ["peak of the run"]
    values = [value for _, value in steps]
    rises = [(value - before, value) for before, value in pairwise([0.0, *values])]
    signs = ["", *("+" if rise > 0.0 else "" for rise, _ in rises[1:])]
    numbers = [
        f"{sign}{quantities.digits(rise)}".replace("-", "\N{MINUS SIGN}")
        for sign, (rise, _) in zip(signs, rises, strict=True)
    ]
    numbers.append(scale.text(result.numbers.peak_pressure))
    title = "From the static rule to the run's peak: each bar adds one effect to the bay held shut"
    figure, (axes,) = row_panels(title, names, numbers, bold=(len(steps),))
    before = 0.0
    most = max(value for _, value in steps)
    least = min(0.0, *(value for _, value in steps))
    for row, (_, value) in enumerate(steps):
        total = row == 0
        rise = value >= before
        axes.barh(
            row, value - before, left=before, height=BAR, edgecolor=INK, lw=0.8,
            facecolor=MAIN if total else "#dbe7ee" if rise else "#f3ddd0",
            hatch=None if total else "\\\\" if rise else "///",
        )  # fmt: skip
        axes.plot([value, value], [row + 0.5 * BAR, row + 1.0 - 0.5 * BAR], color=SOFT, lw=0.8)
        before = value
    row = len(steps)
    axes.barh(row, before, height=BAR, facecolor=MAIN, edgecolor=INK, lw=0.8)
    axes.axvline(0.0, color=SOFT, lw=0.8)
    axes.set_xlim(least, 1.02 * max(most, 1e-3))
    ruler(axes, "bottom", scale.named("gauge pressure"))
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
    names = [NAMES.get(name, name) for name, _ in terms]
    scale = scale_of("energy", result.budget.total)
    part = [value / total for _, value in terms]
    numbers = [
        f"{quantities.short(share, 'ratio')}, {scale.short(value)}"
        for share, (_, value) in zip(part, terms, strict=True)
    ]
    figure, (axes,) = row_panels(f"Where the {what} energy went", names, numbers)
    for row, share in enumerate(part):
        gain = share < 0.0
        axes.barh(row, 100.0 * share, height=BAR, facecolor=WARM if gain else MAIN, edgecolor=INK,
                  lw=0.6, hatch="///" if gain else None)  # fmt: skip
    axes.set_xlim(110.0 * min(0.0, *part), 102.0 * max(part))
    axes.axvline(0.0, color=SOFT, lw=0.8)
    ruler(axes, "bottom", f"share of {scale.text(result.budget.total)} (%)")
    return figure
