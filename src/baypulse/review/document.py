"""What a review says: the documents of its chapters, joined into one."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

from baypulse.case.quantities import asked as asked_chance
from baypulse.case.quantities import capital, digits, height
from baypulse.observed.same_day import at_pad
from baypulse.review import inputs, shots
from baypulse.review.chapters import BayEntry, Chapter, Review
from baypulse.show.document import (
    Answer,
    Column,
    Document,
    Facts,
    Figure,
    Part,
    Section,
    Table,
)
from baypulse.show.figures.base import PRINTED_DOTS, SMALL, WIDTH

STEPS = 6
"""Next steps that stand at the top."""

FIGURES = (
    f"The folder figures has every figure as SVG, as PDF and as PNG of {PRINTED_DOTS} dots per "
    f"inch. They are {digits(WIDTH, 2)} in ({digits(25.4 * WIDTH)} mm) wide, a column of a page of "
    "A4 or letter paper in two columns; at that width no letter is smaller than "
    f"{digits(SMALL, 3)} points. "
    "The folder tables has every table, and every curve, as CSV."
)
"""What stands beside the page."""

BY_ITSELF = (
    "What follows was asked of each bay by itself; how one bay's opening works on another's joint "
    "is in the chapter of the joints."
)
"""How the bays were looked at."""

UNKNOWN = "Each chapter ends with what its study does not know."
"""What a review does not know beyond that."""


def document(review: Review) -> Document:
    """Return what a review says.

    Parameters
    ----------
    review : Review
        Its chapters.
    """
    rocket, asked = review.rocket, review.asked
    cases = tuple(bay.plain for bay in rocket.bays)
    joined = tuple(section for each in review.chapters for section in _chapter(each))
    made = Document(
        study="review",
        name=rocket.name,
        title=rocket.title,
        note=rocket.note,
        about="Bays in the order in which they fire: " + ", ".join(bay.name for bay in rocket.bays),
        headline=f"{review.charged} of {len(rocket.bays)} "
        f"bay{'s' * (len(rocket.bays) != 1)} with a ground-test charge",
        sentences=tuple(
            f"{_of(entry)}{entry.told.headline}."
            for chapter in review.chapters if chapter.name in ("window", "joints")
            for entry in chapter.entries if isinstance(entry.told, Document)
        ),
        next_steps=tuple(_next(review))[:STEPS],
        first=_missing(review),
        warnings=tuple(_pads(review)),
        sections=(_basis(review), *joined, *_inputs(review)),
        unknown=UNKNOWN,
        effort=f"Target chance of separation {asked_chance(asked.wanted)}, seed {asked.seed}.",
        findings={"chapters": [_findings(each) for each in review.chapters]},
        cases=cases,
        also_read=rocket.source_text,
        attached={
            f"plans/{entry.bay}.pdf": make
            for chapter in review.chapters for entry in chapter.entries
            if isinstance(entry.told, Document) for make in entry.told.attached.values()
        },
        style="review.css",
        printed=True,
    )  # fmt: skip
    return replace(made, files=_files(made), curves=_curves(review))


def _of(entry: BayEntry) -> str:
    return f"{capital(entry.bay)}: " if entry.bay else ""


def _next(review: Review) -> Iterator[str]:
    """Yield what to do now, as the studies say, each sentence once."""
    told = [
        sentence
        for chapter in review.chapters if chapter.name in ("window", "joints")
        for entry in chapter.entries if isinstance(entry.told, Document)
        for sentence in entry.told.next_steps
    ]  # fmt: skip
    yield from dict.fromkeys(told)


def _pads(review: Review) -> Iterator[str]:
    """Yield that the bays of one rocket do not stand on one pad, where that is so."""
    pads = {
        bay.name: at_pad(bay.plain).surroundings.altitude
        for bay in review.rocket.bays
    }  # fmt: skip
    if len(set(pads.values())) > 1:
        told = ", ".join(f"{name} {height(altitude)}" for name, altitude in pads.items())
        yield (
            f"The bays do not agree on the altitude of the pad above sea level: {told}; write one "
            "pad_altitude into [ascent] of each"
        )


def _missing(review: Review) -> Table | None:
    """Return which chapters have no answer for which bay, and what would give it."""
    rows = tuple(
        (chapter.title, entry.bay or "rocket", entry.told)
        for chapter in review.chapters for entry in chapter.entries if isinstance(entry.told, str)
    )  # fmt: skip
    if not rows:
        return None
    return Table(
        "missing",
        (Column("chapter", "Not computed"), Column("bay", "Bay"), Column("why", "What is missing")),
        rows, look="cards",
    )  # fmt: skip


def _basis(review: Review) -> Section:
    """Return the first chapter: what all of it rests on."""
    rows = tuple(
        (chapter.title, entry.bay or "rocket", entry.told.headline)
        for chapter in review.chapters for entry in chapter.entries
        if isinstance(entry.told, Document)
    )  # fmt: skip
    answers = Table(
        "answers",
        (Column("chapter", "Chapter"), Column("bay", "Bay"), Column("answer", "Answer")),
        rows, look="cards",
    )  # fmt: skip
    logged = shots.table({bay.name: bay.case for bay in review.rocket.bays}, review.shots)
    return Section(
        "What this rests on",
        (BY_ITSELF, answers, *([] if logged is None else [logged]),
         inputs.counts(_all_inputs(review)), inputs.SPREAD, inputs.HEIGHTS, FIGURES),
        chapter="basis",
    )  # fmt: skip


def _chapter(chapter: Chapter) -> Iterator[Section]:
    """Yield the sections of a chapter: what each document says, then what they do not know."""
    yield Section(chapter.title, (), chapter=chapter.name)
    unknown: dict[str, None] = {}
    for entry in chapter.entries:
        if isinstance(entry.told, str):
            yield Section(capital(entry.bay), (f"Not computed. {_sentence(entry.told)}",))
            continue
        yield from _entry(chapter, entry, entry.told)
        unknown[entry.told.unknown] = None
    if unknown:
        yield Section("What this chapter does not know", tuple(unknown))


def _sentence(text: str) -> str:
    return f"{capital(text)}{'.' * (not text.endswith('.'))}"


def _entry(chapter: Chapter, entry: BayEntry, told: Document) -> Iterator[Section]:
    """Yield what the document of one bay says, its parts under names of their own."""
    stem = "-".join(filter(None, (chapter.name, plain(entry.bay))))
    first: list[Part] = [f"{told.about}.", Answer(told.headline, told.sentences)]
    first += [_named(told.first, stem)] * (told.first is not None)
    first += [_sentence(warning) for warning in told.warnings]
    yield Section(capital(entry.bay), (*first, told.effort))
    for section in told.sections:
        title = ": ".join(filter(None, (capital(entry.bay), section.title)))
        parts = tuple(_named(part, stem) for part in section.parts)
        yield Section(title if section.title else "", parts)


def _named(part: Any, stem: str) -> Any:
    """Return a part whose name no other chapter and no other bay has."""
    if isinstance(part, Table | Facts):
        return replace(part, name=f"{stem}-{part.name}".replace("-", "_"))
    if isinstance(part, Figure):
        return replace(part, name=f"{stem}-{part.name}")
    return part


def plain(name: str) -> str:
    """Return the name of a bay as it stands in the names of files."""
    return re.sub(r"\W+", "-", name).strip("-").lower()


def _all_inputs(review: Review) -> dict[str, Any]:
    bays = review.rocket.bays
    held: dict[str, Any] = {bay.name: inputs.of_case(bay.plain) for bay in bays}
    return held | {"library": inputs.of_library([bay.plain for bay in bays])}


def _inputs(review: Review) -> Iterator[Section]:
    """Yield the chapter of all inputs."""
    tables = [
        inputs.table(f"inputs_{plain(name).replace('-', '_')}", held, capital(name))
        for name, held in _all_inputs(review).items()
    ]
    yield Section(
        "Every input, its source, and how well it is known", (inputs.KNOWN, *tables),
        chapter="inputs",
    )  # fmt: skip


def _findings(chapter: Chapter) -> dict[str, Any]:
    """Return what a chapter's documents say in no table."""
    return {
        "name": chapter.name,
        "entries": [
            {"bay": entry.bay, "missing": entry.told} if isinstance(entry.told, str)
            else {
                "bay": entry.bay, "missing": None, "headline": entry.told.headline,
                "sentences": list(entry.told.sentences), "warnings": list(entry.told.warnings),
                "findings": dict(entry.told.findings),
            }
            for entry in chapter.entries
        ],
    }  # fmt: skip


def _files(made: Document) -> dict[str, Table]:
    """Return every table as a file for spreadsheets."""
    return {f"tables/{part.name}.csv": _as_table(part) for part in made.tables}


def _as_table(part: Table | Facts) -> Table:
    """Return a table with names that a program takes; facts are one row."""
    if isinstance(part, Facts):
        columns = tuple(Column(each.name, each.label) for each in part.rows)
        return Table(part.name, columns, (tuple(each.value for each in part.rows),))
    return replace(
        part,
        columns=tuple(
            replace(column, name=re.sub(r"\W+", "_", column.name).strip("_"))
            for column in part.columns
        ),
    )


def _curves(review: Review) -> dict[str, Table]:
    """Return the curves of all chapters, and their tables that stand on no page."""
    return {
        f"tables/curves_{'_'.join(filter(None, (chapter.name, plain(entry.bay), name)))}": table
        for chapter in review.chapters for entry in chapter.entries
        if isinstance(entry.told, Document)
        for name, table in {**entry.told.files, **entry.told.curves}.items()
    }  # fmt: skip
