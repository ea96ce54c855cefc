"""A printed page: text that wraps, tables and boxes to tick, from the top down, in millimetres."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from baypulse.show import cells
from baypulse.show.document import Facts, Table
from baypulse.show.figures.base import INK, PAPER, SOFT
from baypulse.show.figures.letters import wrapped

WIDE = 210.0
"""Width of a page [mm], that of A4 (210 x 297 mm), which Letter (215.9 x 279.4 mm) holds too."""

TALL = 279.4
"""Height of a page [mm], that of Letter, which A4 holds too."""

SIDE = 13.0
"""Margin on the left and right [mm], wider than what printers leave white."""

TOP = 11.0
"""Margin above [mm], wider than what printers leave white."""

BOTTOM = 11.0
"""Margin below [mm], wider than what printers leave white."""

INCH = 25.4
"""An inch [mm]."""

POINT = INCH / 72.0
"""A point, in which letters are measured [mm]."""

LEADING = 1.22
"""From line to line, in sizes of the letters."""

HEADING = 1.15
"""Size of the letters of a heading, over that of the others."""

PAD = 0.8
"""Room about the text of a cell [mm]."""

LEAST_ROW = 7.0
"""Least height of a row to write in by hand [mm]."""

MOST_ROW = 12.0
"""Greatest height of a row to write in by hand [mm]."""


class Sheet:
    """One page that is filled from the top.

    What is put on it is only noted, so that to try how much a page holds costs no more than to
    measure it.

    Parameters
    ----------
    size : float
        Of the letters [points]; everything else goes with it.

    Attributes
    ----------
    y : float
        How far it is filled [mm from the top].
    bottom : float
        How far it may be filled [mm from the top].
    """

    def __init__(self, size: float) -> None:
        self.size = size
        self.y = TOP
        self.bottom = TALL - BOTTOM
        self._noted: list[Callable[[Any], None]] = []

    def figure(self) -> Any:
        """Return the page as a figure of matplotlib."""
        from matplotlib.backends.backend_agg import FigureCanvasAgg
        from matplotlib.figure import Figure

        figure = Figure(figsize=(WIDE / INCH, TALL / INCH), facecolor=PAPER)
        FigureCanvasAgg(figure)
        for draw in self._noted:
            draw(figure)
        return figure

    def put(self, draw: Callable[[Any], None]) -> None:
        """Note what draws something into the figure; it takes no room."""
        self._noted.append(draw)

    @property
    def line(self) -> float:
        """From line to line [mm]."""
        return LEADING * self.size * POINT

    @property
    def overflows(self) -> bool:
        """Whether more was put on the page than it holds."""
        return self.y > self.bottom + 1e-6

    def space(self, share: float = 0.5) -> None:
        """Leave a share of a line free."""
        self.y += share * self.line

    def rule(self, y: float, left: float = SIDE, right: float = WIDE - SIDE, **look: Any) -> None:
        """Draw a level line."""
        self._line((left, right), (y, y), **look)

    def frame(self, left: float, top: float, right: float, bottom: float, **look: Any) -> None:
        """Draw a frame."""
        xs, ys = (left, right, right, left, left), (top, top, bottom, bottom, top)
        self._line(xs, ys, **look)

    def heading(self, text: str) -> None:
        """Write a heading over a line."""
        self.y += 0.35 * self.line
        self._write(SIDE, self.y, text, HEADING, bold=True)
        self.y += HEADING * self.line
        self.rule(self.y, lw=1.0)
        self.y += 0.2 * self.line

    def text(
        self, text: str, left: float = SIDE, width: float = WIDE - 2.0 * SIDE, *,
        scale: float = 1.0, bold: bool = False,
    ) -> None:  # fmt: skip
        """Write a paragraph at the place that is reached, and go on below it."""
        self.y = self.text_at(text, left, self.y, width, scale=scale, bold=bold)

    def text_at(
        self, text: str, left: float, top: float, width: float, *, scale: float = 1.0,
        bold: bool = False,
    ) -> float:  # fmt: skip
        """Write a paragraph anywhere; return where it ends [mm from the top]."""
        for row in wrapped(text, width / (self.size * scale * POINT), bold):
            self._write(left, top, row, scale, bold=bold)
            top += scale * self.line
        return top

    def boxed(self, text: str) -> None:
        """Write a paragraph in a strong frame."""
        top, inside = self.y, 1.6
        self.y += inside
        self.text(text, SIDE + 2.5, WIDE - 2.0 * SIDE - 5.0)
        self.y += inside
        self.frame(SIDE, top, WIDE - SIDE, self.y, lw=1.6)
        self._line((SIDE + 0.9,) * 2, (top, self.y), lw=5.0, solid_capstyle="butt")

    def table(
        self, head: Sequence[str], rows: Sequence[Sequence[str]], shares: Sequence[float], *,
        bold: Sequence[int] = (), width: float = WIDE - 2.0 * SIDE,
    ) -> None:  # fmt: skip
        """Write a table whose cells wrap.

        Parameters
        ----------
        head : sequence of str
            Of the columns; empty for none.
        rows : sequence of sequence of str
            Cells.
        shares : sequence of float
            Widths of the columns, beside each other.
        bold : sequence of int
            Columns in strong letters.
        width : float
            Of all columns [mm].
        """
        edges = _edges(shares, SIDE, width)
        if head:
            self._row(head, edges, range(len(head)))
            self.rule(self.y, right=SIDE + width, lw=0.9)
        for row in rows:
            self._row(row, edges, bold)
            self.rule(self.y, right=SIDE + width, lw=0.4, color=SOFT)

    def _row(self, cells: Sequence[str], edges: Sequence[float], bold: Sequence[int]) -> None:
        self.y += 0.5 * PAD
        ends = [
            self.text_at(cell, x, self.y, stop - x - 2.0 * PAD, bold=k in bold)
            for k, (cell, x, stop) in enumerate(zip(cells, edges, edges[1:], strict=False))
        ]
        self.y = max([self.y, *ends]) + 0.5 * PAD

    def height(self, text: str) -> float:
        """Return how high a paragraph is [mm]."""
        return len(wrapped(text, (WIDE - 2.0 * SIDE) / (self.size * POINT))) * self.line

    def blanks(self, names: Sequence[str]) -> None:
        """Draw lines to write on beside each other, with their names below."""
        each = (WIDE - 2.0 * SIDE) / len(names)
        self.space(1.2)
        for k, name in enumerate(names):
            left = SIDE + k * each
            self.rule(self.y, left, left + each - 3.0, lw=0.6)
            self.text_at(name, left, self.y + 0.2, each - 3.0, scale=0.85)
        self.space(1.4)

    def form(
        self, head: Sequence[str], rows: Sequence[Sequence[str]], shares: Sequence[float]
    ) -> None:
        """Draw a table to be written on, as high as the page has room for.

        Parameters
        ----------
        head : sequence of str
            Of the columns.
        rows : sequence of sequence of str
            What stands in the cells, such as boxes to tick.
        shares : sequence of float
            Widths of the columns, beside each other.
        """
        edges = _edges(shares, SIDE, WIDE - 2.0 * SIDE)
        inside = [edge + PAD for edge in edges]
        top = self.y
        self._row(head, inside, range(len(head)))
        words = max(cell.count("\n") + 1 for row in rows for cell in row)
        tall = max(LEAST_ROW, words * self.line + PAD)
        tall = max(tall, min((self.bottom - self.y) / len(rows), MOST_ROW))
        for row in rows:
            self.rule(self.y, lw=0.8)
            for cell, left, right in zip(row, inside, inside[1:], strict=False):
                self.text_at(cell, left, self.y + 0.5 * PAD, right - left - PAD)
            self.y += tall
        self.frame(SIDE, top, WIDE - SIDE, self.y, lw=0.8)
        for x in edges[1:-1]:
            self._line((x, x), (top, self.y), lw=0.5)

    def _write(
        self, left: float, top: float, text: str, scale: float = 1.0, *, bold: bool = False
    ) -> None:
        """Write one line whose upper edge is there [mm]."""
        size = self.size * scale
        # the line of the letters lies about four fifths of a line below its upper edge
        up = 1.0 - (top + 0.8 * LEADING * size * POINT) / TALL

        def draw(figure: Any) -> None:
            from baypulse.show.written_line import WrittenLine

            figure.add_artist(WrittenLine(left / WIDE, up, text, size, bold, INK))

        self.put(draw)

    def _line(self, xs: Sequence[float], ys: Sequence[float], **look: Any) -> None:
        shown: Any = {"color": INK, "lw": 0.8} | look
        across, up = [x / WIDE for x in xs], [1.0 - y / TALL for y in ys]

        def draw(figure: Any) -> None:
            from matplotlib.lines import Line2D

            figure.add_artist(Line2D(across, up, **shown))

        self.put(draw)


def texts(part: Table | Facts) -> list[list[str]]:
    """Return the names of the columns and the cells of each row; facts are columns of one row.

    What stands in brackets stands on a line of its own.

    Parameters
    ----------
    part : Table or Facts
        Of a document.
    """
    if isinstance(part, Facts):
        held = [(fact.label, fact.value, cells.fact(fact)) for fact in part.rows]
        return [[name for name, _, _ in held], [_broken(cell, text) for _, cell, text in held]]
    return [
        [column.label for column in part.columns],
        *(
            [_broken(cell, cells.text(cell, column))
             for cell, column in zip(row, part.columns, strict=True)]
            for row in part.rows
        ),
    ]  # fmt: skip


def _broken(cell: Any, text: str) -> str:
    return text if isinstance(cell, str) else text.replace(" (", "\n(")


def _edges(shares: Sequence[float], left: float, width: float) -> list[float]:
    found = [left]
    for share in shares:
        found.append(found[-1] + share / sum(shares) * width)
    return found
