"""What all figures share: style, panels, scales in two units, and labels that find their place."""

from __future__ import annotations

import math
import warnings
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np

from baypulse.case import units
from baypulse.run.result import EventKind, Result
from baypulse.show.figures.letters import measured, with_units

INK = "#1b1f27"
"""Colour of letters and of the outlines of what is drawn."""

SOFT = "#596270"
"""Colour of scales and of what is said beside."""

FAINT = "#c6cbd3"
"""Colour of lines behind what is drawn."""

PAPER = "#ffffff"
"""Colour of the page."""

MAIN = "#123f63"
"""Colour of the first curve of a panel, and of what matters."""

WARM = "#a8471b"
"""Colour of the second curve, and of limits."""

COOL = "#3d7a8c"
"""Colour of the third curve."""

EARTH = "#6a5f2b"
"""Colour of the fourth curve."""

LINES = (
    (MAIN, "-", 1.9),
    (WARM, (0, (5, 2)), 1.6),
    (COOL, (0, (1, 1.2)), 1.9),
    (EARTH, (0, (6, 2, 1, 2)), 1.5),
    (SOFT, (0, (3, 1, 1, 1, 1, 1)), 1.5),
    (INK, (0, (8, 3)), 1.2),
)
"""Colour, dashes and width of the curves of a panel; the dashes tell them apart without colour."""

WIDTH = 3.8
"""Width of every figure [in]: the column of a phone 390 dots wide, and of a printed page of two."""

SIDE = 0.08
"""Margin on the left of a title, and on the right of what has no scale there [in]."""

LEFT = 0.66
"""Margin on the left of the panels [in]."""

RIGHT = 0.61
"""Margin on their right [in]."""

TOP = 0.36
"""Margin above them, with a title of one line [in]."""

BOTTOM = 0.46
"""Margin below them [in]."""

GAP = 0.16
"""Room between two of them [in]."""

LETTER = 8.5
"""Size of the letters [points]."""

SMALL = 8.25
"""Size of the smallest letters [points]: 11 dots of a screen, on a phone too."""

MOST_PLACES = 4
"""Decimals of a scale; smaller numbers have a power of ten."""

PANEL = WIDTH - LEFT - RIGHT
"""Width of a panel [in]."""

HEAVY = 9.5
"""Size of the letters of a title [points]."""

HEAVY_LINE = 0.16
"""From line to line of a title [in]."""

LINE = 10.5
"""From line to line of the letters [points]."""

LABEL = 28.0
"""How far the name of an upright scale is from its line at least [points]."""

DOTS = 200
"""Dots per inch of the PNG files."""

PRINTED_DOTS = 300
"""Dots per inch of the PNG files of a document that is printed."""

_STYLE: Any = {
    "font.family": ["sans-serif"],
    "font.sans-serif": ["DejaVu Sans", "Verdana", "Arial", "sans-serif"],
    "font.size": LETTER,
    "text.color": INK,
    "hatch.linewidth": 0.6,
    "svg.fonttype": "none",
    "pdf.fonttype": 42,
    "svg.hashsalt": "baypulse",
    "path.simplify_threshold": 0.2,
    "text.parse_math": False,
}


@contextmanager
def style() -> Iterator[None]:
    """Use our own settings of matplotlib, whatever the user's are, and put theirs back."""
    import matplotlib

    with matplotlib.rc_context():
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # a default may be on its way out
            plain: Any = {k: v for k, v in matplotlib.rcParamsDefault.items() if "backend" not in k}
            matplotlib.rcParams.update(plain)
        matplotlib.rcParams.update(_STYLE)
        with warnings.catch_warnings():
            warnings.filterwarnings("ignore", "Glyph")  # a name in letters that the font lacks
            yield


