"""Figures of a result: matplotlib figures, and the same as PNG bytes or SVG text."""

from __future__ import annotations

import io
import re
from collections.abc import Callable
from typing import Any

from baypulse.plot import charts, curves
from baypulse.plot import sketch as sketches
from baypulse.plot.base import BOTTOM, DOTS, moved, panels, style, window
from baypulse.result import Result

PAGE = ("course", "pressure-travel", "inside", "cord", "breakdown", "budget", "sketch")
"""Figures of a report, those that a result has."""


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
    with style():
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


def png(drawn: Any) -> bytes:
    """Return a figure as the bytes of a PNG file.

    Parameters
    ----------
    drawn : matplotlib.figure.Figure
        From :func:`figure`.
    """
    stream = io.BytesIO()
    with style():
        drawn.savefig(stream, format="png", dpi=DOTS, pil_kwargs={"compress_level": 4})
    return stream.getvalue()


def svg(drawn: Any) -> str:
    """Return a figure as the text of an SVG file, the same each time.

    Parameters
    ----------
    drawn : matplotlib.figure.Figure
        From :func:`figure`.
    """
    stream = io.StringIO()
    with style():
        drawn.savefig(stream, format="svg", metadata={"Date": None})
    return stream.getvalue()


def inline(text: str, name: str, title: str) -> str:
    """Return an SVG file's text fit for the inside of a page.

    Parameters
    ----------
    text : str
        From :func:`svg`.
    name : str
        Put before every identity, so that two figures of a page do not share one.
    title : str
        What the figure shows, for those who hear the page.
    """
    text = re.sub(r"<metadata>.*?</metadata>", "", text[text.index("<svg") :], flags=re.DOTALL)
    text = re.sub(r' xmlns(:\w+)?="[^"]*"', "", text).replace("xlink:href", "href")
    text = re.sub(r"<!--.*?-->\n?", "", text, flags=re.DOTALL)
    text = re.sub(r'(\bid="|url\(#|href="#)', rf"\g<1>{name}-", text)
    label = title.replace("&", "&amp;").replace('"', "&quot;").replace("<", "&lt;")
    return re.sub(r'<svg [^>]*?(viewBox="[^"]*")[^>]*>',
                  rf'<svg role="img" aria-label="{label}" \1>', text, count=1)  # fmt: skip


def _single(title: str, draw: Callable[..., None], height: float) -> Callable[[Result], Any]:
    """Return the maker of a figure with one panel against time."""

    def make(result: Result) -> Any:
        drawn, (axes,) = panels(title, [height])
        shown = window(result)
        draw(axes, result, shown)
        shown.write(axes)
        return drawn

    return make


def _several(title: str, rows: list[tuple[Callable[..., None], float]]) -> Callable[[Result], Any]:
    """Return the maker of a figure with several panels on one time axis."""

    def make(result: Result) -> Any:
        kept = [row for row in rows if row[0] is not curves.burnt or result.case.powder]
        drawn, places = panels(title, [height for _, height in kept])
        shown = window(result)
        for (draw, _), axes in zip(kept, places, strict=True):
            draw(axes, result, shown)
        shown.write(places[-1])
        return drawn

    return make


def _pressure_travel(result: Result) -> Any:
    drawn, (axes,) = panels("Pressure against travel", [2.7], BOTTOM + 0.2)
    curves.pressure_travel(axes, result)
    return drawn


def _cord(result: Result) -> Any:
    drawn, (axes,) = panels("Load of the cord", [2.2])
    curves.cord(axes, result)
    return drawn


_FIGURES: dict[str, Callable[[Result], Any]] = {
    "course": _several(
        "Pressure, travel and speed",
        [(curves.pressure, 2.7), (curves.travel, 1.3), (curves.velocity, 1.3)],
    ),
    "pressure": _single("Pressure in the bay", curves.pressure, 2.7),
    "motion": _several("Travel and speed", [(curves.travel, 1.7), (curves.velocity, 1.7)]),
    "pressure-travel": _pressure_travel,
    "inside": _several(
        "Inside the bay",
        [
            (curves.forces, 1.5),
            (curves.heat, 1.8),
            (curves.burnt, 0.9),
            (curves.flow, 1.4),
            (curves.masses, 1.4),
        ],
    ),
    "forces": _single("Forces on the joint", curves.forces, 2.4),
    "heat": _several("Temperatures", [(curves.heat, 2.2), (curves.burnt, 1.0)]),
    "flow": _several("Flow and masses", [(curves.flow, 1.8), (curves.masses, 1.8)]),
    "cord": _cord,
    "breakdown": charts.bridge,
    "budget": charts.budget,
    "sketch": sketches.sketch,
}
