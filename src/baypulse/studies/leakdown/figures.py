"""The figure of a leak-down test: the fall as measured and fitted, and the shot with the leak."""

from __future__ import annotations

from typing import Any

import numpy as np

from baypulse.case import geometry
from baypulse.show.figures.base import (
    EARTH,
    INK,
    LINE,
    MAIN,
    PAPER,
    SOFT,
    WARM,
    TimeSpan,
    limits,
    panels,
    points,
    ruler,
    window,
)
from baypulse.show.figures.keys import line_key
from baypulse.show.figures.labels import Labels
from baypulse.show.figures.scales import MIDDLE, corner, scale_of
from baypulse.studies.leakdown.result import Falls, LeakDown, LeakShot

FALL = 2.5
"""Height of the panel of the fall [in]."""

SHOT = 2.3
"""Height of the panel of the shot [in]."""

BETWEEN = 0.62
"""Room between them [in]."""

MOST_DOTS = 120
"""Readings that are drawn."""

NINETY_FIVE = 1.96
"""Standard deviations on either side of a reading that its bar spans."""

_LOOKS = {
    "tight": (MAIN, "-", 2.2),
    "with the leak": (WARM, (0, (5, 2)), 1.6),
    "as given": (EARTH, (0, (1, 1.4)), 1.6),
}
"""Colour, dashes and width of each shot; the dashes tell them apart without colour."""


def fall(leak: LeakDown) -> Any:
    """Draw the fall above, the shot below.

    Parameters
    ----------
    leak : LeakDown
        Findings.
    """
    title = "The fall of the gauge, and the shot with that leak"
    figure, (above, below) = panels(title, (FALL, SHOT), gap=BETWEEN)
    _fall(above, leak)
    _shots(below, leak)
    return figure


def _fall(axes: Any, leak: LeakDown) -> None:
    time, pressure = _measured(leak)
    across = scale_of("time", leak.times)
    upright = scale_of("gauge pressure", leak.fitted)
    axes.set_xlim(float(across.to(-0.03 * leak.times[-1])), float(across.to(leak.times[-1])))
    everything = [*leak.fitted, *leak.highest, *leak.lowest, *pressure]
    axes.set_ylim(*limits([float(upright.to(each)) for each in everything], above=0.14))
    x = across.to(leak.times)
    axes.fill_between(x, upright.to(leak.lowest), upright.to(leak.highest), facecolor=MIDDLE,
                      edgecolor="none", zorder=1)  # fmt: skip
    for edge in (leak.lowest, leak.highest):
        axes.plot(x, upright.to(edge), color=SOFT, lw=0.6, zorder=2)
    axes.plot(x, upright.to(leak.fitted), color=MAIN, lw=1.6, zorder=3)
    labels = Labels(axes)
    for curve in (leak.lowest, leak.fitted, leak.highest):
        labels.avoid(x, upright.to(curve))
    _readings(axes, leak, across, upright, time, pressure)
    labels.avoid(across.to(time), upright.to(pressure))
    corner(axes, labels, "on the bench")
    upright.upright(axes, "gauge pressure")
    ruler(axes, "bottom", across.named("time after the first reading"))
    middle = leak.times.size // 2
    labels.put("fitted, and 95 % band", x[middle:], upright.to(leak.highest)[middle:],
               "above right", MAIN)  # fmt: skip
    # of a record where it is steep, of a watched fall below its band
    at = time[-1:] if isinstance(leak.test, Falls) else time[time.size // 12 : time.size // 3 + 1]
    below = np.minimum(np.interp(at, leak.times, leak.lowest), np.interp(at, time, pressure))
    labels.put("measured", across.to(at), upright.to(below), "below left right", INK)


def _measured(leak: LeakDown) -> tuple[np.ndarray, np.ndarray]:
    """Return times and pressures to be drawn; those of a record at most so many."""
    if isinstance(leak.test, Falls):
        times = np.array([0.0, *leak.test.times])
        return times, np.array([leak.test.start, *[leak.test.end] * len(leak.test.times)])
    read = leak.estimate.readings
    assert read is not None
    each = -(-read.time.size // MOST_DOTS)
    return read.time[::each], read.pressure[::each]


def _readings(
    axes: Any, leak: LeakDown, across: Any, upright: Any, time: np.ndarray, pressure: np.ndarray
) -> None:  # fmt: skip
    """Draw the readings; those of a clock with bars of their errors."""
    x, y = across.to(time), upright.to(pressure)
    if not isinstance(leak.test, Falls):
        axes.plot(x, y, "o", ms=2.6, markerfacecolor=PAPER, markeredgecolor=INK, mew=0.6, zorder=4)
        return
    wide = float(across.to(NINETY_FIVE * leak.test.time_error))
    tall = float(upright.to(NINETY_FIVE * leak.test.gauge_error))
    axes.errorbar(x, y, xerr=[0.0] + [wide] * (x.size - 1), yerr=tall, fmt="o", color=INK, ms=4.0,
                  lw=1.0, capsize=2.5, zorder=4)  # fmt: skip


def _shots(axes: Any, leak: LeakDown) -> None:
    shots = (leak.tight, leak.leaking, leak.given)
    spans = [window(each.result) for each in shots]
    seen = TimeSpan(min(each.start for each in spans), max(each.stop for each in spans))
    peak = max(float(each.result.gauge_pressure.max()) for each in shots)
    upright = scale_of("gauge pressure", peak)
    hold = geometry.shot_hold(leak.case).pressure
    axes.set_ylim(*limits([0.0, float(upright.to(peak)), float(upright.to(hold))], above=0.75))
    seen.dress(axes)
    labels = Labels(axes)
    drawn = [(each, *_curve(each, seen, upright)) for each in shots]
    for _, x, y in drawn:
        labels.avoid(x, y)
    for each, x, y in drawn:
        colour, dashes, wide = _LOOKS[each.name]
        axes.plot(x, y, color=colour, ls=dashes, lw=wide, zorder=3)
    corner(axes, labels, "in the shot, nothing scattering")
    _key(axes, labels, shots)
    held = "pins hold" if leak.case.pins is not None else "friction holds"
    text = f"{held} {upright.short(hold)}"
    labels.level(text, float(upright.to(hold)), SOFT, lw=1.0, zorder=2)
    upright.upright(axes, "gauge pressure")
    seen.write(axes)


def _curve(shot: LeakShot, seen: Any, upright: Any) -> tuple[np.ndarray, np.ndarray]:
    part = seen.points(shot.result.time)
    return shot.result.time[part] * seen.scale, upright.to(shot.result.gauge_pressure[part])


def _key(axes: Any, labels: Labels, shots: tuple[LeakShot, ...]) -> None:
    """Write what each line is beside a piece of it, since the lines often lie on each other."""
    areas = scale_of("area", [shot.area for shot in shots])
    looks = [(f"{shot.name}, {areas.short(shot.area)}", *_LOOKS[shot.name]) for shot in shots]
    tall = line_key(axes, looks, -2.0 * LINE, 4.0)
    wide, top = (float(side) for side in points(axes))
    labels.taken.append((0.0, top - 2.0 * LINE - tall, wide, top))
