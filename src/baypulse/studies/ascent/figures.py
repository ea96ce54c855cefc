"""The figure of an ascent: altitude, pressure over the joint, and force against what holds it."""

from __future__ import annotations

from typing import Any

import numpy as np

from baypulse.case import quantities
from baypulse.case.quantities import shorten
from baypulse.show.figures.base import (
    COOL,
    INK,
    MAIN,
    SOFT,
    WARM,
    exchange,
    limits,
    panels,
    ruler,
    style,
    two_scales,
)
from baypulse.show.figures.labels import Labels
from baypulse.show.figures.scales import corner
from baypulse.studies.ascent.compute import AscentResult

AFTER = 0.06
"""Share of the ascent that is shown before the launch and after apogee."""

MOST_POINTS = 4000
"""Points of a curve; a long log has more than a figure can show."""


def figures(ascent: AscentResult) -> dict[str, Any]:
    """Draw the figure of an ascent.

    Parameters
    ----------
    ascent : baypulse.studies.ascent.compute.AscentResult
        Findings.

    Returns
    -------
    dict of str to matplotlib.figure.Figure
        ``"ascent"``.
    """
    with style():
        return {"ascent": _course(ascent)}


def _course(ascent: AscentResult) -> Any:
    title = f"{shorten(ascent.name, 40)}: the closed joint during the ascent"
    figure, (above, middle, below) = panels(title, (1.1, 1.7, 1.9))
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
    y = flight.altitude[shown] / 0.3048
    axes.set_ylim(*limits([float(y.max())], above=0.2))
    two_scales(axes, "ft", "m", "length", "altitude")
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
    as_built = exchange(ascent.climb.difference[shown], "Pa", "psi", "stress")
    closed = exchange(ascent.sealed.difference[shown], "Pa", "psi", "stress")
    axes.set_ylim(*limits([*_ends(as_built), *_ends(closed)], above=0.2))
    two_scales(axes, "psi", "kPa", "stress", "bay above outside")
    ruler(axes, "bottom", numbers=False)
    labels = Labels(axes)
    corner(axes, labels, "Pressure over the joint")
    for y in (as_built, closed):
        labels.avoid(x, y)
    axes.axhline(0.0, color=SOFT, lw=0.8)
    opened = float(np.abs(as_built - closed).max()) > 1e-3 * float(np.abs(closed).max())
    axes.plot(x, as_built, color=MAIN, lw=2.0)
    greatest = float(np.abs(ascent.climb.difference[shown]).max())
    most = quantities.show(greatest, "stress", ("Pa" if greatest < 100.0 else "kPa", "psi"))
    if opened:
        axes.plot(x, closed, color=WARM, ls=(0, (5, 2)), lw=1.6)
        labels.along("without any opening", x, closed, WARM, [(x, as_built)])
        labels.along(f"with the case's openings: {most} at most", x, as_built, MAIN, [(x, closed)])
    else:
        labels.along(f"the case has no opening: {most} at most", x, as_built, MAIN)


def _force(axes: Any, ascent: AscentResult, x: np.ndarray, shown: np.ndarray) -> None:
    """Draw what pulls at the joint, and what holds it."""
    climb = ascent.climb
    pound = exchange(1.0, "N", "lbf", "force")
    whole = pound * climb.force[shown]
    curves = [whole]
    if climb.profile.pull is not None:
        curves.append(pound * climb.profile.pull[shown])
    holds = pound * ascent.low, pound * ascent.held
    axes.set_ylim(*limits([*holds, *(e for y in curves for e in _ends(y))], above=0.22))
    two_scales(axes, "lbf", "N", "force", "force on the joint")
    ruler(axes, "bottom", numbers=False)
    labels = Labels(axes)
    corner(axes, labels, "Pull and hold")
    across = np.array(axes.get_xlim())
    for y in curves:
        labels.avoid(x, y)
    for level in holds:
        labels.avoid(across, np.full(2, level))
    axes.axhline(0.0, color=SOFT, lw=0.8)
    axes.axhline(holds[0], color=WARM, ls=(0, (7, 3)), lw=1.6)
    axes.axhline(holds[1], color=SOFT, ls=(0, (2, 2)), lw=1.2)
    axes.plot(x, whole, color=MAIN, lw=2.0, zorder=3)
    if len(curves) > 1:
        axes.plot(x, curves[1], color=COOL, ls=(0, (1, 1.2)), lw=1.8, zorder=3.5)
        labels.along("of which drag", x, curves[1], COOL, [(x, whole)])
    labels.along(f"pull: {_n(ascent.force)} at most", x, whole, MAIN, [(x, y) for y in curves[1:]])
    share = f"{100.0 * ascent.wanted:g}"
    low, nominal = ((across, np.full(2, level)) for level in holds)
    labels.along(f"held in {share} %: {_n(ascent.low)}", *low, WARM, [nominal])
    labels.along(f"held if nothing scatters: {_n(ascent.held)}", *nominal, INK, [low])


def _ends(values: np.ndarray) -> tuple[float, float]:
    return float(values.min()), float(values.max())


def _n(value: float) -> str:
    return quantities.show(value, "force")
