"""Lines of the terminal, and words that the texts of all studies share."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

from baypulse.case import library, quantities
from baypulse.case.casefile.keys import key_at
from baypulse.case.model import Case
from baypulse.case.spec import Number
from baypulse.members.factors import LIBRARY

WIDE = 88
"""Width of the terminal's text [characters]."""


def charge(case: Case) -> str:
    """Return the charge of a case as people say it."""
    if case.powder is not None:
        held = "loose" if case.holder is None else "in a holder"
        return f"{quantities.show(case.powder.mass, 'mass')} of {case.powder.grade} powder, {held}"
    assert case.cold_gas is not None
    gas = case.cold_gas
    return (
        f"{quantities.show(gas.volume, 'volume')} of {gas.gas} at "
        f"{quantities.show(gas.pressure, 'gauge pressure')} gauge"
    )


def columns(pairs: list[tuple[str, str]]) -> list[str]:
    """Return indented lines of names and values, the values below each other."""
    wide = max(len(name) for name, _ in pairs)
    return [f"    {name.ljust(wide)}  {value}" for name, value in pairs]


def dimension_of(path: str) -> str:
    """Return the kind of a value that scatters."""
    if path.startswith(LIBRARY):
        return library.fact(path.removeprefix(LIBRARY)).dimension
    spec = key_at(path).spec
    assert isinstance(spec, Number)
    return spec.dimension


def wrapped(text: str, first: str, rest: str) -> list[str]:
    """Return a sentence on lines that fit the terminal."""
    return textwrap.wrap(text, WIDE, initial_indent=first, subsequent_indent=rest)


def cut(lines: Sequence[str]) -> list[str]:
    """Return lines of a table that fit the terminal."""
    return [line if len(line) <= WIDE else f"{line[: WIDE - 3]}..." for line in lines]
