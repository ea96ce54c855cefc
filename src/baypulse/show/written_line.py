"""A line of text on a figure of matplotlib that nothing is laid out for."""

from __future__ import annotations

from typing import Any

from matplotlib.artist import Artist
from matplotlib.font_manager import FontProperties
from matplotlib.text import Text
from matplotlib.transforms import Bbox


class WrittenLine(Artist):
    """One line of letters from the left, on its foot.

    A page holds hundreds of lines whose places are known: what matplotlib's own text does to find
    out is a third of what such a page takes.

    Parameters
    ----------
    x, y : float
        Where the foot of the line begins, in widths and heights of the figure.
    text : str
        One line.
    size : float
        Of the letters [points].
    bold : bool
        Whether they are strong.
    colour : str
        Of the letters.
    """

    def __init__(self, x: float, y: float, text: str, size: float, bold: bool, colour: str) -> None:
        super().__init__()
        self.set_zorder(Text.zorder)
        self._place, self._text, self._colour = (x, y), text, colour
        self._font = FontProperties(size=size, weight="bold" if bold else "normal")

    def draw(self, renderer: Any) -> None:
        """Draw the line."""
        context = renderer.new_gc()
        context.set_foreground(self._colour)
        x, y = self.get_transform().transform(self._place)
        if renderer.flipy():
            y = renderer.get_canvas_width_height()[1] - y
        renderer.draw_text(context, x, y, self._text, self._font, 0.0)
        context.restore()

    def get_text(self) -> str:
        """Return what is written."""
        return self._text

    def get_window_extent(self, renderer: Any = None) -> Bbox:
        """Return the box of the line, as high as that of any letters [dots]."""
        x, y = self.get_transform().transform(self._place)
        width, *_ = renderer.get_text_width_height_descent(self._text, self._font, ismath=False)
        _, height, below = renderer.get_text_width_height_descent("lp", self._font, ismath=False)
        return Bbox.from_bounds(x, y - below, width, height)
