"""Every input of a review: its value, its spread, where it comes from, and how well it is known."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import Any, NamedTuple

from baypulse.case import library
from baypulse.case.casefile.keys import LIBRARY, tables
from baypulse.case.casefile.library_table import used_places
from baypulse.case.model import Case, Provenance, Spread
from baypulse.case.spec import Choice, Count, Number, Text
from baypulse.members.factors import nominal_at, spread_at
from baypulse.review.known import Known, known
from baypulse.show.document import Column, Quantity, Table
from baypulse.studies.scatter.words import source_of, spread_words

SPREAD = (
    "A spread is one standard deviation of the input, about its value: of a normal distribution "
    "two of three values lie within it, nineteen of twenty within two. Of a log-normal "
    "distribution the value is the median, and the spread counts as a share of it. Where a "
    "distribution has ends and no deviation, or measured values, these stand in its place. An "
    "input without a spread is taken as known."
)
"""What a spread is."""

HEIGHTS = (
    "Altitudes are above sea level. A height above the pad, the ground at the place of the launch, "
    "is called a height and says so."
)
"""What altitudes count from."""

KNOWN = (
    "How well an input is known is read from its source and from nothing else; the weakest word "
    "decides, so that an estimate that cites a paper stays an estimate. An input that was typed "
    'without a source is "not said": write source = "measured, with calipers" beside its value. '
    "What is called invented is not said either. A choice is a word of a list, of which there is "
    "nothing to measure."
)
"""How the column was found."""

COLUMNS = (
    Column("input", "Input"), Column("meaning", "What it is"), Column("value", "Value"),
    Column("spread", "Spread, one standard deviation", absent="none"),
    Column("known", "How well known"), Column("source", "Source"),
)  # fmt: skip
"""Columns of a table of inputs."""


class Input(NamedTuple):
    """One input, as the cells of :data:`COLUMNS`."""

    path: str
    meaning: str
    value: Any
    spread: str | None
    known: Known
    source: str


def of_case(case: Case) -> list[Input]:
    """Return every value of a case file, typed or a default, in the order of the file.

    Parameters
    ----------
    case : Case
        As it was read. What it does not have is left out.
    """
    found = []
    for table in tables().values():
        held = getattr(case, table.name)
        rows = held if table.repeated else () if held is None else (held,)
        for index, row in enumerate(rows):
            stem = f"{table.name}[{index}]" if table.repeated else table.name
            for key in table.keys.values():
                value = getattr(row, key.name)
                if value is not None:
                    found.append(_of_key(case, f"{stem}.{key.name}", key.spec, value))
    return found


def _of_key(case: Case, path: str, spec: Any, value: Any) -> Input:
    origin = case.provenance.get(path, Provenance(text="", origin="default"))
    spread = case.spreads.get(path)
    shown: Any = str(value)
    if isinstance(spec, Number):
        # nobody says an altitude in millimetres
        far = spec.dimension == "length" and path.endswith(("altitude", "height"))
        shown = Quantity(value, "altitude" if far else spec.dimension)
    elif isinstance(spec, Count):
        shown = int(value)
    how = known(origin.source, values=len(spread.sample) if spread else 0)
    if how is Known.NOT_SAID and isinstance(spec, Choice | Text):
        how = Known.CHOICE
    return Input(path, spec.help, shown, _spread(spread, value, spec), how, source_of(case, path))


def _spread(spread: Spread | None, value: Any, spec: Any) -> str | None:
    if spread is None or not isinstance(spec, Number):
        return None
    return spread_words(spread, value, spec.dimension)


def of_library(cases: Sequence[Case]) -> list[Input]:
    """Return the numbers of the library that several cases use, each once.

    Parameters
    ----------
    cases : sequence of Case
        A number that one of them replaces stands there once more with its case.
    """
    found: dict[tuple[str, str], Input] = {}
    for case in cases:
        for place in used_places(case):
            own = case.name if place in case.materials else ""
            found.setdefault((place, own), _of_number(case, place, own))
    return list(found.values())


def _of_number(case: Case, place: str, own: str) -> Input:
    fact, path = library.fact(place), LIBRARY + place
    value = nominal_at(case, path)
    replaced = place in case.materials
    scatters = path in case.spreads if replaced else fact.spread > 0.0
    spread = spread_words(spread_at(case, path), value, fact.dimension) if scatters else None
    origin = case.provenance.get(path)
    table, name, number = library.parts_of(place)
    source = source_of(case, path)
    return Input(
        place, f"{number.replace('_', ' ')} of {name}, {table}" + f", in {own}" * bool(own),
        Quantity(value, fact.dimension), spread,
        known(source if origin is None else origin.source), source,
    )  # fmt: skip


def table(name: str, inputs: Sequence[Input], title: str) -> Table:
    """Return inputs as a table.

    Parameters
    ----------
    name : str
        In files.
    inputs : sequence of Input
        Its rows.
    title : str
        Above it.
    """
    rows = tuple((*each[:4], str(each.known), each.source) for each in inputs)
    return Table(name, COLUMNS, rows, title=title, look="cards inputs")


def counts(inputs: dict[str, Sequence[Input]]) -> Table:
    """Return how many inputs are known how well.

    Parameters
    ----------
    inputs : dict of str to sequence of Input
        By what they are of.
    """
    held = {name: Counter(each.known for each in rows) for name, rows in inputs.items()}
    return Table(
        "how_well_known",
        (Column("known", "How well known"),
         *(Column("_".join(name.split()), name) for name in inputs)),
        tuple((str(kind), *(count[kind] for count in held.values())) for kind in Known),
    )  # fmt: skip