def blank(height: float) -> Any:
    """Return an empty figure of our width and that height [in]."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    figure = Figure(figsize=(WIDTH, height), facecolor=PAPER)
    FigureCanvasAgg(figure)
    return figure


def panels(
    title: str, heights: Sequence[float], bottom: float = BOTTOM, *, head: float = 0.0,
    gap: float = GAP,
) -> tuple[Any, list[Any]]:  # fmt: skip
    """Return a figure with panels one below another; their scales are drawn by :func:`ruler`.

    Parameters
    ----------
    title : str
        Over the first panel.
    heights : sequence of float
        Of each panel [in], from the top.
    bottom : float
        Margin below the last [in].
    head : float
        Room between the title and the first [in].
    gap : float
        Room between two of them [in].
    """
    edge = sum(heights) + gap * (len(heights) - 1) + bottom
    figure = titled(title, head + edge)
    found = []
    for tall in heights:
        edge -= tall
        found.append(axes_at(figure, LEFT, edge, PANEL, tall))
        edge -= gap
    return figure, found


def axes_at(figure: Any, left: float, bottom: float, wide: float, tall: float) -> Any:
    """Return axes without scales, so far from the lower left corner and so large [in]."""
    width, height = figure.get_size_inches()
    axes = figure.add_axes((left / width, bottom / height, wide / width, tall / height))
    axes.set_axis_off()
    return axes


def titled(title: str, below: float) -> Any:
    """Return a figure with a title, on as many lines as it takes, and so much room below [in]."""
    lines = with_units(title, 70.0 * (WIDTH - 2.0 * SIDE) / HEAVY, bold=True)
    figure = blank(TOP + (len(lines) - 1) * HEAVY_LINE + below)
    height = figure.get_size_inches()[1]
    for k, line in enumerate(lines):
        up = 1.0 - (0.22 + k * HEAVY_LINE) / height
        figure.text(SIDE / WIDTH, up, line, fontweight="bold", fontsize=HEAVY)
    return figure


def points(axes: Any) -> np.ndarray:
    """Return width and height of axes [points]."""
    box = axes.get_position()
    return np.array([box.width, box.height]) * axes.figure.get_size_inches() * 72.0


def write(
    axes: Any, x: float, y: float, text: str, *, right: float = 0.0, up: float = 0.0, **look: Any
) -> None:
    """Write at a share of the width and height of axes, so far from there [points]."""
    size = points(axes)
    axes.text(x + right / size[0], y + up / size[1], text, transform=axes.transAxes, **look)


def ticks(low: float, high: float, most: float, whole: bool = False) -> tuple[list[float], int]:
    """Return round numbers on a scale, at most so many, and their decimals.

    With ``whole`` they are whole numbers.
    """
    raw = (high - low) / max(most, 1.0)
    raw = max(raw, 1.0) if whole else raw
    power = math.floor(math.log10(raw))
    step, places = next(
        (s * 10.0**power, p) for s, p in ((1, 0), (2, 0), (2.5, 1), (5, 0), (10, -1))
        if s * 10.0**power >= raw * (1.0 - 1e-9) and not (whole and p > power)
    )  # fmt: skip
    first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
    return [k * step for k in range(first, last + 1)], max(places - power, 0)


def ruler(
    axes: Any, side: str, label: str = "", scale: tuple[float, float] | None = None,
    numbers: bool = True, shift: float = 0.0, whole: bool = False,
) -> None:  # fmt: skip
    """Draw a scale along one side of axes: its line, its ticks, its numbers.

    Much quicker than the scales of matplotlib, and a second unit needs no second axes.

    Parameters
    ----------
    axes : matplotlib Axes
        Limits must be final.
    side : str
        ``"left"``, ``"right"`` or ``"bottom"``.
    label : str
        Beside the numbers.
    scale : tuple of float, optional
        Values at both ends, where they are in another unit than the axes.
    numbers : bool
        Whether to write the numbers.
    shift : float
        Further out [points], for a second scale below the first.
    whole : bool
        Whether only whole numbers mean something.
    """
    upright = side != "bottom"
    size = points(axes)
    low, high = scale or (axes.get_ylim() if upright else axes.get_xlim())
    # counts are short
    apart = 26.0 if upright or whole else 44.0
    room = size[int(upright)] / apart
    found, places = ticks(low, high, room, whole)
    if upright and len(found) < 2:  # which does not tell how far the scale goes
        found, places = ticks(low, high, 2.0 * max(room, 1.0), whole)
    # more decimals would not find room beside the axes
    shape = f".{places}f" if places <= MOST_PLACES else ".2g"
    marks = [
        ((value - low) / (high - low), f"{value:{shape}}".replace("-", "\N{MINUS SIGN}"))
        for value in found
    ]
    draw_scale(axes, side, marks, label, numbers, shift)


def draw_scale(
    axes: Any, side: str, marks: Sequence[tuple[float, str]], label: str = "",
    numbers: bool = True, shift: float = 0.0,
) -> None:  # fmt: skip
    """Draw a line along one side of axes with its marks.

    Parameters
    ----------
    axes : matplotlib Axes
        Limits must be final.
    side : str
        ``"left"``, ``"right"``, ``"bottom"`` or ``"top"``.
    marks : sequence of (float, str)
        Places as shares of the side, and what is written there.
    label, numbers, shift
        As of :func:`ruler`.
    """
    upright = side in ("left", "right")
    edge, out = (1.0, 1.0) if side in ("right", "top") else (0.0, -1.0)
    across = points(axes)[0 if upright else 1]
    place: Any = {"transform": axes.transAxes}
    held: Any = {
        "ha": {"left": "right", "right": "left"}.get(side, "center"),
        "va": {"bottom": "top", "top": "bottom"}.get(side, "center"),
    }

    def spot(share: float, away: float) -> tuple[float, float]:
        """Return a point by its share along the side and its distance from it [points]."""
        beside = edge + out * away / across
        return (beside, share) if upright else (share, beside)

    if not shift:
        line = [spot(0.0, 0.0), spot(1.0, 0.0)]
        for share, _ in marks:
            line += [(math.nan, math.nan), spot(share, 0.0), spot(share, 3.5)]
        axes.plot(*zip(*line, strict=True), color=SOFT, lw=0.8, clip_on=False,
                  solid_capstyle="butt", **place)  # fmt: skip
    for share, text in marks if numbers else ():
        axes.text(*spot(share, 5.0 + shift), text, color=SOFT if shift else INK, **held, **place)
    if label and upright:
        wide = max([0.0, *(LETTER * measured(text) for _, text in marks)]) if numbers else 0.0
        most = 72.0 * (LEFT if side == "left" else RIGHT) - 6.0
        away, share = max(wide + 12.0, LABEL), 0.5
        if away > most:
            # beside long numbers, and between two of them
            away = most
            shares = [0.0, *(at for at, _ in marks), 1.0]
            gaps = [(high - low, 0.5 * (low + high)) for low, high in pairwise(shares)]
            share = max(gaps)[1]
        axes.text(*spot(share, away), label, rotation=90, ha="center", va="center", **place)
    elif label:
        axes.text(*spot(0.5, 19.0 + shift), label, **held, **place)


def filled(
    draw: Any, *where: Any, look: tuple[str, str, str], lw: float = 0.8, **more: Any
) -> None:
    """Draw a shape of matplotlib with paper, hatch and its colour, then its outline in ink."""
    paper, hatch, ink = look
    draw(*where, facecolor=paper, edgecolor=ink, hatch=hatch or None, lw=0.0, **more)
    draw(*where, facecolor="none", edgecolor=INK, lw=0.8, clip_on=False, **more)


def finite(values: np.ndarray) -> np.ndarray:
    """Return the finite values, or a single 0 when there are none."""
    kept = values[np.isfinite(values)]
    return kept if kept.size else np.zeros(1)


def limits(
    values: Sequence[float], above: float = 0.12, below: float = 0.06
) -> tuple[float, float]:
    """Return limits of a scale that holds zero and all values, with room above and below."""
    good = [float(v) for v in values if math.isfinite(v)]
    low, high = min([0.0, *good]), max([0.0, *good])
    size = high - low
    if size < 1e-9:
        return -0.05, 1.0
    return low - below * size, high + above * size


def exchange(value: Any, unit: str, other: str, dimension: str) -> Any:
    """Turn a value or an array in one unit into another unit of the same dimension."""
    if dimension == "temperature":
        zero = units.parse(f"0 {unit}", dimension)
        one = units.parse(f"1 {unit}", dimension)
        return units.convert(zero + (one - zero) * value, other)
    return value / units.convert(1.0, unit) * units.convert(1.0, other)


@dataclass(frozen=True)
class TimeSpan:
    """The stretch of time that a figure shows.

    Attributes
    ----------
    start, stop : float
        [s].
    """

    start: float
    stop: float

    @property
    def scale(self) -> float:
        """Factor from seconds to the unit of the axis."""
        return 1.0 if self.stop - self.start >= 1.5 else 1e3

    def points(self, time: np.ndarray) -> slice:
        """Return the points inside, and one on either side."""
        first = int(np.searchsorted(time, self.start))
        last = int(np.searchsorted(time, self.stop, side="right"))
        return slice(max(first - 1, 0), last + 1)

    def dress(self, axes: Any) -> None:
        """Set the limits of a time axis and draw its line."""
        axes.set_xlim(self.start * self.scale, self.stop * self.scale)
        ruler(axes, "bottom", numbers=False)

    def write(self, axes: Any) -> None:
        """Write the numbers of a time axis, under the last panel."""
        unit = "s" if self.scale == 1.0 else "ms"
        ruler(axes, "bottom", f"time after the firing command ({unit})")


def window(result: Result) -> TimeSpan:
    """Return the interesting stretch: from the spark to shortly after the joint is clear.

    For a joint that does not clear it ends where the pressure is down to a tenth of its peak, or
    where the joint comes to rest after it moved, and in any case with the run.
    """
    time = result.time
    begin = result.event(EventKind.START)
    start = begin.time if begin else float(time[0])
    clear, over = result.event(EventKind.CLEAR), result.event(EventKind.GAS_OVER)
    rests = [e.time for e in result.events if e.kind is EventKind.STOP]
    if clear is not None:
        stop = max(clear.time, min(over.time if over else clear.time, 2.0 * clear.time))
        stop += 0.35 * (stop - start)
    else:
        gauge = np.nan_to_num(result.gauge_pressure)
        high = np.nonzero(np.abs(gauge) > 0.1 * np.abs(gauge).max(initial=0.0))[0]
        stop = float(time[high[-1]]) if high.size else float(time[-1])
        if moved(result) and rests:
            stop = max(stop, rests[-1])
        stop += 0.05 * (stop - start)
    stop = max(min(stop, float(time[-1])), start + 1e-3)
    return TimeSpan(max(start - 0.06 * (stop - start), 0.0), stop)


def moved(result: Result) -> bool:
    """Say whether the shoulder moved far enough for a curve against travel."""
    return result.numbers.greatest_travel > 0.02 * result.case.joint.shoulder_length


def marks(result: Result, burst: bool = True) -> list[tuple[float, float, str]]:
    """Return time, travel and short name of the events that people look for.

    Parameters
    ----------
    result : Result
        A run.
    burst : bool
        Whether the burst of the holder is one of them; the joint has not moved by then.
    """
    found = []
    fails = [e for e in result.events if e.kind is EventKind.PIN_FAILS]
    if fails:
        first, last = fails[0], fails[-1]
        count = result.case.pins.count if result.case.pins else 0
        several = last.time - first.time > 1e-4
        name = "pin fails" if count == 1 else "pins fail" if not several else "first pin fails"
        found.append((first.time, first.travel, name))
        if several:
            found.append((last.time, last.travel, "last pin fails"))
    for kind in (*([EventKind.BURST] if burst else []), EventKind.CLEAR, EventKind.TAUT):
        event = result.event(kind)
        if event is not None:
            found.append((event.time, event.travel, event.name))
    return sorted(found)
