"""The parts of the page of recorded shots: HTML that needs no script and loads nothing."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from html import escape
from importlib import resources

from baypulse.caution import CAUTION


def skeleton(title: str, parts: Iterable[str]) -> str:
    """Return a whole page with our sheet of styles; empty parts are left out.

    Parameters
    ----------
    title : str
        Of the window.
    parts : iterable of str
        HTML of the body.
    """
    sheet = resources.files("baypulse").joinpath("show/report.css").read_text("utf-8")
    body = "\n".join(part for part in parts if part)
    return (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{escape(title)}</title>\n<style>\n{sheet}</style>\n</head>\n"
        f"<body>\n{body}\n</body>\n</html>\n"
    )


def caution() -> str:
    """Return the caution in its box."""
    return f'<p class="caution">{escape(CAUTION)}</p>'


def table(head: Sequence[str], rows: Iterable[Sequence[str]], look: str = "") -> str:
    """Return a table; the first cell of a row names it."""
    top = "".join(f'<th scope="col">{escape(cell)}</th>' for cell in head)
    body = "".join(
        f'<tr><th scope="row">{escape(row[0])}</th>'
        + "".join(f"<td>{escape(cell)}</td>" for cell in row[1:])
        + "</tr>\n"
        for row in rows
    )
    body = body.replace("^3", "³").replace("^2", "²")
    kind = f' class="{look}"' if look else ""
    heading = f"<thead><tr>{top}</tr></thead>" if head else ""
    return f'<div class="wide"><table{kind}>{heading}<tbody>\n{body}</tbody></table></div>'
