"""Figures of the study of the electronics bay: the pulse, the filter, and leak against ports."""

from __future__ import annotations

from typing import Any

import numpy as np

from baypulse.case import quantities
from baypulse.show.figures.base import (
    COOL,
    INK,
    MAIN,
    PAPER,
    SOFT,
    WARM,
    TimeSpan,
    limits,
    panels,
)
from baypulse.show.figures.charge_ruler import charge_ruler, place_of
from baypulse.show.figures.labels import Labels
from baypulse.show.figures.scales import Scale, scale_of
from baypulse.studies.altimeter.altitude_error import FILTER_TIME, SAMPLE_RATE
from baypulse.studies.altimeter.result import Altimeters

GONE = 0.02
"""Share of the greatest error below which the pulse counts as gone from the figure."""

LONG = 5.0
"""Time constants of the filter that its figure shows."""

FAR = 4.0
"""A wanted error this many times above the curves is left out of the scale."""

SHORT = 90.0
"""Length [points] below which a line of the map stays without its number."""

ABOVE = 0.26
"""Height of a panel that is left empty for the scale above the map [in]."""

_ERRORS = (1.0, 3.0, 10.0, 30.0, 100.0, 300.0, 1000.0, 3000.0, 10_000.0)
"""Lines of the map, in the main unit of altitudes."""

_STEPS = ("#f6f8fa", "#e9eff3", "#dce6ec", "#cfdce5", "#c2d3de", "#b5c9d7", "#a8c0d0", "#9bb6c9",
          "#8eadc2", "#81a3bb")  # fmt: skip


def _window(found: Altimeters) -> TimeSpan:
    """Return the time in which the pulse comes and goes."""
    times, size = found.pulse.times, np.abs(found.errors)
    over = np.flatnonzero(size > max(GONE * size.max(), 1e-9))
    if not over.size:
        return TimeSpan(0.0, max(found.pulse.shot_end, 1e-3))
    first, last = float(times[over[0]]), float(times[min(over[-1] + 1, times.size - 1)])
    room = last - first
    return TimeSpan(max(first - 0.08 * room, 0.0), last + 0.25 * room)


def pulse(found: Altimeters) -> Any:
    """Draw both pressures, and what they make of the altitude."""
    held, window = found.pulse, _window(found)
    figure, (above, below) = panels("The charge's pulse in the electronics bay", (1.9, 2.1))
    inside = window.points(held.times)
    x = held.times[inside] * window.scale
    gauges = held.bay[inside] - held.ambient, held.electronics[inside] - held.ambient
    scale = scale_of("gauge pressure")
    window.dress(above)
    above.set_ylim(*limits(np.concatenate([scale.to(each) for each in gauges]).tolist()))
    labels = Labels(above)
    _zero(above, labels)
    looks = (("bay", SOFT, (0, (5, 2)), 1.6), ("electronics bay", MAIN, "-", 2.2))
    for gauge, (_, colour, dashes, wide) in zip(gauges, looks, strict=True):
        above.plot(x, scale.to(gauge), color=colour, ls=dashes, lw=wide, zorder=3)
        labels.avoid(x, scale.to(gauge))
    for gauge, (name, colour, _, _) in zip(gauges, looks, strict=True):
        k = int(gauge.argmax())
        labels.put(f"{name}: {scale.text(float(gauge[k]))}", x[k], scale.to(gauge[k]),
                   "right above left", colour, bold=name != "bay")  # fmt: skip
    scale.upright(above, "over the outside's")
    window.dress(below)
    _altitude(found, below, window, found.errors[inside], x, "as it is")
    window.write(below)
    return figure


def filter_figure(found: Altimeters) -> Any:
    """Draw the error behind a filter, which forgets slowly."""
    held = found.pulse
    window = TimeSpan(0.0, LONG * FILTER_TIME + held.shot_end)
    title = (
        f"Behind a filter of {quantities.show(FILTER_TIME, 'time')}: a small error that stays long"
    )
    figure, (axes,) = panels(title, (2.2,))
    inside = window.points(held.times)
    x = held.times[inside] * window.scale
    window.dress(axes)
    _altitude(found, axes, window, found.filtered[inside], x, "smoothed all along",
              found.nominal.filtered)  # fmt: skip
    window.write(axes)
    return figure


def _altitude(
    found: Altimeters, axes: Any, window: TimeSpan, errors: np.ndarray, x: np.ndarray, name: str,
    span: tuple[float, float] | None = None,
) -> None:  # fmt: skip
    """Draw an error of the altitude with the wanted one."""
    scale = scale_of("altitude")
    wanted = scale.to(found.error)
    curve = scale.to(errors)
    ends = [float(curve.min()), float(curve.max()), *(scale.to(end) for end in span or ())]
    near = wanted <= FAR * max(np.abs(ends))
    axes.set_ylim(*limits([*ends, *((-wanted, wanted) if near else ())], above=0.16, below=0.12))
    labels = Labels(axes)
    _zero(axes, labels)
    first, last = axes.get_xlim()
    across = np.linspace(first, last, 12)
    if near:
        for level in (-wanted, wanted):
            axes.axhline(level, color=WARM, ls=(0, (7, 3)), lw=1.4, zorder=2)
            labels.avoid(axes.get_xlim(), [level, level])
    axes.plot(x, curve, color=MAIN, lw=2.2, zorder=4)
    labels.avoid(x, curve)
    k = int(np.abs(curve).argmax())
    words = "too low" if curve[k] < 0.0 else "too high"
    labels.put(f"{name}: {scale.text(abs(float(errors[k])))} {words}", x[k], curve[k],
               "right below above left", MAIN, bold=True)  # fmt: skip
    if span is not None:
        low, high = sorted(abs(end) for end in span)
        one, two = (float(scale.to(end)) for end in span)
        axes.axhspan(min(one, two), max(one, two), facecolor="#dde6ed", edgecolor=COOL,
                     hatch="////", lw=0.0, zorder=0.5)  # fmt: skip
        text = f"{SAMPLE_RATE:g} samples a second: {quantities.span(low, high, 'altitude')}"
        bottom, top = axes.get_ylim()
        rows = one + (two - one) * np.array([0.8, 0.2, 0.5])
        # where the band is too narrow for it, beside it
        rows = np.concatenate((rows, bottom + (top - bottom) * np.array([0.4, 0.5, 0.3])))
        labels.put(text, np.tile(across[::-1], rows.size), np.repeat(rows, across.size), "on", COOL)
    if near:
        labels.put(f"wanted: {scale.text(found.error)} either way", across[::-1],
                   np.full(12, -wanted), "below above", WARM)  # fmt: skip
    else:
        labels.put(f"wanted: {scale.text(found.error)}, far beyond this scale", across,
                   np.full(12, axes.get_ylim()[1]), "below", WARM)  # fmt: skip
    scale.upright(axes, "altitude shown, less true")


