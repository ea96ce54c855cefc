"""What all figures share: style, panels, scales in two units, and labels that find their place."""

from __future__ import annotations

import math
import warnings
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

import numpy as np

from baypulse import units
from baypulse.result import Result

INK, SOFT, FAINT, PAPER = "#1b1f27", "#596270", "#c6cbd3", "#ffffff"
MAIN, WARM, COOL, EARTH = "#123f63", "#a8471b", "#3d7a8c", "#6a5f2b"

LINES = (
    (MAIN, "-", 1.9),
    (WARM, (0, (5, 2)), 1.6),
    (COOL, (0, (1, 1.2)), 1.9),
    (EARTH, (0, (6, 2, 1, 2)), 1.5),
    (SOFT, (0, (3, 1, 1, 1, 1, 1)), 1.5),
    (INK, (0, (8, 3)), 1.2),
)
"""Colour, dashes and width of the curves of a panel; the dashes tell them apart without colour."""

WIDTH = 6.8
"""Width of every figure [in]."""

LEFT, RIGHT, TOP, BOTTOM, GAP = 0.68, 0.68, 0.36, 0.46, 0.16
"""Margins around the panels and between them [in]."""

LETTER = 8.5
"""Size of the letters [points]."""

DOTS = 110
"""Dots per inch of the PNG files."""

_STYLE = {
    "font.family": ["sans-serif"],
    "font.sans-serif": ["DejaVu Sans", "Verdana", "Arial", "sans-serif"],
    "font.size": LETTER,
    "axes.titlesize": 10.0,
    "axes.titleweight": "bold",
    "axes.titlelocation": "left",
    "axes.edgecolor": SOFT,
    "axes.labelcolor": INK,
    "axes.linewidth": 0.8,
    "text.color": INK,
    "xtick.color": SOFT,
    "ytick.color": SOFT,
    "xtick.labelcolor": INK,
    "ytick.labelcolor": INK,
    "hatch.linewidth": 0.6,
    "svg.fonttype": "none",
    "svg.hashsalt": "baypulse",
    "path.simplify_threshold": 0.2,
}


@contextmanager
def style() -> Iterator[None]:
    """Use our own settings of matplotlib, whatever the user's are, and put theirs back."""
    import matplotlib

    with matplotlib.rc_context():
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # a default may be on its way out
            plain = {k: v for k, v in matplotlib.rcParamsDefault.items() if "backend" not in k}
            matplotlib.rcParams.update(plain)
        matplotlib.rcParams.update(_STYLE)
        yield


