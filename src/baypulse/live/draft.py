"""A case as the page has it: the text it began with, and what was typed since."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import TYPE_CHECKING, Any

from baypulse.case import library, quantities
from baypulse.case.casefile import reads
from baypulse.case.casefile.keys import LIBRARY, place_of, tables, top_keys
from baypulse.case.casefile.reader import parsed
from baypulse.case.first_values import FIRST_VALUES
from baypulse.case.model import Case
from baypulse.case.new_case import NewCase, Stand
from baypulse.errors import BaypulseError, CaseError, Problem
from baypulse.live.case_text import with_typed, without_pins

if TYPE_CHECKING:  # the engine takes long to load, and the page is there before
    from baypulse.run.result import Result

NAME = "my-bay"
"""What a case is called that has no file yet."""

KEPT = 16
"""Texts of which the case is kept: what a page asks in a row is of one."""

RUNS = 3
"""Texts of which the run is kept, which takes a megabyte or two."""


class Malformed(BaypulseError):
    """A request that no page of ours makes."""


@dataclass(frozen=True)
class Draft:
    """A case on the page.

    Attributes
    ----------
    name : str
        Of the case.
    text : str or None
        Of the file that it began with; None for a bay that is described on the page.
    typed : dict of str to str
        By path, as typed; of a bay without a file the first values too.
    system : str
        Units that come first; empty for those of the case.
    """

    name: str
    text: str | None
    typed: dict[str, str]
    system: str = ""

    def written(self) -> str:
        """Return the text of the case file.

        Raises
        ------
        CaseError
            With everything of the first values that is not understood.
        """
        return self._text

    @cached_property
    def _text(self) -> str:
        # an answer asks for the case and for its run
        typed = without_pins(self.typed)
        if self.text is not None:
            parsed(self.text, self.file)
            return with_typed(self.text, typed)
        new = self.new_case()
        asked = {each.path for each in FIRST_VALUES} | {each.word_key for each in FIRST_VALUES}
        return with_typed(
            new.text(), {path: value for path, value in typed.items() if path not in asked}
        )

    def case(self) -> Case:
        """Return the case, in the words of the file's own reader where it is none."""
        return _case(self.written(), self.name, self.file)

    def run(self) -> Result:
        """Return the run of the case."""
        return _run(self.written(), self.name, self.file)

    @property
    def file(self) -> str:
        """What messages call its file."""
        return f"{self.name}.toml"

    def new_case(self) -> NewCase:
        """Return the new case that the first values make.

        Raises
        ------
        CaseError
            With everything of them that is not understood.
        """
        new, wrong = NewCase(self.system or None), []
        for each in FIRST_VALUES:
            # a word of the library stands under its own key, and a measured force before it
            path = each.path if self.typed.get(each.path, "").strip() else each.word_key
            text = self.typed.get(path, "").strip()
            said = new.take(each, text) if text else ""
            wrong += [Problem(None, path, said)] if said else []
        if wrong:
            raise CaseError(self.file, wrong)
        return new

    def stands(self) -> dict[str, Stand]:
        """Return what stands in a bay without a file, typical values too; nothing for a file."""
        return {} if self.text is not None else self.new_case().rows()


def draft_of(body: Mapping[str, Any]) -> Draft:
    """Return the case that a request is about.

    Parameters
    ----------
    body : mapping
        Of the request.

    Raises
    ------
    Malformed
        If it is no request of the page.
    """
    text, typed = body.get("text"), body.get("typed", {})
    name, system = body.get("name", NAME), body.get("system", "")
    right = (
        (text is None or isinstance(text, str))
        and isinstance(typed, dict)
        and all(isinstance(word, str) for pair in typed.items() for word in pair)
        and isinstance(name, str)
        and name.isprintable()
        and len(name) <= 80
        and system in ("", quantities.SI, quantities.US)
    )
    if not right:
        raise Malformed("this is no case as the page sends it")
    unknown = [path for path in typed if not _known(path)]
    if unknown:
        raise Malformed(f"a case file has no key {unknown[0][:80]!r}")
    return Draft(name or NAME, text, dict(typed), system)


def system_of(draft: Draft, case: Case) -> str:
    """Return the units that come first: those chosen on the page, else those of the case."""
    return draft.system or quantities.system_of(case)


def _known(path: str) -> bool:
    """Say whether a case file can have such a key, table or row, or number of the library."""
    if path.startswith(LIBRARY):
        return _of_library(path.removeprefix(LIBRARY))
    try:
        table, index, key = place_of(path)
    except ValueError:
        return False
    if table not in tables():
        return table in top_keys() and not key and index is None
    home = tables()[table]
    rows = index is not None and 0 <= index < 100
    if not key:
        return rows or index is None
    return key in home.keys and rows == home.repeated


def _of_library(place: str) -> bool:
    table, name, number = library.parts_of(place)
    known = table in library.TABLES and name in library.names(table)
    return known and number in library.facts(table, name)


@lru_cache(KEPT)
def _case(text: str, name: str, file: str) -> Case:
    return reads(text, name, file)


@lru_cache(RUNS)
def _run(text: str, name: str, file: str) -> Result:
    from baypulse.run.simulation import simulate

    return simulate(_case(text, name, file))