def _zero(axes: Any, labels: Labels) -> None:
    axes.axhline(0.0, color=INK, lw=0.8, zorder=1)
    labels.avoid(axes.get_xlim(), [0.0, 0.0])


def leak_map(found: Altimeters) -> Any:
    """Draw the error over the leak and the static ports, both in equal ratios."""
    title = "How far too low the altimeter shows: leak against static ports"
    figure, (_, axes) = panels(title, (ABOVE, 3.5))
    size, error = scale_of("length", found.leak_grid), scale_of("altitude")
    x, y = place_of(size, found.leak_grid), place_of(size, found.port_grid)
    axes.set_xlim(float(x[0]), float(x[-1]))
    axes.set_ylim(float(y[0]), float(y[-1]))
    values = np.log(error.to(np.maximum(found.grid, 1e-3))).T
    steps = [each for each in np.log(_ERRORS) if values.min() < each < values.max()]
    ends = [float(values.min()) - 1e-6, *steps, float(values.max()) + 1e-6]
    papers = [_STEPS[round(k)] for k in np.linspace(0, len(_STEPS) - 1, max(len(ends) - 1, 2))]
    axes.contourf(x, y, values, levels=ends, colors=papers[: len(ends) - 1], zorder=1)
    labels = Labels(axes)
    _marks(found, axes, labels, size)
    wanted = np.log(error.to(found.error))
    if values.min() < wanted < values.max():
        heavy = axes.contour(x, y, values, levels=[wanted], colors=WARM, linewidths=2.6,
                             linestyles=[(0, (7, 2))], zorder=3)  # fmt: skip
        _named(labels, heavy.allsegs[0], f"wanted: {error.text(found.error)}", WARM, True)
    if steps:
        lines = axes.contour(x, y, values, levels=steps, colors=INK, linewidths=0.8, zorder=2)
        for value, segments in zip(steps, lines.allsegs, strict=True):
            if abs(value - wanted) > 0.2:
                text = error.text(float(np.exp(value)) / error.to(1.0))
                _named(labels, segments, text, INK, False)
    for side in ("bottom", "top"):
        charge_ruler(axes, size, side, True, "all ways into the electronics bay, as one hole")
    for side in ("left", "right"):
        charge_ruler(axes, size, side, True, "static ports together, as one hole")
    return figure


def _marks(found: Altimeters, axes: Any, labels: Labels, size: Scale) -> None:
    """Mark the case, and the largest leak."""
    low, high = axes.get_ylim()
    rows = np.linspace(low + 0.06 * (high - low), high - 0.06 * (high - low), 12)
    largest = found.leak.largest
    drawn = largest is not None and found.leak_grid[0] < largest < found.leak_grid[-1]
    edge = float(place_of(size, largest)) if largest is not None else 0.0
    if drawn:
        axes.axvline(edge, color=INK, lw=1.5, ls=(0, (2, 2)), zorder=4)
        labels.avoid([edge, edge], [low, high])
    ports = found.ports
    at = float(place_of(size, found.leak.present))
    if ports > 0.0:
        spot = at, float(place_of(size, ports))
        axes.plot(*spot, "P", ms=9.0, mfc=PAPER, mec=INK, mew=1.2, zorder=8)
        labels.put("this case", *spot, "right left above below", bold=True)
    else:
        axes.axvline(at, color=SOFT, lw=1.0, zorder=4)
        labels.put("leak of this case; it has no ports", np.full(12, at), rows, "left right", SOFT)
    if drawn:
        share = quantities.asked(found.wanted)
        labels.put(f"largest leak for {share} of the shots", np.full(12, edge), rows[::-1],
                   "right left", INK)  # fmt: skip


def _named(labels: Labels, segments: Any, text: str, colour: str, bold: bool) -> None:
    """Write a label on the longest of some lines."""
    kept = [each for each in segments if len(each) > 1]
    if not kept:
        return
    for each in kept:
        labels.avoid(each[:, 0], each[:, 1])
    line = max(kept, key=len)
    if np.ptp(labels.to_points(line[:, 0], line[:, 1]), axis=0).max() < SHORT:
        return
    order = np.argsort(np.abs(np.linspace(-1.0, 1.0, len(line))), kind="stable")
    labels.on(text, line[order, 0], line[order, 1], colour, bold)


DRAW = {"pulse": pulse, "filter": filter_figure, "leak": leak_map}
"""What draws each figure, by its name."""
