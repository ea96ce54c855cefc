"""Lines of the terminal, and words that the texts of all studies share."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

from baypulse.case import library, units
from baypulse.case.casefile.keys import key_at
from baypulse.case.model import Case
from baypulse.case.spec import Number
from baypulse.members.chances import Chance
from baypulse.members.factors import LIBRARY
from baypulse.show.figures.scales import interval, percent


def often(each: Chance) -> str:
    """Return how often something happens, with the exact 95 % interval.

    Parameters
    ----------
    each : Chance
        Of something.

    Returns
    -------
    str
        Such as ``"in 97.3 % of 10,000 shots (96.9 to 97.6)"``.
    """
    shots = f"{each.members:,} shots" if each.members != 1 else "the one shot"
    if each.count == each.members:
        return f"in all of {shots} (at least {percent(each.low)} %)"
    if not each.count:
        return f"in none of {shots} (at most {percent(each.high)} %)"
    return f"in {percent(each.share)} % of {shots} ({interval(each.share, each.low, each.high)})"


WIDE = 88
"""Width of the terminal's text [characters]."""


def charge(case: Case) -> str:
    """Return the charge of a case as people say it."""
    if case.powder is not None:
        held = "loose" if case.holder is None else "in a holder"
        return f"{units.show(case.powder.mass, 'mass')} of {case.powder.grade} powder, {held}"
    assert case.cold_gas is not None
    gas = case.cold_gas
    return (
        f"{units.show(gas.volume, 'volume')} of {gas.gas} at "
        f"{units.show(gas.pressure, 'gauge pressure')} gauge"
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


def capital(text: str) -> str:
    """Return a text with a capital at its beginning."""
    return f"{text[:1].upper()}{text[1:]}"


def wrapped(text: str, first: str, rest: str) -> list[str]:
    """Return a sentence on lines that fit the terminal."""
    return textwrap.wrap(text, WIDE, initial_indent=first, subsequent_indent=rest)


def cut(lines: Sequence[str]) -> list[str]:
    """Return lines of a table that fit the terminal."""
    return [line if len(line) <= WIDE else f"{line[: WIDE - 3]}..." for line in lines]