def blank(height: float) -> Any:
    """Return an empty figure of our width and that height [in]."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    figure = Figure(figsize=(WIDTH, height), facecolor=PAPER)
    FigureCanvasAgg(figure)
    return figure


def panels(title: str, heights: Sequence[float], bottom: float = BOTTOM) -> tuple[Any, list[Any]]:
    """Return a figure with panels one below another.

    Parameters
    ----------
    title : str
        Over the first panel.
    heights : sequence of float
        Of each panel [in], from the top.
    bottom : float
        Margin below the last [in].
    """
    height = TOP + sum(heights) + GAP * (len(heights) - 1) + bottom
    figure = blank(height)
    found = []
    edge = height - TOP
    for tall in heights:
        edge -= tall
        place = (LEFT / WIDTH, edge / height, (WIDTH - LEFT - RIGHT) / WIDTH, tall / height)
        axes = figure.add_axes(place)
        axes.spines["top"].set_visible(False)
        axes.margins(x=0.0)
        found.append(axes)
        edge -= GAP
    for axes in found[:-1]:
        axes.tick_params(labelbottom=False)
    found[0].set_title(title)
    return figure, found


def finite(values: np.ndarray) -> np.ndarray:
    """Return the finite values, or a single 0 when there are none."""
    kept = values[np.isfinite(values)]
    return kept if kept.size else np.zeros(1)


def limits(values: Sequence[float], above: float = 0.12, below: float = 0.06) -> tuple[float, float]:
    """Return limits of a scale that holds zero and all values, with room above and below."""
    good = [float(v) for v in values if math.isfinite(v)]
    low, high = min([0.0, *good]), max([0.0, *good])
    size = high - low
    if size < 1e-9:
        return -0.05, 1.0
    return low - below * size, high + above * size


def second_scale(axes: Any, unit: str, other: str, dimension: str, what: str) -> None:
    """Label the left scale in one unit and add the right one in another.

    Parameters
    ----------
    axes : matplotlib Axes
        Limits must be final.
    unit, other : str
        Units of the left and the right scale.
    dimension : str
        Kind of value.
    what : str
        Name for the left label.
    """
    low, high = axes.get_ylim()
    twin = axes.twinx()
    twin.set_ylim(*(exchange(v, unit, other, dimension) for v in (low, high)))
    twin.set_ylabel(pretty(other))
    twin.spines["top"].set_visible(False)
    axes.set_ylabel(f"{what} ({pretty(unit)})" if what else pretty(unit))
    axes.set_zorder(twin.get_zorder() + 1)
    axes.patch.set_visible(False)


def exchange(value: Any, unit: str, other: str, dimension: str) -> Any:
    """Turn a value or an array in one unit into another unit of the same dimension."""
    if dimension == "temperature":
        zero = units.parse(f"0 {unit}", dimension)
        one = units.parse(f"1 {unit}", dimension)
        return units.convert(zero + (one - zero) * value, other)
    return value / units.convert(1.0, unit) * units.convert(1.0, other)


def pretty(unit: str) -> str:
    """Write a unit as it is printed."""
    return {"degC": "°C", "degF": "°F"}.get(unit, unit)


@dataclass(frozen=True)
class Window:
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
        """Set limits and label of a time axis."""
        axes.set_xlim(self.start * self.scale, self.stop * self.scale)
        unit = "s" if self.scale == 1.0 else "ms"
        axes.set_xlabel(f"time after the firing current ({unit})")


def window(result: Result) -> Window:
    """Return the interesting stretch: from the spark to shortly after the joint is clear.

    For a joint that does not clear it ends where the pressure is down to a tenth of its peak.
    """
    time = result.time
    begin = result.event("start")
    start = begin.time if begin else float(time[0])
    clear, over = result.event("clear"), result.event("gas over")
    if clear is not None:
        stop = max(clear.time, min(over.time if over else clear.time, 2.0 * clear.time))
        stop += 0.35 * (stop - start)
    else:
        gauge = np.nan_to_num(result.gauge_pressure)
        high = np.nonzero(np.abs(gauge) > 0.1 * np.abs(gauge).max(initial=0.0))[0]
        stop = float(time[high[-1]]) if high.size else float(time[-1])
        stop += 0.05 * (stop - start)
    stop = max(min(stop, float(time[-1])), start + 1e-3)
    return Window(max(start - 0.06 * (stop - start), 0.0), stop)


def marks(result: Result) -> list[tuple[float, float, str]]:
    """Return time, travel and short name of the events that people look for."""
    found = []
    fails = [e for e in result.events if e.name.startswith("pin ") and e.name.endswith("fails")]
    if fails:
        first, last = fails[0], fails[-1]
        count = result.case.pins.count if result.case.pins else 0
        several = last.time - first.time > 1e-4
        name = "pin fails" if count == 1 else "pins fail" if not several else "first pin fails"
        found.append((first.time, first.travel, name))
        if several:
            found.append((last.time, last.travel, "last pin fails"))
    for name in ("holder bursts", "clear", "cord taut"):
        event = result.event(name)
        if event is not None:
            found.append((event.time, event.travel, name))
    return sorted(found)


class Labels:
    """Puts labels where neither curves nor other labels are.

    Parameters
    ----------
    axes : matplotlib Axes
        Limits must be final.
    """

    def __init__(self, axes: Any) -> None:
        self.axes = axes
        box = axes.get_position()
        wide, tall = axes.figure.get_size_inches()
        self.size = np.array([box.width * wide, box.height * tall]) * 72.0
        self.taken: list[tuple[float, float, float, float]] = []
        self.ink = np.empty((0, 2))

    def to_points(self, x: Any, y: Any) -> np.ndarray:
        """Return positions in points from the lower left corner, shape (n, 2)."""
        (x0, x1), (y0, y1) = self.axes.get_xlim(), self.axes.get_ylim()
        share = np.column_stack(
            ((np.atleast_1d(x) - x0) / (x1 - x0), (np.atleast_1d(y) - y0) / (y1 - y0))
        )
        return share * self.size

    def avoid(self, x: Any, y: Any) -> None:
        """Keep labels off a curve."""
        line = self.to_points(x, y)
        line = line[np.isfinite(line).all(axis=1)]
        if line.shape[0] < 2:
            return
        line = np.clip(line, -20.0, self.size + 20.0)
        path = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))))
        at = np.arange(0.0, path[-1] + 2.0, 2.0)
        dense = np.column_stack([np.interp(at, path, line[:, k]) for k in (0, 1)])
        self.ink = np.concatenate((self.ink, dense))

    def _cost(self, box: tuple[float, float, float, float]) -> float:
        x0, y0, x1, y1 = box
        x, y = self.ink.T
        cost = float(np.count_nonzero((x > x0 - 1) & (x < x1 + 1) & (y > y0 - 1) & (y < y1 + 1)))
        cost += sum(
            500.0 for a0, b0, a1, b1 in self.taken if x0 < a1 and a0 < x1 and y0 < b1 and b0 < y1
        )
        outside = max(-x0, 0.0) + max(-y0, 0.0)
        outside += max(x1 - self.size[0], 0.0) + max(y1 - self.size[1], 0.0)
        return cost + 100.0 * outside

    def put(
        self, text: str, x: Any, y: Any, sides: str = "above below left right",
        colour: str = INK, bold: bool = False,
    ) -> None:  # fmt: skip
        """Write a label beside the best of some points, the earlier the better.

        Parameters
        ----------
        text : str
            One line.
        x, y : float or sequence of float
            Candidate points in data units.
        sides : str
            Sides of the point to try, the best first.
        colour : str
            Of the letters.
        bold : bool
            Heavy letters.
        """
        wide, tall = text_width(text, bold), LETTER * 1.15
        best: tuple[float, float, float] | None = None
        for order, (px, py) in enumerate(self.to_points(x, y)):
            for side_order, side in enumerate(sides.split()):
                left, low = {
                    "above": (px - wide / 2, py + 3.0),
                    "below": (px - wide / 2, py - tall - 3.0),
                    "left": (px - wide - 6.0, py - tall / 2),
                    "right": (px + 6.0, py - tall / 2),
                }[side]
                cost = self._cost((left, low, left + wide, low + tall))
                cost += 0.05 * order + 0.01 * side_order
                if best is None or cost < best[0]:
                    best = (cost, left, low)
        assert best is not None
        _, left, low = best
        self.taken.append((left - 2.0, low - 1.0, left + wide + 2.0, low + tall + 1.0))
        self.axes.annotate(
            text, (0.0, 0.0), xytext=(left, low + 0.22 * tall), xycoords="axes fraction",
            textcoords="offset points", color=colour, fontweight="bold" if bold else "normal",
            bbox={"facecolor": PAPER, "edgecolor": "none", "pad": 0.6, "alpha": 0.85}, zorder=9,
        )  # fmt: skip

    def along(self, text: str, x: np.ndarray, y: np.ndarray, colour: str = INK) -> None:
        """Write a label somewhere along a curve."""
        low, high = self.axes.get_xlim()
        bottom, top = self.axes.get_ylim()
        at = np.linspace(high, low, 25)[1:-1]
        on = np.interp(at, x, y)
        seen = (on >= bottom) & (on <= top)
        if seen.any():
            self.put(text, at[seen], on[seen], "above below", colour)

    def flags(self, places: Sequence[tuple[float, str]]) -> None:
        """Draw upright lines with their names side by side at the top.

        Parameters
        ----------
        places : sequence of (float, str)
            Position in data units and name, in order.
        """
        low, high = self.axes.get_xlim()
        inside = [(x, name) for x, name in places if low <= x <= high]
        widths = [text_width(name) + 8.0 for _, name in inside]
        spots = [float(self.to_points(x, 0.0)[0, 0]) for x, _ in inside]
        centres = spread(spots, widths, float(self.size[0]))
        top = float(self.size[1])
        for (x, name), wide, spot, centre in zip(inside, widths, spots, centres, strict=True):
            self.axes.axvline(x, 0.0, 1.0 - 13.0 / top, color=SOFT, lw=0.9, ls=(0, (3, 2)), zorder=1)
            self.taken.append((centre - wide / 2, top - 13.0, centre + wide / 2, top + 2.0))
            self.axes.annotate(
                name, (spot, top - 13.0), xytext=(centre, top - 9.0), xycoords="axes points",
                textcoords="axes points", ha="center", color=INK, zorder=9,
                arrowprops={"arrowstyle": "-", "color": SOFT, "lw": 0.6, "shrinkA": 0, "shrinkB": 0},
            )  # fmt: skip
            self.avoid([x, x], self.axes.get_ylim())


def text_width(text: str, bold: bool = False) -> float:
    """Return about how wide a text is [points]."""
    return LETTER * (0.62 if bold else 0.565) * len(text) + 2.0


def spread(centres: Sequence[float], widths: Sequence[float], whole: float) -> list[float]:
    """Move labels on a line apart until none covers another, as little as can be.

    Parameters
    ----------
    centres : sequence of float
        Where they would like to be, in rising order.
    widths : sequence of float
        Their widths.
    whole : float
        Length of the line.

    Examples
    --------
    >>> spread([10.0, 12.0], [10.0, 10.0], 100.0)
    [6.0, 16.0]
    """
    blocks: list[list[float]] = []  # start and length
    sizes: list[int] = []
    for centre, width in zip(centres, widths, strict=True):
        blocks.append([max(min(centre - width / 2, whole - width), 0.0), width])
        sizes.append(1)
        while len(blocks) > 1 and blocks[-2][0] + blocks[-2][1] > blocks[-1][0]:
            start, length = blocks.pop()
            count = sizes.pop()
            before = blocks[-1]
            share = sizes[-1]
            wanted = (before[0] * share + (start - before[1]) * count) / (share + count)
            both = before[1] + length
            blocks[-1] = [max(min(wanted, whole - both), 0.0), both]
            sizes[-1] = share + count
    found: list[float] = []
    at = 0
    for (start, _length), count in zip(blocks, sizes, strict=True):
        for width in widths[at : at + count]:
            found.append(start + width / 2)
            start += width
        at += count
    return found
