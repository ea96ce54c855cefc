"""The figure of simulated shots: a typical member of each leading cause beside the design."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from baypulse.case.quantities import likely, pretty
from baypulse.run.result import Result
from baypulse.show.figures.base import (
    EARTH,
    LEFT,
    MAIN,
    PAPER,
    RIGHT,
    SMALL,
    SOFT,
    TOP,
    WARM,
    WIDTH,
    TimeSpan,
    axes_at,
    blank,
    exchange,
    headline,
    limits,
    ruler,
    window,
    write,
)
from baypulse.show.figures.labels import Labels
from baypulse.show.figures.scales import Scale, scale_of
from baypulse.studies.why.explanation import Explained, Typical

TALL = 1.15
"""Height of a row [in]."""

ABOVE = 0.44
"""Room for its name above [in]."""

BETWEEN = 1.1
"""Room between its two panels [in]."""

APART = 0.26
"""Room between rows [in]."""

HARDLY = 0.05
"""Travel over the stroke below which it is written, since it is hardly seen."""

LONGEST = 5.0
"""A window ends at the latest after so many times that of the design, or what was seen."""


def curves(found: Explained) -> Any:
    """Draw pressure and travel over time, a row for each leading cause.

    Parameters
    ----------
    found : Explained
        Findings.
    """
    rows, foot, key = found.typical, 0.5, 0.2
    height = TOP + key + len(rows) * (TALL + ABOVE) + (len(rows) - 1) * APART + foot
    figure = blank(height)
    headline(figure, "The shot nearest to what was seen, by cause", LEFT)
    wide = (WIDTH - LEFT - RIGHT - BETWEEN) / 2.0
    seen = {each.kind.name: float(each.value) for each in found.diagnosis.sightings
            if each.value is not None}  # fmt: skip
    edge = height - TOP - key
    for row, typical in enumerate(rows):
        edge -= ABOVE + TALL
        panels = [axes_at(figure, left, edge, wide, TALL) for left in (LEFT, LEFT + wide + BETWEEN)]
        figure.text(LEFT / WIDTH, (edge + TALL + 0.22) / height, _title(typical, seen),
                    fontweight="bold", fontsize=8.5)  # fmt: skip
        shown = _window(found.designed, typical.result, seen.get("time"))
        last = row == len(rows) - 1
        results = (found.designed, typical.result)
        _pressure(panels[0], results, shown, seen.get("peak"), last)
        _travel(panels[1], results, shown, seen, last)
        edge -= APART
    _key(figure, height, bool(seen))
    return figure


def _title(typical: Typical, seen: dict[str, float]) -> str:
    text = f"{typical.finding.name}, {likely(typical.finding.share, whole=True)}"
    if "velocity" in seen:
        unit, speed = scale_of("velocity", seen["velocity"]), typical.result.numbers.clear_velocity
        here = "does not come clear" if speed is None else f"clear at {unit.short(speed)}"
        text += f"; {here}, seen {unit.short(seen['velocity'])}"
    return text


def _window(designed: Result, result: Result, time: float | None) -> TimeSpan:
    first, second = window(designed), window(result)
    start = min(first.start, second.start)
    most = LONGEST * max(first.stop - first.start, 0.02)
    if time is not None:
        most = max(most, 1.1 * (time - start))
    delay = max(second.start - first.start, 0.0)
    return TimeSpan(start, min(max(first.stop, second.stop), start + delay + most))


def _scales(axes: Any, shown: TimeSpan, last: bool, scale: Scale, what: str) -> None:
    """Draw the scales: the main unit on the left, the other on the right, without its name."""
    unit = "s" if shown.scale == 1.0 else "ms"
    ruler(axes, "bottom", f"time after the firing command ({unit})" if last else "")
    ruler(axes, "left", f"{what} ({pretty(scale.unit)})")
    low, high = (exchange(v, scale.unit, scale.other, scale.dimension) for v in axes.get_ylim())
    ruler(axes, "right", "", (low, high))
    write(axes, 1.0, 1.0, pretty(scale.other), up=6.0, va="center", fontsize=SMALL)


def _panel(
    axes: Any, shown: TimeSpan, curves: Sequence[tuple[Result, np.ndarray]],
    heights: Sequence[float], above: float,
) -> Labels:  # fmt: skip
    """Draw the design's curve and the cause's over a stretch of time."""
    axes.set_xlim(shown.start * shown.scale, shown.stop * shown.scale)
    axes.set_ylim(*limits(heights, above=above))
    labels = Labels(axes)
    looks = ((SOFT, (0, (5, 2)), 1.3), (MAIN, "-", 2.0))
    for (result, values), (colour, dashes, wide) in zip(curves, looks, strict=True):
        part = shown.points(result.time)
        axes.plot(result.time[part] * shown.scale, values[part], color=colour, ls=dashes, lw=wide,
                  zorder=3)  # fmt: skip
        labels.avoid(result.time[part] * shown.scale, values[part])
    return labels


def _pressure(
    axes: Any, results: Sequence[Result], shown: TimeSpan, peak: float | None, last: bool
) -> None:
    scale = scale_of("gauge pressure", 1.0)
    curves = [(each, scale.to(each.gauge_pressure)) for each in results]
    everything = [float(np.nanmax(values)) for _, values in curves]
    everything += [] if peak is None else [float(scale.to(peak))]
    labels = _panel(axes, shown, curves, everything, 0.22)
    if peak is not None:
        labels.level(f"seen: {scale.short(peak)}", float(scale.to(peak)))
    _scales(axes, shown, last, scale, "gauge pressure")


def _travel(
    axes: Any, results: Sequence[Result], shown: TimeSpan, seen: dict[str, float], last: bool
) -> None:
    typical = results[1]
    stroke = typical.case.joint.shoulder_length
    scale = scale_of("length", stroke)
    clear = float(scale.to(stroke))
    curves = [(each, scale.to(np.minimum(each.travel, 1.5 * stroke))) for each in results]
    labels = _panel(axes, shown, curves, [clear], 0.35)
    low, high = axes.get_xlim()
    axes.axhline(clear, color=EARTH, lw=0.9, ls=(0, (1, 1.4)), zorder=2)
    labels.avoid([low, high], [clear] * 2)
    x = np.linspace(low, high, 9)
    bottom, top = axes.get_ylim()
    levels = np.linspace(bottom, top, 7)[1:-1]
    labels.put("clear", x, np.full(9, clear), "above below", EARTH)
    if "travel" in seen:
        labels.level(f"seen: {scale.short(seen['travel'])}", float(scale.to(seen["travel"])))
    if "time" in seen:
        at = seen["time"] * shown.scale
        axes.axvline(at, color=WARM, lw=1.6, ls=(0, (7, 3)), zorder=4)
        axes.plot([at], [clear], "D", ms=5.5, mfc=PAPER, mec=WARM, mew=1.4, zorder=6)
    far = typical.numbers.greatest_travel
    if far < HARDLY * stroke:
        text = f"moves {scale.short(far)}" if far > 0.0 else "does not move"
        labels.put(text, np.repeat(x, 5), np.tile(levels, 9), "on", MAIN)
    _scales(axes, shown, last, scale, "travel")


def _key(figure: Any, height: float, seen: bool) -> None:
    """Draw what the lines mean, under the title."""
    from matplotlib.lines import Line2D

    looks = [("this cause", MAIN, "-", 2.0), ("as designed", SOFT, (0, (5, 2)), 1.3)]
    looks += [("seen", WARM, (0, (7, 3)), 1.6)] * seen
    at, up = LEFT, 1.0 - (TOP + 0.08) / height
    for text, colour, dashes, wide in looks:
        figure.add_artist(Line2D([at / WIDTH, (at + 0.4) / WIDTH], [up, up], color=colour,
                                 ls=dashes, lw=wide))  # fmt: skip
        figure.text((at + 0.46) / WIDTH, up, text, va="center", fontsize=SMALL, color=colour)
        at += 0.75 + 0.062 * len(text)
