"""The ground-test plan on paper: two pages that A4 and Letter hold, as a PDF."""

from __future__ import annotations

import io
from bisect import bisect_left
from collections.abc import Sequence
from typing import Any

from baypulse.case.model import Case
from baypulse.case.quantities import shorten
from baypulse.caution import CAUTION
from baypulse.show import identity
from baypulse.show.document import Document, Facts, Part, Section, Table
from baypulse.show.figures import sketch
from baypulse.show.figures.base import style
from baypulse.show.sheet import INCH, SIDE, TALL, WIDE, Sheet, texts

SIZES = tuple(0.2 * k for k in range(41, 26, -1))
"""Sizes of the letters that are tried until a page holds everything [points]."""

LONGEST = 300
"""Longest title [characters]; the page for screens has it whole."""

SKETCH = 172.0
"""Width of the sketch [mm]."""

BEFORE = 3
"""Sections of the first page, which is read before the test; the others are written on."""

SHARES = {
    "ladder": (0.45, 1.0, 0.95, 1.1, 1.5, 2.0, 1.2, 1.1, 0.95, 0.9),
    "decisions": (1.0, 1.75, 2.3), "checklist": (1.0, 1.0, 1.0, 1.0),
    "successes": (1.5, *[1.0] * 9), "needed": (1.5, 1.0, 1.0, 1.0),
    "record": (0.5, 1.15, 1.1, 0.95, 0.6, 0.95, 0.9, 1.0, 0.8, 1.2, 1.05, 0.85, 0.9),
}  # fmt: skip
"""Widths of the columns of tables beside each other; equal for those of others."""

BOLD = {"ladder": (0, 1, 2), "decisions": (0,), "successes": range(1, 10), "needed": (1, 2, 3)}
"""Columns of tables in strong letters."""

ACROSS = ("successes", "needed")
"""Tables whose rows stand beside each other."""


def pdf(document: Document, ground: Case) -> bytes:
    """Return the plan as the bytes of a PDF file, the same for the same plan.

    Parameters
    ----------
    document : Document
        Of the plan.
    ground : Case
        The case as it is tested, for its sketch.
    """
    from matplotlib import rc_context
    from matplotlib.backends.backend_pdf import PdfPages

    # no dates: the same plan gives the same file
    told: dict[str, Any] = {
        "Title": f"Ground-test plan: {' '.join(document.title.split())}",
        "Creator": "baypulse", "CreationDate": None, "ModDate": None,
    }  # fmt: skip
    stream = io.BytesIO()
    # letters as whole fonts, so that the text can be searched and copied
    with style(), rc_context({"pdf.fonttype": 42}), PdfPages(stream, metadata=told) as book:
        for page in pages(document, ground):
            book.savefig(page)
    return stream.getvalue()


def pages(document: Document, ground: Case) -> list[Any]:
    """Return both pages as figures, each in the largest letters that fit.

    Parameters
    ----------
    document, ground
        As for :func:`pdf`.
    """
    with style():
        return [_fitted(document, ground, number) for number in (1, 2)]


def _fitted(document: Document, ground: Case, number: int) -> Any:
    def laid(size: float) -> Sheet:
        sheet = Sheet(size)
        _margin(sheet, document, number)
        if number == 1:
            _before(sheet, document, ground)
        else:
            _during(sheet, document)
        return sheet

    # what a page holds it holds in smaller letters too
    k = bisect_left(SIZES, True, key=lambda size: not laid(size).overflows)
    return laid(SIZES[min(k, len(SIZES) - 1)]).figure()


def _margin(sheet: Sheet, document: Document, number: int) -> None:
    """Write the foot of a page, and keep the rest of the page off it."""
    name = shorten(document.name, 32)
    sheet.bottom -= sheet.line
    mark = identity.fingerprint(document.cases)
    text = f"{name}, page {number} of 2. SHA-256 of case and version: {mark}"
    sheet.text_at(text, SIDE, sheet.bottom + 0.2 * sheet.line, WIDE - 2.0 * SIDE, scale=0.85)


def _before(sheet: Sheet, document: Document, ground: Case) -> None:
    """Fill the page that is read before the test: bay, ladder, what each outcome means."""
    sheet.text("Ground-test plan", scale=1.9, bold=True)
    sheet.text(shorten(document.title, LONGEST), scale=1.25)
    sheet.text(f"{document.about}. {document.headline}.", bold=True)
    sheet.space(0.4)
    sheet.boxed(CAUTION)
    sheet.space(0.5)
    tall = INCH * sketch.height(ground, SKETCH / INCH)
    place = 0.5 * (WIDE - SKETCH) / INCH, (TALL - sheet.y - tall) / INCH, SKETCH / INCH
    sheet.put(lambda figure: sketch.draw(ground, figure, *place))
    sheet.y += tall
    first, ways, *rest = document.sections[:BEFORE]
    told = [" ".join(document.sentences), *ways.parts[1:]]
    ladder = Section("The ladder", (_beside(document.first, ways.parts[0]), *told))
    _sections(sheet, [first, ladder, *rest])


def _beside(ladder: Any, ways: Any) -> Table:
    """Return both tables of the ladder as one, what happens in flight last.

    Both begin with the same step and charge.
    """
    last = len(ladder.columns) - (ladder.columns[-1].name == "separates_in_flight")
    columns, *rows = (
        (*one[:last], *two[2:], *one[last:])
        for one, two in zip((ladder.columns, *ladder.rows), (ways.columns, *ways.rows), strict=True)
    )
    return Table("ladder", columns, tuple(rows))


def _during(sheet: Sheet, document: Document) -> None:
    """Fill the page that is written on: checklist, successes, record."""
    sheet.text(f"Ground-test plan: {shorten(document.title, LONGEST)}", scale=1.1, bold=True)
    sheet.space(0.4)
    sheet.boxed(CAUTION)
    known = [*document.warnings, *document.doubts]
    made = ", ".join(f"{name} {number}" for name, number in identity.versions().items())
    below = " ".join([
        f"What this does not know: {document.unknown}",
        f"Of this case: {'; '.join(known)}." if known else "",
        f"Made with {made}. Case {document.name}. {document.effort}",
    ])  # fmt: skip
    room = sheet.height(below) + sheet.line
    sheet.bottom -= room
    _sections(sheet, document.sections[BEFORE:])
    sheet.bottom += room
    sheet.space(0.5)
    sheet.text(below)


def _sections(sheet: Sheet, sections: Sequence[Section]) -> None:
    for section in sections:
        sheet.heading(section.title)
        for part in section.parts:
            _part(sheet, part)


def _part(sheet: Sheet, part: Part) -> None:
    match part:
        case Table() | Facts():
            _table(sheet, part)
        case str():
            sheet.space(0.3)
            sheet.text(part)


def _table(sheet: Sheet, part: Table | Facts) -> None:
    head, *rows = texts(part)
    if part.name in ACROSS:
        head, *rows = (list(column) for column in zip(head, *rows, strict=True))
    shares = SHARES.get(part.name, (1.0,) * len(head))[: len(head)]
    wide = WIDE - 2.0 * SIDE
    match part:
        case Table(name="blanks"):
            sheet.blanks(head)
        case Table(look="form"):
            sheet.form(head, rows, shares)
        case Table(note=note):
            wide *= 0.55 if part.name == "needed" else 1.0
            sheet.table(head, rows, shares, bold=BOLD.get(part.name, ()), width=wide)
            sheet.text(note)
        case Facts():
            sheet.table(head, rows, shares, bold=range(len(head)))
