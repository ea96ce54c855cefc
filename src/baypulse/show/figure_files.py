"""Figures as the bytes of files, and as a page holds them."""

from __future__ import annotations

import gc
import io
import re
import warnings
from collections.abc import Callable, Mapping, Sequence
from html import escape
from typing import Any

from baypulse.show.document import Figure
from baypulse.show.figures.base import DOTS, PRINTED_DOTS, style
from baypulse.show.two_cores import pieces


class FigureWarning(UserWarning):
    """A figure that could not be drawn."""


_PLACES = re.compile(r'\b(?:d|x|y)="[^"]*"')
"""An attribute that holds places, and no scale."""

_UNTURNED = re.compile(r' transform="rotate\(-0 [^)]*\)"')
"""What says of a text that it is not turned."""

_LETTERS = re.compile(r" font-family: [^;\"]*;")
"""What says of a text in which kind of letters it is."""

_LONG = re.compile(r"(\d\.\d\d)\d+")
"""A number with more than two decimals."""


def drawn(
    figures: Sequence[Figure],
    *,
    printed: bool = False,
    beside: Mapping[str, Callable[[], bytes]] | None = None,
) -> tuple[dict[str, bytes], dict[str, str]]:
    """Return the files of figures by their places, and what a page shows of each by its name.

    Figures are shared among two cores, where there are two.

    Parameters
    ----------
    figures : sequence of Figure
        Of a document.
    printed : bool
        Whether they are put into a document that is printed.
    beside : mapping of str to callable, optional
        How other files of the report are made, which are shared with the figures and returned
        with theirs.
    """
    others = list((beside or {}).items())
    files: dict[str, bytes] = {}
    inside: dict[str, str] = {}
    if figures:
        # a double of this process need not load it again
        import matplotlib.backends.backend_agg
        import matplotlib.backends.backend_svg
        import matplotlib.figure  # noqa: F401

    def piece(k: int) -> tuple[dict[str, bytes], str, str | None]:
        if k < len(figures):
            made = _tried(figures[k], printed)
        else:
            name, make = others[k - len(figures)]
            made = {name: make()}, "", None
        # a figure and its canvas hold each other, with megabytes of dots
        gc.collect()
        return made

    # whatever is there by now is not looked through after every figure
    gc.freeze()
    try:
        found = pieces(piece, len(figures) + len(others))
    finally:
        gc.unfreeze()
    for own, _, _ in found:
        files |= own
    for figure, (_, shown, wrong) in zip(figures, found, strict=False):
        if wrong is not None:
            warnings.warn(
                f"the figure {figure.name} cannot be drawn ({wrong}); the report says so in its "
                "place",
                FigureWarning,
                stacklevel=2,
            )
        inside[figure.name] = shown
    return files, inside


def _tried(figure: Figure, printed: bool) -> tuple[dict[str, bytes], str, str | None]:
    """Return the files of one figure, what a page shows of it, and why it cannot be drawn."""
    try:
        return *_of_one(figure, printed), None
    except Exception as error:
        # a report without one figure is worth more than none
        said = (
            f"<p>This figure could not be drawn ({escape(str(error))}). The numbers are in the "
            "tables and files beside this page.</p>"
        )
        return {}, said, str(error)


def _of_one(figure: Figure, printed: bool) -> tuple[dict[str, bytes], str]:
    """Return the files of one figure, and what a page shows of it."""
    with style():
        made = figure.draw()
    text = svg(made)
    place = f"figures/{figure.name}"
    files = {f"{place}.png": png(made, PRINTED_DOTS if printed else DOTS)}
    if printed:
        files[f"{place}.pdf"] = _saved(made, format="pdf", metadata={"CreationDate": None})
    files[f"{place}.svg"] = text.encode()
    return files, inline(text, figure.name, figure.caption)


def png(made: Any, dots: int = DOTS) -> bytes:
    """Return a figure of matplotlib as the bytes of a PNG file of so many dots per inch.

    Without the transparency that no figure has, and packed less than by default: half of the time,
    and a smaller file.
    """
    from PIL import Image

    seen = _saved(made, format="rgba", dpi=dots)
    width = int(made.get_figwidth() * dots)
    size = width, len(seen) // (4 * width)
    stream = io.BytesIO()
    image = Image.frombuffer("RGBA", size, seen, "raw", "RGBA", 0, 1).convert("RGB")
    image.save(stream, format="png", dpi=(dots, dots), compress_level=3)
    return stream.getvalue()


def svg(made: Any) -> str:
    """Return a figure of matplotlib as the text of an SVG file, the same each time.

    Places are cut to a hundredth of a point, which nobody sees, and the kind of letters, which is
    one, is said once: both make a file smaller.
    """
    text = _saved(made, format="svg", metadata={"Date": None}).decode()
    text = _PLACES.sub(lambda held: _LONG.sub(r"\1", held[0]), _UNTURNED.sub("", text))
    letters = _LETTERS.search(text)
    if letters is None:
        return text
    return text.replace(letters[0], "").replace("<g ", f'<g style="{letters[0].strip()}" ', 1)


def _saved(made: Any, **how: Any) -> bytes:
    stream = io.BytesIO()
    with style():
        made.savefig(stream, **how)
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
