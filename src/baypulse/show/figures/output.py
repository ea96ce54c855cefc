"""Figures as PNG bytes, as SVG text, and as SVG for the inside of a page."""

from __future__ import annotations

import io
import re
from typing import Any

from baypulse.show.figures.base import DOTS, style


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
