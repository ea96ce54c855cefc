"""The page of several cases: their comparison, and the way to the report of each."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from baypulse import __version__
from baypulse.show import as_html, figure_files
from baypulse.show.document import Figure, PageLink, Table
from baypulse.show.folder import PAGE, put

MARK = '<meta name="generator" content="baypulse: several cases compared">'
"""Line of the page by which it is known again, so that nothing else is written over."""

HEAD = 400
"""Characters within which that line stands."""


@dataclass(frozen=True)
class Comparison:
    """What is said of several cases together.

    Attributes
    ----------
    study : str
        Name of the command.
    table : Table
        A row a case, its name first.
    figures : tuple of Figure
        Of all of them.
    reports : mapping of str to str
        By the name of the case: the folder of its report, beside the page.
    """

    study: str
    table: Table
    figures: tuple[Figure, ...]
    reports: Mapping[str, str]


def check(root: Path) -> None:
    """Refuse a folder whose page is not one of these.

    Parameters
    ----------
    root : pathlib.Path
        Folder of the reports.

    Raises
    ------
    FileExistsError
        With a sentence.
    """
    page = root / PAGE
    if not page.exists() and not page.is_symlink():
        return
    if not page.is_file() or MARK not in page.read_text("utf-8", errors="replace")[:HEAD]:
        raise FileExistsError(
            f"{page} is no page of several cases, so it is not replaced; move it away or choose "
            "another folder with --out"
        )


def write(comparison: Comparison, root: Path) -> None:
    """Write the page at the top of the folder of the reports.

    Parameters
    ----------
    comparison : Comparison
        What is said.
    root : pathlib.Path
        The folder; an earlier page of several cases there is replaced.
    """
    check(root)
    put({PAGE: page(comparison).encode()}, root)


def page(comparison: Comparison) -> str:
    """Return the page; the first cell of a row leads to the report of its case."""
    from urllib.parse import quote

    table = comparison.table
    ways = {name: f"{quote(held)}/{PAGE}" for name, held in comparison.reports.items()}
    rows = tuple(
        (PageLink(name, ways[name]) if name in ways else name, *cells)
        for name, *cells in table.rows
    )
    return as_html.rendered(
        "comparison.html.j2",
        mark=MARK,
        title=table.title,
        table=replace(table, rows=rows, title="", look="cards"),
        figures=comparison.figures,
        drawn=figure_files.drawn(comparison.figures)[1],
        study=comparison.study,
        version=__version__,
    )
