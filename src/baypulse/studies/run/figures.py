"""Figures of a run, by name."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from baypulse.run.result import Result
from baypulse.show.figures import sketch as sketches
from baypulse.show.figures.base import BOTTOM, moved, panels, window
from baypulse.show.figures.cord_load import cord_load
from baypulse.studies.run import balance_charts, curve_panels


def figure(result: Result, name: str = "pressure") -> Any:
    """Draw one figure.

    Parameters
    ----------
    result : Result
        A run.
    name : str
        One of :func:`names`.

    Returns
    -------
    matplotlib.figure.Figure
        Tied to no window and to no global state.

    Raises
    ------
    ValueError
        For a name that is none, or a figure that this result does not have.
    """
    if name not in names(result):
        raise ValueError(f"no figure {name!r} of this result; it has {', '.join(names(result))}")
    return _FIGURES[name](result)


def names(result: Result) -> list[str]:
    """Return the names of the figures that a result has.

    Parameters
    ----------
    result : Result
        A run; one whose cord never pulled has no figure of the cord.
    """
    missing = set()
    if result.numbers.cord_load is None:
        missing.add("cord")
    if not moved(result):
        missing.add("pressure-travel")
    return [name for name in _FIGURES if name not in missing]


def _several(title: str, rows: list[tuple[Callable[..., None], float]]) -> Callable[[Result], Any]:
    """Return the maker of a figure with several panels on one time axis."""

    def make(result: Result) -> Any:
        kept = [row for row in rows if row[0] is not curve_panels.burnt or result.case.powder]
        drawn, places = panels(title, [height for _, height in kept])
        shown = window(result)
        for (draw, _), axes in zip(kept, places, strict=True):
            draw(axes, result, shown)
        shown.write(places[-1])
        return drawn

    return make


def _pressure_travel(result: Result) -> Any:
    drawn, (axes,) = panels("Pressure against travel", [2.7], BOTTOM + 0.2)
    curve_panels.pressure_travel(axes, result)
    return drawn


_FIGURES: dict[str, Callable[[Result], Any]] = {
    "course": _several(
        "Pressure, travel and speed",
        [(curve_panels.pressure, 2.7), (curve_panels.travel, 1.3), (curve_panels.velocity, 1.3)],
    ),
    "pressure": _several("Pressure in the bay", [(curve_panels.pressure, 2.7)]),
    "pressure-travel": _pressure_travel,
    "inside": _several(
        "Inside the bay",
        [
            (curve_panels.forces, 1.5),
            (curve_panels.heat, 2.2),
            (curve_panels.burnt, 0.9),
            (curve_panels.flow, 2.2),
            (curve_panels.masses, 1.4),
        ],
    ),
    "cord": cord_load,
    "breakdown": balance_charts.breakdown,
    "budget": balance_charts.budget,
    "sketch": sketches.sketch,
}
"""What draws each figure."""
