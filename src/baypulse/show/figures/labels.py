"""Labels in a figure that find their own place."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, NamedTuple

import numpy as np
from scipy.optimize import isotonic_regression

from baypulse.case.quantities import shorten
from baypulse.show.figures.base import INK, LETTER, PAPER, SOFT, WARM, points


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

    def put(
        self, text: str, x: Any, y: Any, sides: str = "above below left right",
        colour: str = INK, bold: bool = False, penalty: np.ndarray | None = None,
    ) -> None:  # fmt: skip
        """Write a label beside the best of some points, the earlier the better.

        Parameters
        ----------
        text : str
            One line.
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
        text = fitting(text, float(self.size[0]), bold)
        wide, tall = text_width(text, bold), LETTER * 1.15
        best: tuple[float, float, float] | None = None
        for order, (px, py) in enumerate(self.to_points(x, y)):
            for side_order, side in enumerate(sides.split()):
                left, low = {
                    "above": (px - wide / 2, py + 4.0),
                    "below": (px - wide / 2, py - tall - 4.0),
                    "left": (px - wide - 6.0, py - tall / 2),
                    "right": (px + 6.0, py - tall / 2),
                    "on": (px - wide / 2, py - tall / 2),
                }[side]
                cost = self._cost((left, low, left + wide, low + tall))
                cost += 0.05 * order + 0.01 * side_order
                cost += 0.0 if penalty is None else float(penalty[order])
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
            self.put(text, at[seen][order], on[seen][order], "above below", colour,
                     penalty=2.0 * near[seen][order])  # fmt: skip

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
        top = float(self.size[1])
        for x, _, _, _ in inside:
            self.axes.axvline(
                x, 0.0, 1.0 - 13.0 / top, color=SOFT, lw=0.9, ls=(0, (3, 2)), zorder=1
            )
            self.avoid([x, x], self.axes.get_ylim())
        for centre, wide in names_over(self.axes, inside, top - 13.0, top - 9.0):
            self.taken.append((centre - wide / 2, top - 13.0, centre + wide / 2, top + 2.0))


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


def names_over(
    axes: Any, names: Sequence[NameOver], foot: float, height: float
) -> list[tuple[float, float]]:
    """Write names side by side, none over another, each with a line down to its place.

    Parameters
    ----------
    axes : matplotlib Axes
        Limits across must be final.
    names : sequence of NameOver
        From the left.
    foot, height : float
        Where the lines end and where the names stand, above the foot of the axes [points].

    Returns
    -------
    list of (float, float)
        Middle and width of each name [points].
    """
    whole = float(points(axes)[0])
    low, high = axes.get_xlim()
    spots = [(each.x - low) / (high - low) * whole for each in names]
    widths = [text_width(each.text, each.bold) + 8.0 for each in names]
    centres = spread(spots, widths, whole)
    for each, spot, centre in zip(names, spots, centres, strict=True):
        axes.annotate(
            each.text, (spot, foot), xytext=(centre, height), xycoords="axes points",
            textcoords="axes points", ha="center", color=each.colour,
            fontweight="bold" if each.bold else "normal", zorder=9,
            arrowprops={"arrowstyle": "-", "color": SOFT, "lw": 0.6, "shrinkA": 0, "shrinkB": 0},
        )  # fmt: skip
    return list(zip(centres, widths, strict=True))


def text_width(text: str, bold: bool = False) -> float:
    """Return about how wide a text is [points]."""
    return LETTER * (0.62 if bold else 0.565) * len(text) + 2.0


def fitting(text: str, room: float, bold: bool = False) -> str:
    """Return a text, shortened where it is wider than there is room [points]."""
    return shorten(text, max(int(len(text) * room / text_width(text, bold)), 8))


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
    wanted = isotonic_regression(np.asarray(centres) - 0.5 * wide - before).x
    starts = np.clip(wanted, 0.0, max(whole - float(wide.sum()), 0.0)) + before
    return [float(centre) for centre in starts + 0.5 * wide]
