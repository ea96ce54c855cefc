"""What a study says, apart from how it is shown.

A study returns one :class:`Document`. The terminal, the page, the numbers for other programs, the
tables for spreadsheets and the printed sheet are made of it by the other modules of this folder;
none of them knows any study.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any, NamedTuple

from baypulse.case import quantities
from baypulse.case.casefile import consistency
from baypulse.case.model import Case
from baypulse.members.chances import Chance


class Quantity(NamedTuple):
    """A value with its kind, where the values of a column are of several kinds.

    Attributes
    ----------
    value : float
        SI; NaN or infinite where there is none.
    dimension : str
        One of :data:`baypulse.case.unit_table.DIMENSIONS`.
    """

    value: float
    dimension: str


class Said(NamedTuple):
    """A value that has words of its own, such as a margin of a cord without load.

    Attributes
    ----------
    value : object
        As it would stand in a cell; None where there is no number.
    text : str
        What people read.
    """

    value: Any
    text: str


class PageLink(NamedTuple):
    """A text that leads to another page.

    Attributes
    ----------
    text : str
        What people read.
    address : str
        Of the page, from where this one stands.
    """

    text: str
    address: str


class Between(NamedTuple):
    """A value and the interval that holds it with 95 % confidence, SI.

    Its kind is named where the values of a column are of several kinds.
    """

    value: float
    low: float
    high: float
    dimension: str = ""


@dataclass(frozen=True)
class Column:
    """One column of a table.

    Attributes
    ----------
    name : str
        In files, without a unit.
    label : str
        At its head, for people.
    dimension : str
        Kind of its values; empty for texts, counts and chances.
    below : tuple of float
        For cells of several values: the shares of shots below each, such as (0.05, 0.5, 0.95).
    absent : str
        What stands in a cell without a value.
    """

    name: str
    label: str
    dimension: str = ""
    below: tuple[float, ...] = ()
    absent: str = "-"


@dataclass(frozen=True)
class Table:
    """Rows of values under columns.

    A cell is a text, a whole number, a truth, an SI float of the column's dimension, a chance, a
    :class:`Between`, a :class:`Quantity`, a :class:`Said`, a :class:`PageLink`, a tuple of floats
    for a column with `below`, or None.

    Attributes
    ----------
    name : str
        In files.
    columns : tuple of Column
        The first one names the row.
    rows : tuple of tuple
        Of cells, as many as there are columns.
    title : str
        Above it; empty where the heading of its section says it.
    note : str
        Below it.
    look : str
        ``"again"`` for one that says in numbers what a figure beside it shows, left out on paper;
        ``"tight"`` for one whose cells are not broken; ``"form"`` for one to be written on, which
        stands on the page and on paper only; a class of a sheet of styles otherwise.
    """

    name: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[Any, ...], ...]
    title: str = ""
    note: str = ""
    look: str = ""


class Fact(NamedTuple):
    """One line of facts: its name in files, its name for people, and a cell as in a table."""

    name: str
    label: str
    value: Any


@dataclass(frozen=True)
class Facts:
    """Names and values below each other.

    Attributes
    ----------
    name : str
        In files.
    rows : tuple of Fact
        The lines.
    title : str
        Above them.
    """

    name: str
    rows: tuple[Fact, ...]
    title: str = ""


@dataclass(frozen=True)
class Figure:
    """A figure that is drawn when somebody wants it.

    Attributes
    ----------
    name : str
        Of its file.
    caption : str
        What it shows.
    draw : callable
        Makes the figure of matplotlib.
    """

    name: str
    caption: str
    draw: Callable[[], Any]


@dataclass(frozen=True)
class Listing:
    """Lines that are shown as they are, in letters of one width."""

    text: str


@dataclass(frozen=True)
class Answer:
    """The answer of a part of a document: in a few words, then why, and how sure."""

    headline: str
    sentences: tuple[str, ...]


Part = str | Table | Facts | Figure | Listing | Answer
"""What a section holds; a text is a paragraph."""


@dataclass(frozen=True)
class Section:
    """A heading and what follows it.

    Attributes
    ----------
    title : str
        The heading; empty for what follows the answer without one.
    parts : tuple of Part
        In their order.
    chapter : str
        Name of the chapter that begins with it, in a document that has some; empty within one.
    """

    title: str
    parts: tuple[Part, ...]
    chapter: str = ""


@dataclass(frozen=True)
class Document:
    """All that a study says of a case.

    Attributes
    ----------
    study : str
        The study's name: that of its command.
    name, title, note : str
        Of the case, or of the rocket.
    about : str
        What it is of: the charge, the bays; one sentence without a full stop.
    headline : str
        The answer in a few words.
    sentences : tuple of str
        Why, and how sure.
    next_steps : tuple of str
        What to do now.
    first : Facts, Table, Listing or None
        What belongs on the first screen beside the sentences. A listing stands for a figure, and
        so not on the page.
    warnings : tuple of str
        What to know before trusting it.
    sections : tuple of Section
        Everything else.
    unknown : str
        What the study does not know.
    effort : str
        What the answer took: shots, runs, seed.
    findings : mapping
        Numbers for other programs that stand in no table, every name ending in its unit.
    cases : tuple of Case
        What was read.
    also_read : str
        What was read beside them, such as the file of a rocket.
    files : mapping of str to Table
        Tables for spreadsheets, each a file of its own such as ``"window.csv"``; they stand among
        the numbers for programs too.
    curves : mapping of str to Table
        Curves over time, which are files for spreadsheets only.
    attached : mapping of str to callable
        Other files of the report, and what makes their bytes.
    kept : tuple of str
        What else may stand in the report's folder and is left alone.
    style : str
        Name of a further sheet of styles for the page; empty for none.
    printed : bool
        Whether its figures are put into a document that is printed: as PDF too, and as PNG of more
        dots.
    """

    study: str
    name: str
    title: str
    note: str
    about: str
    headline: str
    sentences: tuple[str, ...]
    sections: tuple[Section, ...]
    unknown: str
    effort: str
    findings: Mapping[str, Any]
    cases: tuple[Case, ...]
    also_read: str = ""
    warnings: tuple[str, ...] = ()
    next_steps: tuple[str, ...] = ()
    first: Facts | Table | Listing | None = None
    files: Mapping[str, Table] = field(default_factory=dict)
    curves: Mapping[str, Table] = field(default_factory=dict)
    attached: Mapping[str, Callable[[], bytes]] = field(default_factory=dict)
    kept: tuple[str, ...] = ()
    style: str = ""
    printed: bool = False

    @property
    def doubts(self) -> list[str]:
        """What is possible and unlikely in the cases, each with its case if there are several."""
        return [
            f"{case.name}: {key}: {sentence}" if len(self.cases) > 1 else f"{key}: {sentence}"
            for case in self.cases
            for key, sentence in consistency.doubts(case)
        ]

    @property
    def to_know(self) -> list[str]:
        """What to know before trusting it: warnings, doubts, and what its chances rest on."""
        held = [row for table in self.tables if isinstance(table, Table) for row in table.rows]
        chances = any(isinstance(cell, Chance) for row in held for cell in row)
        return [*self.warnings, *self.doubts, *[quantities.RESTS_ON] * chances]

    @property
    def figures(self) -> tuple[Figure, ...]:
        """Every figure, in the order of the page."""
        return tuple(
            part for section in self.sections for part in section.parts if isinstance(part, Figure)
        )

    @property
    def tables(self) -> tuple[Table | Facts, ...]:
        """Every table but forms, in the order of the page."""
        held = [part for section in self.sections for part in section.parts]
        return tuple(
            part
            for part in [self.first, *held]
            if isinstance(part, Facts) or (isinstance(part, Table) and part.look != "form")
        )


def of_case(case: Case, study: str, **said: Any) -> Document:
    """Return the document of a study of one case; see :class:`Document` for the rest."""
    return Document(
        study=study, name=case.name, title=case.title, note=case.note, cases=(case,), **said
    )
