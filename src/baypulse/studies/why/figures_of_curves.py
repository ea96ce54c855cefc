"""The figure of simulated shots: a typical member of each leading cause beside the design."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from baypulse.case.quantities import likely
from baypulse.run.result import Result
from baypulse.show.figures.base import (
    EARTH,
    LEFT,
    LINE,
    MAIN,
    PANEL,
    PAPER,
    SOFT,
    WARM,
    TimeSpan,
    axes_at,
    limits,
    ruler,
    titled,
    window,
    write,
)
from baypulse.show.figures.keys import KEY_LINE, key_rows, line_key
from baypulse.show.figures.labels import Labels, broken
from baypulse.show.figures.scales import scale_of
from baypulse.studies.why.explanation import Explained, Typical

TALL = 1.0
"""Height of a panel [in]."""

ABOVE = 0.2
"""Room for the name of a cause, a line of it [in]."""

BETWEEN = 0.12
"""Room between its two panels [in]."""

APART = 0.36
"""Room below the panels of a cause, for the numbers of the time [in]."""

FOOT = 0.14
"""Room at the foot, for the name of the time [in]."""

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
    rows = found.typical
    seen = {each.kind.name: float(each.value) for each in found.diagnosis.sightings
            if each.value is not None}  # fmt: skip
    titles = [broken(_title(each, seen), 72.0 * PANEL, bold=True)[0] for each in rows]
    looks = [("this cause", MAIN, "-", 2.0), ("as designed", SOFT, (0, (5, 2)), 1.3)]
    looks += [("seen", WARM, (0, (7, 3)), 1.6)] * bool(seen)
    lines = KEY_LINE * len(key_rows([text for text, *_ in looks], 72.0 * PANEL)) / 72.0
    room = sum(ABOVE + LINE * (len(title) - 1) / 72.0 for title in titles)
    edge = lines + room + len(rows) * (2.0 * TALL + BETWEEN + APART) + FOOT
    figure = titled("The shot nearest to what was seen, by cause", edge)
    for number, (typical, title) in enumerate(zip(rows, titles, strict=True)):
        edge -= (lines if number == 0 else 0.0) + ABOVE + LINE * (len(title) - 1) / 72.0 + TALL
        above = axes_at(figure, LEFT, edge, PANEL, TALL)
        edge -= BETWEEN + TALL
        below = axes_at(figure, LEFT, edge, PANEL, TALL)
        edge -= APART
        write(above, 0.0, 1.0, "\n".join(title), up=5.0, fontweight="bold", linespacing=1.05)
        if number == 0:
            line_key(above, looks, 72.0 * (ABOVE + lines) + LINE * (len(title) - 1) - 5.0)
        shown = _window(found.designed, typical.result, seen.get("time"))
        results = (found.designed, typical.result)
        _pressure(above, results, shown, seen.get("peak"))
        _travel(below, results, shown, seen)
        unit = "s" if shown.scale == 1.0 else "ms"
        last = number == len(rows) - 1
        ruler(below, "bottom", f"time after the firing command ({unit})" if last else "")
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


def _pressure(axes: Any, results: Sequence[Result], shown: TimeSpan, peak: float | None) -> None:
    scale = scale_of("gauge pressure", 1.0)
    curves = [(each, scale.to(each.gauge_pressure)) for each in results]
    everything = [float(np.nanmax(values)) for _, values in curves]
    everything += [] if peak is None else [float(scale.to(peak))]
    labels = _panel(axes, shown, curves, everything, 0.22)
    if peak is not None:
        labels.level(f"seen: {scale.short(peak)}", float(scale.to(peak)))
    shown.dress(axes)
    scale.upright(axes, "pressure")


def _travel(axes: Any, results: Sequence[Result], shown: TimeSpan, seen: dict[str, float]) -> None:
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
    scale.upright(axes, "travel")
