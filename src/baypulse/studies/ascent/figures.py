"""The figure of an ascent: altitude, pressure over the joint, and force against what holds it."""

from __future__ import annotations

from typing import Any

import numpy as np

from baypulse.case.quantities import shorten
from baypulse.show.figures.base import (
    COOL,
    INK,
    MAIN,
    SOFT,
    WARM,
    limits,
    panels,
    ruler,
)
from baypulse.show.figures.labels import Labels
from baypulse.show.figures.scales import Scale, corner, scale_of
from baypulse.studies.ascent.compute import AscentResult
from baypulse.studies.ascent.words import pressure, wanted

AFTER = 0.06
"""Share of the ascent that is shown before the launch and after apogee."""

FAR = 4.0
"""What holds so many times above what pulls is named, not drawn."""

MOST_POINTS = 4000
"""Points of a curve; a long log has more than a figure can show."""


def ascent(ascent: AscentResult) -> Any:
    """Draw the course of an ascent.

    Parameters
    ----------
    ascent : baypulse.studies.ascent.compute.AscentResult
        Findings.
    """
    title = f"{shorten(ascent.name, 40)}: the closed joint during the ascent"
    figure, (above, middle, below) = panels(title, (1.35, 1.9, 2.2))
    flight = ascent.climb.profile
    end = float(flight.time[flight.apogee])
    start = max(float(flight.time[0]), -AFTER * end)
    shown = np.flatnonzero((flight.time >= start) & (flight.time <= (1.0 + AFTER) * end))
    shown = shown[:: max(shown.size // MOST_POINTS, 1)]
    x = flight.time[shown]
    for axes in (above, middle, below):
        axes.set_xlim(start, float(x[-1]))
    _altitude(above, ascent, x, shown)
    _pressure(middle, ascent, x, shown)
    _force(below, ascent, x, shown)
    ruler(below, "bottom", "time after launch (s)")
    return figure


def _altitude(axes: Any, ascent: AscentResult, x: np.ndarray, shown: np.ndarray) -> None:
    flight = ascent.climb.profile
    scale = scale_of("length", flight.altitude[shown])
    y = scale.to(flight.altitude[shown])
    axes.set_ylim(*limits([float(y.max())], above=0.5))
    scale.upright(axes, "altitude")
    ruler(axes, "bottom", numbers=False)
    labels = Labels(axes)
    labels.avoid(x, y)
    labels.flags(_events(ascent))
    axes.plot(x, y, color=MAIN, lw=2.0)


def _events(ascent: AscentResult) -> list[tuple[float, str]]:
    """Return burnout, the worst moment and apogee, in order; one that is the other's once."""
    flight, worst = ascent.climb.profile, ascent.climb.worst
    found = {
        flight.burnout: "greatest speed",
        flight.apogee: "apogee",
    }
    if ascent.force > 0.0:
        found[worst] = f"{found[worst]}, pulls most" if worst in found else "pulls most"
    return [(float(flight.time[k]), name) for k, name in sorted(found.items())]


def _pressure(axes: Any, ascent: AscentResult, x: np.ndarray, shown: np.ndarray) -> None:
    """Draw the bay's pressure above the outside's, with its openings and sealed."""
    both = ascent.climb.difference[shown], ascent.sealed.difference[shown]
    scale = scale_of("stress", both)
    as_built, closed = (scale.to(values) for values in both)
    axes.set_ylim(*limits([*_ends(as_built), *_ends(closed)], above=0.3))
    scale.upright(axes, "bay above outside")
    ruler(axes, "bottom", numbers=False)
    labels = Labels(axes)
    corner(axes, labels, "Pressure over the joint")
    for y in (as_built, closed):
        labels.avoid(x, y)
    axes.axhline(0.0, color=SOFT, lw=0.8)
    opened = float(np.abs(as_built - closed).max()) > 1e-3 * float(np.abs(closed).max())
    axes.plot(x, as_built, color=MAIN, lw=2.0)
    most = pressure(float(np.abs(both[0]).max()))
    if opened:
        axes.plot(x, closed, color=WARM, ls=(0, (5, 2)), lw=1.6)
        labels.along("without any opening", x, closed, WARM, [(x, as_built)])
        labels.along(f"with the case's openings: {most} at most", x, as_built, MAIN, [(x, closed)])
    else:
        labels.along(f"the case has no opening: {most} at most", x, as_built, MAIN)


def _force(axes: Any, ascent: AscentResult, x: np.ndarray, shown: np.ndarray) -> None:
    """Draw what pulls at the joint, and what holds it."""
    climb = ascent.climb
    scale = scale_of("force", [ascent.held, ascent.force])
    whole = scale.to(climb.force[shown])
    curves = [whole]
    if climb.profile.pull is not None:
        curves.append(scale.to(climb.profile.pull[shown]))
    holds = scale.to(ascent.low), scale.to(ascent.held)
    ends = [e for y in curves for e in _ends(y)]
    # what holds far above what pulls would flatten the pull to a line
    near = min(holds) <= FAR * max(np.abs(ends))
    axes.set_ylim(*limits([*ends, *(holds if near else ())], above=0.3 if near else 0.75))
    scale.upright(axes, "force on the joint")
    ruler(axes, "bottom", numbers=False)
    labels = Labels(axes)
    corner(axes, labels, "Pull and hold")
    for y in curves:
        labels.avoid(x, y)
    axes.axhline(0.0, color=SOFT, lw=0.8)
    axes.plot(x, whole, color=MAIN, lw=2.0, zorder=3)
    if len(curves) > 1:
        axes.plot(x, curves[1], color=COOL, ls=(0, (1, 1.2)), lw=1.8, zorder=3.5)
        labels.along("of which drag", x, curves[1], COOL, [(x, whole)])
    labels.along(
        f"pull: {scale.text(ascent.force)} at most", x, whole, MAIN, [(x, y) for y in curves[1:]]
    )
    _holds(axes, labels, scale, ascent, near)


def _holds(axes: Any, labels: Labels, scale: Scale, ascent: AscentResult, near: bool) -> None:
    """Draw what holds the joint, or name it at the top where it is far above."""
    sure = f"held in {wanted(ascent)}: {scale.text(ascent.low)}"
    plain = f"held if nothing scatters: {scale.text(ascent.held)}"
    if near:
        across = np.array(axes.get_xlim())
        low, nominal = (
            (across, np.full(2, scale.to(level))) for level in (ascent.low, ascent.held)
        )
        axes.axhline(low[1][0], color=WARM, ls=(0, (7, 3)), lw=1.6)
        axes.axhline(nominal[1][0], color=SOFT, ls=(0, (2, 2)), lw=1.2)
        for level in (low, nominal):
            labels.avoid(*level)
        labels.along(sure, *low, WARM, [nominal])
        labels.along(plain, *nominal, INK, [low])
        return
    first, last = axes.get_xlim()
    across, top = np.linspace(last, first, 13)[1:-1], axes.get_ylim()[1]
    # one below the other
    rows = np.repeat(top * np.linspace(1.0, 0.45, 7), across.size)
    for text, colour in ((f"{sure}, far above this scale", WARM), (plain, INK)):
        labels.put(text, np.tile(across, 7), rows, "below", colour)


def _ends(values: np.ndarray) -> tuple[float, float]:
    return float(values.min()), float(values.max())
