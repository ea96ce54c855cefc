"""Figures of the study of the electronics bay: the pulse, the filter, and leak against ports."""

from __future__ import annotations

from typing import Any

import numpy as np

from baypulse.case import quantities, units
from baypulse.show.figures.base import (
    COOL,
    INK,
    LEFT,
    MAIN,
    PAPER,
    RIGHT,
    SOFT,
    TOP,
    WARM,
    WIDTH,
    TimeSpan,
    blank,
    headline,
    limits,
    panels,
    points,
    style,
)
from baypulse.show.figures.labels import Labels
from baypulse.show.figures.scales import Scale, scale_of
from baypulse.studies.altimeter.altitude_error import FILTER_TIME, SAMPLE_RATE
from baypulse.studies.altimeter.result import Altimeters

HEIGHT = Scale("length", "m", "ft")
"""Altitudes, and errors of them."""

GONE = 0.02
"""Share of the greatest error below which the pulse counts as gone from the figure."""

LONG = 5.0
"""Time constants of the filter that its figure shows."""

FAR = 4.0
"""A wanted error this many times above the curves is left out of the scale."""

SHORT = 50.0
"""Length [points] below which a line of the map stays without its number."""

_SIZES = (0.1, 0.2, 0.3, 0.5, 0.7, 1.0, 1.5, 2.0, 3.0, 5.0, 7.0, 10.0, 15.0, 20.0, 30.0, 50.0)
_INCHES = (0.005, 0.01, 0.02, 0.03, 0.05, 0.1, 0.15, 0.2, 0.3, 0.5, 1.0, 2.0)
"""Diameters written along the map [mm], [in]."""

_ERRORS = (1.0, 3.0, 10.0, 30.0, 100.0, 300.0, 1000.0, 3000.0, 10_000.0)
"""Lines of the map [m]."""

_STEPS = ("#f6f8fa", "#e9eff3", "#dce6ec", "#cfdce5", "#c2d3de", "#b5c9d7", "#a8c0d0", "#9bb6c9",
          "#8eadc2", "#81a3bb")  # fmt: skip


def figures(found: Altimeters) -> dict[str, Any]:
    """Draw every figure of the study.

    Parameters
    ----------
    found : Altimeters
        Findings.

    Returns
    -------
    dict of str to matplotlib.figure.Figure
        ``"pulse"``, ``"filter"`` and ``"leak"``.
    """
    with style():
        return {
            "pulse": pulse(found),
            "filter": filter_figure(found),
            "leak": leak_map(found),
        }


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
    wanted = found.error
    ends = [float(errors.min()), float(errors.max()), *(span or ())]
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
    axes.plot(x, errors, color=MAIN, lw=2.2, zorder=4)
    labels.avoid(x, errors)
    k = int(np.abs(errors).argmax())
    words = "too low" if errors[k] < 0.0 else "too high"
    labels.put(f"{name}: {HEIGHT.text(abs(float(errors[k])))} {words}", x[k], errors[k],
               "right below above left", MAIN, bold=True)  # fmt: skip
    if span is not None:
        axes.axhspan(*sorted(span), facecolor="#dde6ed", edgecolor=COOL, hatch="////", lw=0.0,
                     zorder=0.5)  # fmt: skip
        low, high = sorted(abs(end) for end in span)
        text = f"{SAMPLE_RATE:g} samples a second: {HEIGHT.short(low)} to {HEIGHT.text(high)}"
        bottom, top = axes.get_ylim()
        rows = span[0] + (span[1] - span[0]) * np.array([0.8, 0.2, 0.5])
        # where the band is too narrow for it, beside it
        rows = np.concatenate((rows, bottom + (top - bottom) * np.array([0.4, 0.5, 0.3])))
        labels.put(text, np.tile(across[::-1], rows.size), np.repeat(rows, across.size), "on", COOL)
    if near:
        labels.put(f"wanted: {HEIGHT.text(wanted)} either way", across[::-1],
                   np.full(12, -wanted), "below above", WARM)  # fmt: skip
    else:
        labels.put(f"wanted: {HEIGHT.text(wanted)}, far beyond this scale", across,
                   np.full(12, axes.get_ylim()[1]), "below", WARM)  # fmt: skip
    HEIGHT.upright(axes, "altitude shown, less true")


def _zero(axes: Any, labels: Labels) -> None:
    axes.axhline(0.0, color=INK, lw=0.8, zorder=1)
    labels.avoid(axes.get_xlim(), [0.0, 0.0])


