"""Labels in a figure that find their own place."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any, NamedTuple

import numpy as np

from baypulse.case.quantities import shorten
from baypulse.show.figures.base import INK, LETTER, LINE, PAPER, SOFT, WARM, points
from baypulse.show.figures.letters import measured, with_units

APART = 8.0
"""Room between two names beside each other [points]."""

HINTED = 1.05
"""How much wider letters may come out, since screens move their edges to whole dots."""

GOOD_PLACE = 2.0
"""Cost of a place that needs no text of more lines to be tried."""

TAKEN = 200.0
"""Cost of a place on another label, or outside."""

MOST_LINES = 4
"""Lines of a label."""

SHORTEST = 40.0
"""Width below which a text is not broken for a better place [points]."""


class _Place(NamedTuple):
    """A place for a label: what speaks against it, its lower left corner [points], its lines."""

    cost: float
    left: float
    low: float
    lines: list[str]


class Labels:
    """Puts labels where neither curves nor other labels are.

    Parameters
    ----------
    axes : matplotlib Axes
        Limits must be final.
    """

    def __init__(self, axes: Any) -> None:
        self.axes = axes
        self.size = points(axes)
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

    def _best(
        self, lines: list[str], bold: bool, spots: np.ndarray, sides: Sequence[str],
        penalty: np.ndarray | None, best: _Place | None,
    ) -> _Place:  # fmt: skip
        """Return the best place beside some points for a text on such lines, or an earlier one."""
        wide, tall = max(text_width(line, bold) for line in lines), LINE * len(lines)
        for order, (px, py) in enumerate(spots):
            for side_order, side in enumerate(sides):
                left, low = {
                    "above": (px - wide / 2, py + 4.0),
                    "below": (px - wide / 2, py - tall - 4.0),
                    "left": (px - wide - 6.0, py - tall / 2),
                    "right": (px + 6.0, py - tall / 2),
                    "on": (px - wide / 2, py - tall / 2),
                }[side]
                cost = self._cost((left, low, left + wide, low + tall))
                cost += 0.05 * order + 0.01 * side_order + 0.5 * (len(lines) - 1)
                cost += 0.0 if penalty is None else float(penalty[order])
                if best is None or cost < best.cost:
                    best = _Place(cost, left, low, lines)
        assert best is not None
        return best

    def put(
        self, text: str, x: Any, y: Any, sides: str = "above below left right",
        colour: str = INK, bold: bool = False, penalty: np.ndarray | None = None,
    ) -> None:  # fmt: skip
        """Write a label beside the best of some points, the earlier the better.

        Parameters
        ----------
        text : str
            What it says, on as few lines as there is room for.
        x, y : float or sequence of float
            Candidate points in data units.
        sides : str
            Sides of the point to try, the best first; ``"on"`` covers the point.
        colour : str
            Of the letters.
        bold : bool
            Heavy letters.
        penalty : ndarray, optional
            What speaks against each point.
        """
        spots = self.to_points(x, y)
        ways = broken(text, float(self.size[0]), bold)
        best: _Place | None = None
        for lines in ways:
            best = self._best(lines, bold, spots, sides.split(), penalty, best)
            if best.cost < GOOD_PLACE:
                break
        assert best is not None
        if best.cost >= TAKEN:
            # no point has room: anywhere, the nearer the better
            across, up = np.meshgrid(*(np.linspace(0.0, side, 21) for side in self.size))
            grid = np.column_stack((across.ravel(), up.ravel()))
            far = np.hypot(*(grid[:, None, :] - spots[None, :, :]).T).min(axis=0)
            order = np.argsort(far, kind="stable")
            for lines in ways:
                best = self._best(lines, bold, grid[order], ["on"], 0.1 * far[order], best)
        left, low, lines = best.left, best.low, best.lines
        wide = max(text_width(line, bold) for line in lines)
        tall = LINE * len(lines)
        self.taken.append((left - 2.0, low - 1.0, left + wide + 2.0, low + tall + 1.0))
        self.axes.annotate(
            "\n".join(lines), (0.0, 0.0), xytext=(left, low + 0.5 * tall), va="center",
            xycoords="axes fraction", textcoords="offset points", color=colour, linespacing=1.05,
            fontweight="bold" if bold else "normal", zorder=9,
            bbox={"facecolor": PAPER, "edgecolor": "none", "pad": 0.6, "alpha": 0.85},
        )  # fmt: skip

    def along(
        self, text: str, x: Any, y: Any, colour: str = INK,
        others: Sequence[tuple[np.ndarray, np.ndarray]] = (),
    ) -> None:  # fmt: skip
        """Write a label somewhere along a curve, best where no other curve is near.

        Parameters
        ----------
        text : str
            One line.
        x, y : array_like
            The curve.
        colour : str
            Of the letters.
        others : sequence of (ndarray, ndarray)
            Curves with which it must not be confused.
        """
        low, high = self.axes.get_xlim()
        bottom, top = self.axes.get_ylim()
        at = np.linspace(high, low, 33)[1:-1]
        on = np.interp(at, x, y)
        near = np.zeros(at.size)
        per = self.size[1] / (top - bottom)
        for other_x, other_y in others:
            apart = np.abs(np.interp(at, other_x, other_y) - on) * per
            near = np.maximum(near, np.nan_to_num(np.clip(14.0 - apart, 0.0, None)))
        seen = (on >= bottom) & (on <= top)
        order = np.argsort(near[seen], kind="stable")
        if seen.any():
            self.put(text, at[seen][order], on[seen][order], "above below right left",
                     colour,
                     penalty=2.0 * near[seen][order])  # fmt: skip

    def on(
        self, text: str, x: np.ndarray, y: np.ndarray, colour: str = INK, bold: bool = False
    ) -> None:
        """Write a label over the best of some points, moved inwards where it would leave the axes.

        Parameters
        ----------
        text : str
            What it says.
        x, y : ndarray
            The points, the best first.
        colour : str
            Of the letters.
        bold : bool
            Heavy letters.
        """
        ends = np.array([self.axes.get_xlim(), self.axes.get_ylim()])
        lines = broken(text, float(self.size[0]), bold)[0]
        wide = max(text_width(line, bold) for line in lines)
        size = np.array([wide + 4.0, LINE * len(lines) + 4.0])
        room = 0.5 * size / self.size * np.diff(ends, axis=1)[:, 0]
        x, y = (np.clip(row, low + half, high - half)
                for row, (low, high), half in zip((x, y), ends, room, strict=True))  # fmt: skip
        self.put(text, x, y, "on", colour, bold)

    def level(self, text: str, y: float, colour: str = WARM, **look: Any) -> None:
        """Draw a level line, keep other labels off it, and write its name along it.

        Parameters
        ----------
        text : str
            One line.
        y : float
            Its height in data units.
        colour : str
            Of line and letters.
        **look
            Of the line.
        """
        self.axes.axhline(y, color=colour, **({"lw": 1.6, "ls": (0, (7, 3)), "zorder": 4} | look))
        ends = np.array(self.axes.get_xlim())
        self.avoid(ends, [y, y])
        self.along(text, ends, np.full(2, y), colour)

    def flags(self, places: Sequence[tuple[float, str]]) -> None:
        """Draw upright lines with their names side by side at the top.

        Parameters
        ----------
        places : sequence of (float, str)
            Position in data units and name, in order.
        """
        low, high = self.axes.get_xlim()
        inside = [NameOver(x, name) for x, name in places if low <= x <= high]
        top, rows = float(self.size[1]), name_rows(self.axes, inside)
        foot = top - 7.0 - LINE * rows
        for x, _, _, _ in inside:
            self.axes.axvline(x, 0.0, foot / top, color=SOFT, lw=0.9, ls=(0, (3, 2)), zorder=1)
            self.avoid([x, x], self.axes.get_ylim())
        for centre, wide, low in names_over(self.axes, inside, foot, foot + 8.0):
            box = centre - wide / 2, low - 3.0, centre + wide / 2, low + LINE
            self.taken.append(box)


class NameOver(NamedTuple):
    """A name to write over a place along the width of axes.

    Attributes
    ----------
    x : float
        The place, in data units.
    text : str
        One line.
    colour : str
        Of the letters.
    bold : bool
        Heavy letters.
    """

    x: float
    text: str
    colour: str = INK
    bold: bool = False


def name_rows(axes: Any, names: Sequence[NameOver]) -> int:
    """Return on how many rows names find room over axes."""
    return rows_for(name_widths(names), float(points(axes)[0]))


def name_widths(names: Sequence[NameOver]) -> list[float]:
    """Return how wide names are, with the room between them [points]."""
    return [text_width(each.text, each.bold) + APART for each in names]


def rows_for(widths: Sequence[float], whole: float) -> int:
    """Return on how many rows labels find room, every so many-th on the same row.

    Parameters
    ----------
    widths : sequence of float
        Their widths, from the left.
    whole : float
        Length of a row.

    Examples
    --------
    >>> rows_for([40.0, 30.0, 40.0], 80.0)
    2
    """
    return next(
        (count for count in range(1, len(widths))
         if all(sum(widths[row::count]) <= whole for row in range(count))),
        max(len(widths), 1),
    )  # fmt: skip


def names_over(
    axes: Any, names: Sequence[NameOver], foot: float, height: float
) -> list[tuple[float, float, float]]:
    """Write names over axes, none over another, each with a line down to its place.

    Those that find no room side by side stand on several rows.

    Parameters
    ----------
    axes : matplotlib Axes
        Limits across must be final.
    names : sequence of NameOver
        From the left.
    foot, height : float
        Where the lines end and where the lowest names stand, above the foot of the axes [points].

    Returns
    -------
    list of (float, float, float)
        Middle, width and height above the foot of each name [points].
    """
    whole = float(points(axes)[0])
    low, high = axes.get_xlim()
    rows = name_rows(axes, names)
    widths = name_widths(names)
    spots = [(each.x - low) / (high - low) * whole for each in names]
    centres = np.empty(len(names))
    for row in range(rows):
        centres[row::rows] = spread(spots[row::rows], widths[row::rows], whole)
    found = []
    for k, (each, spot, centre) in enumerate(zip(names, spots, centres, strict=True)):
        row = k % rows
        up = height + LINE * row
        # the lines of the higher ones go behind the lower ones
        axes.annotate(
            fitting(each.text, whole, each.bold), (spot, foot), xytext=(centre, up),
            xycoords="axes points", textcoords="axes points", ha="center", color=each.colour,
            fontweight="bold" if each.bold else "normal", zorder=9.0 - 0.1 * row,
            bbox={"facecolor": PAPER, "edgecolor": "none", "pad": 0.4},
            arrowprops={"arrowstyle": "-", "color": SOFT, "lw": 0.6, "shrinkA": 0, "shrinkB": 0},
        )  # fmt: skip
        found.append((float(centre), widths[k], up))
    return found


def text_width(text: str, bold: bool = False) -> float:
    """Return how wide a line is in letters of the usual size [points]."""
    return HINTED * LETTER * measured(text, bold) + 2.0


def fitting(text: str, room: float, bold: bool = False) -> str:
    """Return a line, shortened where it is wider than there is room [points]."""
    kept = len(text)
    while kept > 8 and text_width(shorten(text, kept), bold) > room:
        kept -= 1
    return shorten(text, kept)


def broken(text: str, room: float, bold: bool = False) -> list[list[str]]:
    """Return the ways to write a text on one line and on more, each of lines about as wide.

    Parameters
    ----------
    text : str
        What is written.
    room : float
        Width that no line exceeds [points].
    bold : bool
        Heavy letters.
    """
    whole = text_width(text, bold)
    least = max((text_width(word, bold) for word in text.split()), default=0.0)
    found: list[list[str]] = [[text]] if whole <= room else []
    for count in range(2, MOST_LINES + 1):
        if whole / count < SHORTEST and found:
            break
        for slack in (1.0, 1.15, 1.3):
            wide = min(max(slack * whole / count, least), room)
            lines = with_units(text, (wide - 2.0) / (HINTED * LETTER), bold)
            if len(lines) <= count and lines not in found:
                found.append(lines)
                break
    return found or [[fitting(text, room, bold)]]


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
    if not len(centres):
        return []
    wide = np.asarray(widths, dtype=float)
    before = np.cumsum(wide) - wide
    # without the labels before each they have to rise only, and to stay on the line
    starts = (
        np.clip(
            _rising(np.asarray(centres) - 0.5 * wide - before),
            0.0,
            max(whole - float(wide.sum()), 0.0),
        )
        + before
    )
    return [float(centre) for centre in starts + 0.5 * wide]


def _rising(values: np.ndarray) -> np.ndarray:
    """Return the numbers nearest to some in squares that never fall, by the min-max formula.

    The library's routine asks for more time to load than all labels take.

    References
    ----------
    R. E. Barlow et al., Statistical Inference under Order Restrictions, 1972, section 1.4 (from
    memory); a test compares it with the library's.
    """
    n = len(values)
    means = np.array([[values[i : k + 1].mean() if k >= i else math.inf for k in range(n)]
                      for i in range(n)])  # fmt: skip
    return np.array([max(means[i, k:].min() for i in range(k + 1)) for k in range(n)])
