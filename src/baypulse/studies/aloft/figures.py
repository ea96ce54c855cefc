"""Figures of a charge aloft: sources over the altitude, differences, curves of both shots."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import Any

import numpy as np

from baypulse.case.quantities import asked, pretty, short
from baypulse.show.figures.base import (
    BOTTOM,
    EARTH,
    GAP,
    INK,
    LEFT,
    MAIN,
    PANEL,
    PAPER,
    RIGHT,
    SOFT,
    WARM,
    TimeSpan,
    axes_at,
    exchange,
    limits,
    panels,
    points,
    ruler,
    ticks,
    titled,
    window,
    write,
)
from baypulse.show.figures.labels import Labels, broken
from baypulse.show.figures.quantity_curves import percent_ruler, through_chances
from baypulse.show.figures.rows import BAR, row_panels, rows_at, rows_height
from baypulse.show.figures.scales import (
    LIGHT,
    Scale,
    corner,
    scale_of,
)
from baypulse.studies.aloft.gas_sources import COLD_GAS, HOLDER, LOOSE
from baypulse.studies.aloft.result import Aloft, AltitudeStep, SourceAloft
from baypulse.studies.aloft.words import named

LOOKS = {
    LOOSE: (WARM, (0, (5, 2)), "s", PAPER),
    HOLDER: (MAIN, "-", "o", MAIN),
    COLD_GAS: (EARTH, (0, (1, 1.2)), "D", PAPER),
}
"""Colour, dashes, mark and inside of the mark of each source; they differ without colour too."""

BEHIND = 2.0
"""Length of a column over its longest bar: room for a number behind it."""


def over_altitude(aloft: Aloft) -> Any:
    """Draw how high each source holds the target reliability, and its chance over the altitude."""
    foot, tall = BOTTOM + 0.2, 2.6
    names = [named(source) for source in aloft.sources]
    title = f"How high each source of gas separates in {asked(aloft.wanted)} of the shots"
    figure = titled(title, rows_height(names) + 2.0 * GAP + tall + foot)
    bold = [row for row, source in enumerate(aloft.sources) if source.own]
    (above,) = rows_at(figure, foot + tall + 2.0 * GAP, names, bold=bold, left=LEFT, right=RIGHT)
    below = axes_at(figure, LEFT, foot, PANEL, tall)
    scale = scale_of("altitude", aloft.top)
    first, last = (float(scale.to(at)) for at in (aloft.levels[0].altitude, aloft.top))
    room = 0.02 * (last - first)
    for axes in (above, below):
        axes.set_xlim(first - room, last + room)
    _trusted(above, aloft, scale, first, last)
    _chances(below, aloft, scale, first, last)
    return figure


def _trusted(axes: Any, aloft: Aloft, scale: Scale, first: float, last: float) -> None:
    """Draw a bar for each source up to where it holds the target reliability, with the interval."""
    for row, source in enumerate(aloft.sources):
        held = source.height
        if held.altitude == -math.inf:
            axes.text(first, row, " not even at the test site", va="center", color=SOFT)
            continue
        colour, _, mark, paper = LOOKS[source.name]
        end = float(scale.to(min(held.altitude, aloft.top)))
        axes.barh(row, end - first, left=first, height=BAR, facecolor=LIGHT, edgecolor=INK, lw=0.8,
                  hatch="///" if source.own else None)  # fmt: skip
        low, high = (
            min(max(float(scale.to(each)) if math.isfinite(each) else each, first), last)
            for each in (held.low, held.high)
        )
        axes.plot([low, high], [row, row], color=INK, lw=2.2, solid_capstyle="butt", zorder=5)
        if math.isfinite(held.altitude):
            axes.plot([end], [row], mark, color=colour, mfc=paper, ms=5.0, zorder=6)
    for level in aloft.levels[1:]:
        axes.axvline(float(scale.to(level.altitude)), color=SOFT, lw=0.9, ls=(0, (3, 2)))


def _chances(axes: Any, aloft: Aloft, scale: Scale, first: float, last: float) -> None:
    """Draw the chance of every source over the altitude, the wanted one, the altitudes asked."""
    axes.set_ylim(-6.0, 132.0)
    percent_ruler(axes)
    scale.level(axes, "altitude above sea level")
    labels = Labels(axes)
    corner(
        axes, labels,
        f"it separates; whiskers: 95 % interval of {aloft.members:,} shots",
    )  # fmt: skip
    for level in aloft.levels[1:]:
        at = float(scale.to(level.altitude))
        axes.plot([at, at], [-6.0, 106.0], color=SOFT, lw=0.9, ls=(0, (3, 2)), zorder=1)
        axes.text(at, 107.0, short(level.altitude, "altitude"), ha="center", va="bottom", color=INK)
        labels.avoid([at, at], [-6.0, 118.0])
    wanted = 100.0 * aloft.wanted
    axes.axhline(wanted, color=INK, lw=1.2, ls=(0, (7, 3)), zorder=2)
    labels.avoid(axes.get_xlim(), [wanted, wanted])
    found = [
        (source, *_curve(axes, labels, scale, source, k)) for k, source in enumerate(aloft.sources)
    ]
    for k, (source, x, y) in enumerate(found):
        others = [(ox, oy) for j, (_, ox, oy) in enumerate(found) if j != k]
        labels.along(source.name, x, y, LOOKS[source.name][0], others)
    across = np.linspace(first, last, 25)
    name = f"wanted: {asked(aloft.wanted)}"
    labels.put(name, across, np.full(25, wanted), "below", INK, bold=True)


def _curve(
    axes: Any, labels: Labels, scale: Scale, source: SourceAloft, order: int
) -> tuple[np.ndarray, np.ndarray]:
    """Draw one source, its whiskers beside those of the others; return the curve aloft.

    The point at home stands alone: there the bay is set up otherwise.
    """
    colour, dashes, mark, paper = LOOKS[source.name]
    x = np.asarray(scale.to(source.altitudes), dtype=float)
    share = 100.0 * np.array([chance.share for chance in source.chances])
    low, high = axes.get_xlim()
    shift = (order - 1) * 0.004 * (high - low)
    for at, chance in zip(x, source.chances, strict=True):
        axes.plot([at + shift] * 2, [100.0 * chance.low, 100.0 * chance.high], color=colour,
                  lw=1.1, zorder=3)  # fmt: skip
    axes.plot(x + shift, share, mark, color=colour, mfc=paper, ms=4.2, zorder=5)
    dense, line = through_chances(x[1:], share[1:])
    axes.plot(dense, line, color=colour, lw=2.0 if source.own else 1.5, ls=dashes, zorder=4)
    labels.avoid(dense, line)
    labels.avoid([x[0], x[0] + 1e-6], [share[0], share[0]])
    return dense, line


def steps(aloft: Aloft) -> Any:
    """Draw what each difference between home and the highest altitude does, a row each."""
    names = [step.label for step in aloft.steps]
    where = short(aloft.highest.altitude, "altitude")
    columns: list[tuple[str, str, Callable[[AltitudeStep], float | None]]] = [
        ("peak pressure", "gauge pressure", lambda step: step.result.numbers.peak_pressure),
        ("speed when clear", "velocity", lambda step: step.result.numbers.clear_velocity),
        (f"least {aloft.label}", aloft.dimension, lambda step: step.least),
    ]
    title = f"From the ground test to {where}, one difference at a time"
    figure, places = row_panels(
        title, names, head=0.36, foot=BOTTOM + 0.2, bold=(0,), shares=(0.3, 0.3, 0.3)
    )
    for k, (axes, (what, dimension, value)) in enumerate(zip(places, columns, strict=True)):
        heading = broken(what, float(points(axes)[0]) + 6.0, bold=True)[0]
        write(axes, 0.0, 1.0, "\n".join(heading), up=5.0, fontweight="bold", linespacing=1.05)
        marks = [step.result.numbers.pin_pressure if k == 0 else 0.0 for step in aloft.steps]
        _column(axes, [value(step) for step in aloft.steps], dimension, marks)
    return figure


def _column(
    axes: Any, values: Sequence[float | None], dimension: str, marks: Sequence[float]
) -> None:
    """Draw one number of all steps as bars, each with its number behind it and behind its mark."""
    good = [each for each in values if each is not None]
    scale = scale_of(dimension, good or 0.0)
    top = BEHIND * float(scale.to(max([0.0, *good, *marks]))) or 1.0
    axes.set_xlim(0.0, top)
    for row, (each, mark) in enumerate(zip(values, marks, strict=True)):
        long = 0.0 if each is None else float(scale.to(each))
        at = float(scale.to(mark))
        if each is not None:
            axes.barh(row, long, height=BAR, facecolor=LIGHT, edgecolor=INK, lw=0.8,
                      hatch=None if row else "///")  # fmt: skip
        if mark:
            axes.plot([at, at], [row - 0.28, row + 0.28], color=WARM, lw=2.4, zorder=7)
        text, colour = ("none", SOFT) if each is None else (scale.short(each), INK)
        axes.text(max(long, at) + 0.025 * top, row, text, va="center", color=colour, zorder=6)
    if not good:
        return
    end = exchange(top, scale.unit, scale.other, dimension) if scale.other else 0.0
    # a scale with a single number says nothing
    second = end > 0.0 and len(ticks(0.0, end, float(points(axes)[0]) / 52.0)[0]) > 1
    ruler(axes, "bottom", "" if second else pretty(scale.unit))
    if second:
        both = f"{pretty(scale.unit)}, below {pretty(scale.other)}"
        ruler(axes, "bottom", both, (0.0, end), shift=13.0)


def curves(aloft: Aloft) -> Any:
    """Draw pressure and speed of the same charge at home and at the highest altitude."""
    where = short(aloft.highest.altitude, "altitude")
    runs = (
        ("test site", aloft.levels[0].result, MAIN, "-"),
        (where, aloft.highest.result, WARM, (0, (5, 2))),
    )
    figure, (above, below) = panels("The same charge at the test site and aloft", (2.0, 1.4))
    spans = [window(run) for _, run, *_ in runs]
    span = TimeSpan(min(each.start for each in spans), max(each.stop for each in spans))
    pressures = [run.gauge_pressure for _, run, *_ in runs]
    speeds = [run.separation_velocity for _, run, *_ in runs]
    holds = [run.numbers.pin_pressure for _, run, *_ in runs]
    _panel(above, runs, pressures, "gauge pressure", "gauge pressure", span, holds)
    _panel(below, runs, speeds, "velocity", "separation velocity", span, ())
    span.write(below)
    return figure


def _panel(
    axes: Any, runs: Sequence[Any], values: Sequence[np.ndarray], dimension: str, what: str,
    span: TimeSpan, holds: Sequence[float],
) -> None:  # fmt: skip
    """Draw one quantity of both shots, with level lines that belong to them."""
    kept = []
    for (_, run, *_), row in zip(runs, values, strict=True):
        inside = span.points(run.time)
        kept.append((run.time[inside] * span.scale, row[inside]))
    scale = scale_of(dimension, np.concatenate([row for _, row in kept]))
    span.dress(axes)
    high = [float(np.max(scale.to(row), initial=0.0)) for _, row in kept]
    low = [float(np.min(scale.to(row), initial=0.0)) for _, row in kept]
    near = [float(scale.to(each)) for each in holds]
    near = [each for each in near if each <= 3.0 * max(*high, 1e-9)]
    axes.set_ylim(*limits([*high, *low, *near], above=0.5))
    scale.upright(axes)
    labels = Labels(axes)
    corner(axes, labels, what)
    lines = []
    for (name, _, colour, dashes), (x, row) in zip(runs, kept, strict=True):
        y = scale.to(row)
        axes.plot(x, y, color=colour, ls=dashes, lw=1.9, zorder=4)
        labels.avoid(x, y)
        lines.append((name, x, y, colour))
    for (name, _, colour, dashes), each in zip(runs, holds, strict=False):
        up = float(scale.to(each))
        if up in near:
            axes.axhline(up, color=colour, lw=0.9, ls=dashes, zorder=2)
            labels.avoid(axes.get_xlim(), [up, up])
            labels.along(f"holds, {name}: {scale.text(each)}", np.array(axes.get_xlim()),
                         np.full(2, up), colour)  # fmt: skip
    for k, (name, x, y, colour) in enumerate(lines):
        others = [(ox, oy) for j, (_, ox, oy, _) in enumerate(lines) if j != k]
        labels.along(name, x, y, colour, others)


DRAW = {"sources": over_altitude, "steps": steps, "curves": curves}
"""What draws each figure, by its name."""