def leak_map(found: Altimeters) -> Any:
    """Draw the error over the leak and the static ports, both in equal ratios."""
    tall, foot = 3.5, 0.66
    height = TOP + tall + foot
    figure = blank(height)
    headline(figure, "How far too low the altimeter shows: leak against static ports", LEFT)
    place = (LEFT / WIDTH, foot / height, (WIDTH - LEFT - RIGHT) / WIDTH, tall / height)
    axes = figure.add_axes(place)
    axes.set_axis_off()
    x, y = np.log(found.leak_grid), np.log(found.port_grid)
    axes.set_xlim(float(x[0]), float(x[-1]))
    axes.set_ylim(float(y[0]), float(y[-1]))
    values = np.log(np.maximum(found.grid, 1e-3)).T
    steps = [each for each in np.log(_ERRORS) if values.min() < each < values.max()]
    ends = [float(values.min()) - 1e-6, *steps, float(values.max()) + 1e-6]
    papers = [_STEPS[round(k)] for k in np.linspace(0, len(_STEPS) - 1, max(len(ends) - 1, 2))]
    axes.contourf(x, y, values, levels=ends, colors=papers[: len(ends) - 1], zorder=1)
    labels = Labels(axes)
    _marks(found, axes, labels)
    wanted = np.log(found.error)
    if values.min() < wanted < values.max():
        heavy = axes.contour(x, y, values, levels=[wanted], colors=WARM, linewidths=2.6,
                             linestyles=[(0, (7, 2))], zorder=3)  # fmt: skip
        _named(labels, heavy.allsegs[0], f"wanted: {HEIGHT.text(found.error)}", WARM, True)
    if steps:
        lines = axes.contour(x, y, values, levels=steps, colors=INK, linewidths=0.8, zorder=2)
        for value, segments in zip(steps, lines.allsegs, strict=True):
            if abs(value - wanted) > 0.2:
                _named(labels, segments, HEIGHT.text(float(np.exp(value))), INK, False)
    _ratio_ruler(axes, "bottom", _SIZES, "mm", "all ways into the electronics bay, as one hole")
    _ratio_ruler(axes, "left", _SIZES, "mm", "static ports together, as one hole (mm)")
    _ratio_ruler(axes, "right", _INCHES, "in", "in")
    return figure


def _marks(found: Altimeters, axes: Any, labels: Labels) -> None:
    """Mark the case, and the largest leak."""
    low, high = axes.get_ylim()
    rows = np.linspace(low + 0.06 * (high - low), high - 0.06 * (high - low), 12)
    largest = found.leak.largest
    drawn = largest is not None and found.leak_grid[0] < largest < found.leak_grid[-1]
    edge = float(np.log(largest)) if largest is not None else 0.0
    if drawn:
        axes.axvline(edge, color=INK, lw=1.5, ls=(0, (2, 2)), zorder=4)
        labels.avoid([edge, edge], [low, high])
    ports = found.ports
    at = float(np.log(found.leak.present))
    if ports > 0.0:
        spot = at, float(np.log(ports))
        axes.plot(*spot, "P", ms=9.0, mfc=PAPER, mec=INK, mew=1.2, zorder=8)
        labels.put("this case", *spot, "right left above below", bold=True)
    else:
        axes.axvline(at, color=SOFT, lw=1.0, zorder=4)
        labels.put("leak of this case; it has no ports", np.full(12, at), rows, "left right", SOFT)
    if drawn:
        share = f"{100.0 * found.wanted:g} %"
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
    order = np.argsort(np.abs(np.linspace(-1.0, 1.0, len(line))), kind="stable")[:40]
    labels.put(text, line[order, 0], line[order, 1], "on", colour, bold)


def _ratio_ruler(axes: Any, side: str, sizes: tuple[float, ...], unit: str, label: str) -> None:
    """Draw a scale in equal ratios along one side: its line, ticks, numbers; inches below too."""
    size = points(axes)
    upright = side != "bottom"
    low, high = axes.get_ylim() if upright else axes.get_xlim()
    edge = 1.0 if side == "right" else 0.0
    out = 1.0 if side == "right" else -1.0
    across = size[0] if upright else size[1]
    rows = [(sizes, unit, 0.0)] if upright else [(sizes, unit, 0.0), (_INCHES, "in", 13.0)]
    line = [(edge, 0.0), (edge, 1.0)]
    for found, name, shift in rows:
        for value in found:
            share = (float(np.log(value / units.convert(1.0, name))) - low) / (high - low)
            if not -1e-9 <= share <= 1.0 + 1e-9:
                continue
            if not shift:
                line += [(np.nan, np.nan), (edge, share), (edge + out * 3.5 / across, share)]
            at = (edge + out * (6.0 + shift) / across, share)
            axes.text(
                *(at if upright else at[::-1]), f"{value:g}", transform=axes.transAxes,
                color=SOFT if shift else INK, va="center" if upright else "top",
                ha={"left": "right", "right": "left", "bottom": "center"}[side],
            )  # fmt: skip
    xs, ys = zip(*(p if upright else p[::-1] for p in line), strict=True)
    axes.plot(xs, ys, transform=axes.transAxes, color=SOFT, lw=0.8, clip_on=False,
              solid_capstyle="butt")  # fmt: skip
    if upright:
        axes.text(edge + out * 40.0 / size[0], 0.5, label, transform=axes.transAxes, rotation=90,
                  ha="center", va="center")  # fmt: skip
    else:
        axes.text(0.5, -32.0 / size[1], f"{label} (mm above, in below)", transform=axes.transAxes,
                  ha="center", va="top")  # fmt: skip
