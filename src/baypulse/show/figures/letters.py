"""How wide texts are, and where they are broken into lines."""

from __future__ import annotations

import re
import warnings
from functools import lru_cache

_SPACES = re.compile(r"[^\S\u00a0]+")
"""Where a line may be broken: not at a space that holds."""

_UNIT = re.compile(r"(?<=\d) (?=\S{1,5}(?: |$))")
"""The space between a number and its unit."""


@lru_cache(maxsize=8192)
def measured(text: str, bold: bool = False) -> float:
    """Return how wide a line is, in sizes of its letters.

    Parameters
    ----------
    text : str
        One line.
    bold : bool
        Whether the letters are strong.
    """
    from matplotlib.font_manager import FontProperties
    from matplotlib.textpath import text_to_path

    font = FontProperties(family="DejaVu Sans", weight="bold" if bold else "normal", size=1.0)
    with warnings.catch_warnings():
        warnings.filterwarnings("ignore", "Glyph")  # a name in letters that the font lacks
        return float(text_to_path.get_text_width_height_descent(text, font, ismath=False)[0])


def wrapped(text: str, width: float, bold: bool = False) -> list[str]:
    """Return a text as lines that are no wider than so many sizes of the letters.

    Its own lines stay lines.

    Parameters
    ----------
    text : str
        Words; one that is wider than a line is broken.
    width : float
        In sizes of the letters.
    bold : bool
        Whether the letters are strong.
    """
    return [row for line in text.split("\n") for row in _wrapped(line, width, bold)]


def with_units(text: str, width: float, bold: bool = False) -> list[str]:
    """Return a text as lines like :func:`wrapped`, each number on the line of its unit."""
    held = wrapped(_UNIT.sub("\u00a0", text), width, bold)
    return [row.replace("\u00a0", " ") for row in held]


def _wrapped(text: str, width: float, bold: bool) -> list[str]:
    lines: list[str] = []
    room = 0.0
    gap = measured(" ", bold)
    for word in _SPACES.split(text.strip()):
        wide = measured(word, bold)
        if lines and gap + wide <= room:
            lines[-1] += f" {word}"
            room -= gap + wide
            continue
        while wide > width and len(word) > 1:
            fits = next(
                (k for k in range(len(word) - 1, 1, -1) if measured(word[:k], bold) <= width), 1
            )
            lines.append(word[:fits])
            word = word[fits:]
            wide = measured(word, bold)
        lines.append(word)
        room = width - wide
    return lines
