"""A document on the terminal: one screen, and the rest where it is asked for."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Sequence
from itertools import zip_longest

from baypulse.case import quantities
from baypulse.caution import CAUTION
from baypulse.show import cells
from baypulse.show.document import Answer, Document, Facts, Figure, Listing, Part, Table

WIDE = 88
"""Width of the text [characters]."""

NARROW = 12
"""Least width [characters] of a column that is broken to fit."""

LONGEST = 160
"""Longest name and title [characters]: the answer is to stand near the top."""


def told(document: Document, *, full: bool = False) -> str:
    """Return what the terminal shows of a document.

    Parameters
    ----------
    document : Document
        What a study says.
    full : bool
        With every table and paragraph, not the first screen only.

    Returns
    -------
    str
        Title, headline, sentences, first facts, warnings, next steps; the caution last.
    """
    lines = wrapped(quantities.shorten(f"{document.name}: {document.title}", LONGEST), "", "  ")
    lines += wrapped(f"{document.about}." if document.about else "", "  ", "    ")
    lines += ["", *wrapped(document.headline, "  ", "  ")]
    for sentence in document.sentences:
        lines += wrapped(sentence, "  ", "    ")
    if document.first is not None:
        lines += ["", *_part(document.first)]
    if full:
        for section in document.sections:
            told = filter(None, map(_part, section.parts))
            held = [line for lines_ in told for line in ["", *lines_]]
            if held:
                lines += ["", f"  {section.title.upper()}" if section.title else "", *held[1:]]
    known = document.to_know
    lines += ["", "  To know before trusting it"] * bool(known)
    for sentence in known:
        lines += wrapped(sentence, "    ", "      ")
    if full:
        lines += ["", *wrapped(document.unknown, "  ", "  ")]
        lines += wrapped(document.effort, "  ", "  ")
    lines += _steps(document.next_steps)
    return "\n".join([*lines, "", *textwrap.wrap(CAUTION, WIDE)]) + "\n"


def late(document: Document, told: Document) -> str:
    """Return the next steps of a document that were not told with its answer.

    Parameters
    ----------
    document : Document
        What a study says at last.
    told : Document
        What was told of it before.
    """
    new = [sentence for sentence in document.next_steps if sentence not in told.next_steps]
    return "".join(f"{line}\n" for line in _steps(new))


def _steps(sentences: Sequence[str]) -> list[str]:
    lines = ["", "  Next"] * bool(sentences)
    for sentence in sentences:
        lines += wrapped(sentence, "    ", "      ")
    return lines


def comparison(table: Table) -> str:
    """Return a table that compares several cases, and the caution."""
    return "\n".join(["", *_part(table), "", *textwrap.wrap(CAUTION, WIDE)]) + "\n"


def _part(part: Part) -> list[str]:
    """Return the lines of one part; a figure has none."""
    match part:
        case Figure() | Table(look="form"):
            return []
        case str():
            return wrapped(part, "  ", "    ")
        case Answer():
            told = [wrapped(sentence, "  ", "    ") for sentence in part.sentences]
            return [*wrapped(part.headline, "  ", "  "), *(line for held in told for line in held)]
        case Listing():
            return [f"    {line}" for line in part.text.splitlines()]
        case Facts():
            rows = [(fact.label, cells.fact(fact)) for fact in part.rows]
            return [*_title(part.title), *_pairs(rows)]
        case Table():
            return [*_title(part.title), *_table(part), *wrapped(part.note, "    ", "    ")]


def _title(title: str) -> list[str]:
    return wrapped(title, "  ", "    ") if title else []


def _pairs(rows: Iterable[tuple[str, str]], indent: str = "    ") -> list[str]:
    """Return indented lines of names and values, long values on several."""
    held = list(rows)
    wide = min(max((len(name) for name, _ in held), default=0), WIDE // 2)
    found = []
    for name, value in held:
        first = f"{indent}{name.ljust(wide)}  "
        found += wrapped(value or "-", first, " " * len(first))
    return found


def _table(table: Table) -> list[str]:
    """Return the lines of a table: columns where they fit, else a card for each row."""
    head = [column.label for column in table.columns]
    for brief in (False, True):
        rows = [head, *_rows(table, brief)]
        widths = [max(len(row[k]) for row in rows) for k in range(len(head))]
        if _width(widths) <= WIDE:
            return [line for row in rows for line in _line(row, widths)]
    while _width(widths) > WIDE and max(widths) > NARROW:
        widths[widths.index(max(widths))] -= 1
    if _width(widths) <= WIDE:
        return [line for row in rows for line in _line(row, widths)]
    lines = []
    for row in _rows(table, brief=False):
        told = zip(head[1:], row[1:], strict=True)
        lines += wrapped(row[0], "    ", "      ")
        lines += _pairs(((name, cell) for name, cell in told if cell), "      ")
    return lines


def _width(widths: Sequence[int]) -> int:
    """Return how wide the lines of a table with columns that wide are."""
    return sum(widths) + 2 * len(widths) + 2


def _rows(table: Table, brief: bool) -> list[list[str]]:
    """Return the texts of a table's cells, each on one line."""
    return [
        [
            " ".join(cells.text(cell, column, brief=brief).split())
            for cell, column in zip(row, table.columns, strict=True)
        ]
        for row in table.rows
    ]


def _line(row: Sequence[str], widths: Sequence[int]) -> list[str]:
    """Return one row, on several lines where a cell is longer than its column is wide."""
    broken = [textwrap.wrap(cell, max(wide, 1)) for cell, wide in zip(row, widths, strict=True)]
    return [
        f"    {'  '.join(c.ljust(w) for c, w in zip(line, widths, strict=True))}".rstrip()
        for line in zip_longest(*broken, fillvalue="")
    ]


def wrapped(text: str, first: str, rest: str) -> list[str]:
    """Return a sentence on lines that fit the terminal."""
    # the name of a file in a command is not torn at its hyphens
    return textwrap.wrap(
        text, WIDE, initial_indent=first, subsequent_indent=rest, break_on_hyphens=False
    )
