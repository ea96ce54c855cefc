"""A document as a page: HTML that needs no script and loads nothing."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cache
from importlib import resources
from typing import Any

from baypulse.case.explanation import explain
from baypulse.caution import CAUTION
from baypulse.show import cells, identity
from baypulse.show.document import Column, Document, Part

STYLES = ("report.css", "cards.css")
"""Sheets of styles of every page."""


def page(document: Document, drawn: Mapping[str, str], back: str = "") -> str:
    """Return the whole page.

    Parameters
    ----------
    document : Document
        What a study says.
    drawn : mapping of str to str
        SVG for the inside of a page, by the name of the figure.
    back : str
        Address of the page that compares the case with others; empty where there is none.
    """
    return rendered(
        "page.html.j2",
        document=document,
        drawn=drawn,
        back=back,
        chapters=[section for section in document.sections if section.chapter],
        files=list(dict.fromkeys(map(_place, [*document.files, *document.curves]))),
        to_know=document.to_know,
        read=[document.also_read] * bool(document.also_read)
        + [explain(case) for case in document.cases],
        made=", ".join(f"{name} {number}" for name, number in identity.versions().items()),
        sha256=identity.fingerprint(document.cases, document.also_read),
        styles=[document.style] * bool(document.style),
    )


def rendered(template: str, styles: Sequence[str] = (), **put: Any) -> str:
    """Return a page made of one of our templates.

    Parameters
    ----------
    template : str
        Its file.
    styles : sequence of str
        Sheets of styles beside those of every page.
    **put
        What is put into it, by name.
    """
    sheets = [_sheet(name) for name in (*STYLES, *styles)]
    return str(_template(template).render(caution=CAUTION, sheets=sheets, **put))


def notebook(document: Document, drawn: Mapping[str, str]) -> str:
    """Return a short form for a notebook: the answer, the first facts, one figure, the caution.

    Parameters
    ----------
    document, drawn
        As in :func:`page`.
    """
    return _template("notebook.html.j2").render(document=document, drawn=drawn, caution=CAUTION)


def _place(file: str) -> str:
    """Return a file beside the page, or the folder that it is in."""
    folder, slash, _ = file.rpartition("/")
    return f"the folder {folder}" if slash else file


def kind(part: Part) -> str:
    """Return which block of the template draws a part."""
    return "text" if isinstance(part, str) else type(part).__name__.lower()


def held(cell: Any, column: Column) -> str:
    """Return a cell of which a value stays on one line, and that in brackets on its own."""
    text = cells.text(cell, column)
    if isinstance(cell, str):
        return text
    return text.replace(" ", "\N{NO-BREAK SPACE}").replace("\N{NO-BREAK SPACE}(", " (")


@cache
def _template(name: str) -> Any:
    """Return a template of ours; everything put into it is escaped."""
    import jinja2

    around = jinja2.Environment(
        autoescape=True, trim_blocks=True, lstrip_blocks=True, undefined=jinja2.StrictUndefined,
        loader=jinja2.FunctionLoader(_sheet),
    )  # fmt: skip
    around.globals.update(kind=kind, held=held, fact=cells.fact)
    return around.get_template(name)


def _sheet(name: str) -> str:
    return resources.files("baypulse.show").joinpath(name).read_text("utf-8")
