"""Reads causes with their prior odds: the ones shipped, or a copy that somebody has edited."""

from __future__ import annotations

import math
import tomllib
from dataclasses import dataclass
from functools import cache
from importlib import resources
from pathlib import Path
from typing import Any

from baypulse.case import units
from baypulse.case.casefile.keys import renamed, tables
from baypulse.case.casefile.reader import file_text
from baypulse.case.spec import Count, Number
from baypulse.errors import BaypulseError, CaseError, UnitError
from baypulse.observed.causes import COUNT, HOW, NEEDS, PLACES, VENTS, Cause, CauseChange
from baypulse.observed.sightings import kinds
from baypulse.spelling import near

NONE_OF_THESE = "none of these"
"""The entry for whatever is not in the list."""

KEYS = ("what", "odds", "source", "needs", "alone", "changes", "ruled_out_by")
"""What a cause may hold."""


class CauseError(BaypulseError):
    """A list of causes that cannot be read; the text says where and what to do."""


@dataclass(frozen=True)
class CauseList:
    """Causes with their prior odds.

    Attributes
    ----------
    causes : tuple of Cause
        In the order of the file.
    none_share : float
        Chance, before anything was seen, that it was none of them.
    none_what : str
        What that is, in a plain sentence.
    none_source : str
        Of that chance.
    """

    causes: tuple[Cause, ...]
    none_share: float
    none_what: str
    none_source: str


@cache
def shipped() -> CauseList:
    """Return the causes that come with the package."""
    place = resources.files("baypulse") / "studies" / "why" / "causes.toml"
    return _listed(tomllib.loads(place.read_text(encoding="utf-8")), "causes.toml")


def read(path: str | Path) -> CauseList:
    """Read a list of causes.

    Parameters
    ----------
    path : str or pathlib.Path
        A file like ``studies/why/causes.toml``.

    Raises
    ------
    CauseError
        With a sentence that says where, what was given and what is allowed.
    """
    try:
        found = tomllib.loads(file_text(path).removeprefix("\ufeff"))
    except CaseError as error:
        raise CauseError(str(error)) from None
    except ValueError as error:  # the text's coding, TOML, and dates that are none
        raise CauseError(f"{path} is no TOML file in UTF-8: {error}") from None
    except RecursionError:
        raise CauseError(f"{path} is no list of causes: it is nested too deeply") from None
    return _listed(found, str(path))


def _listed(found: dict[str, Any], file: str) -> CauseList:
    for name, entry in found.items():
        if not isinstance(entry, dict):
            raise CauseError(f'{file}: {name}: write ["{name}"] above the keys of a cause')
    rest = found.get(NONE_OF_THESE)
    if rest is None:
        raise CauseError(
            f'{file}: ["{NONE_OF_THESE}"] is missing; write it with share = 0.05, the chance that '
            "the list does not hold the cause"
        )
    place = f"{file}: {NONE_OF_THESE}"
    _known(place, rest, ("what", "share", "source"))
    share = _number(place, rest, "share")
    if not 0.0 < share < 1.0:
        raise CauseError(f"{place}: share is {share:g}; it must lie between 0 and 1")
    causes = tuple(
        _cause(f"{file}: {name}", name, entry)
        for name, entry in found.items()
        if name != NONE_OF_THESE
    )
    if not causes:
        raise CauseError(f"{file} holds no cause; begin with a copy of the list that is shipped")
    return CauseList(causes, share, _text(place, rest, "what"), _text(place, rest, "source"))


def _cause(place: str, name: str, entry: dict[str, Any]) -> Cause:
    _known(place, entry, KEYS)
    odds = _number(place, entry, "odds")
    if not (odds > 0.0 and math.isfinite(odds)):
        raise CauseError(f"{place}: odds are {odds:g}; they must be above 0")
    needs = entry.get("needs", [])
    if not isinstance(needs, list):
        raise CauseError(f'{place}: needs is a list, such as ["pins"]')
    for need in needs:
        if not isinstance(need, str) or need not in NEEDS:
            raise CauseError(f'{place}: needs "{need}"; {_choice(str(need), tuple(NEEDS))}')
    alone = entry.get("alone", False)
    if not isinstance(alone, bool):
        raise CauseError(f"{place}: alone is true or false")
    changes = entry.get("changes", [])
    if not isinstance(changes, list) or not all(isinstance(each, dict) for each in changes):
        raise CauseError(
            f'{place}: changes is a list, such as [{{ path = "powder.mass", factor = "0.9..0.5" }}]'
        )
    return Cause(
        name, _text(place, entry, "what"), odds, _text(place, entry, "source"), tuple(needs),
        tuple(_change(place, each) for each in changes), alone, _ruled_out_by(place, entry),
    )  # fmt: skip


def _ruled_out_by(place: str, entry: dict[str, Any]) -> tuple[str, ...]:
    """Return the answers after which a cause cannot have been at work."""
    given = entry.get("ruled_out_by", [])
    if not isinstance(given, list):
        raise CauseError(f'{place}: ruled_out_by is a list, such as ["pop"]')
    answers = tuple(answer for kind in kinds().values() for answer in kind.answers)
    for each in given:
        if each not in answers:
            close = near(str(each), answers)
            hint = f'did you mean "{close}"?' if close else "baypulse why --list shows them"
            raise CauseError(f'{place}: ruled_out_by: "{each}" is no answer; {hint}')
    return tuple(given)


def _change(place: str, given: dict[str, Any]) -> CauseChange:
    _known(f"{place}: changes", given, ("path", "place", *HOW))
    ways = [how for how in HOW if how in given]
    if len(ways) != 1 or ("path" in given) == ("place" in given):
        raise CauseError(
            f"{place}: a change has a path, or a place, and one of {', '.join(HOW)}; not {given}"
        )
    how = ways[0]
    if ("place" in given) != (how == "diameter"):
        raise CauseError(f"{place}: diameter goes with place, and with nothing else")
    target = str(given.get("path", given.get("place")))
    dimension = _dimension(place, target, how)
    ends = [end.strip() for end in str(given[how]).split("..")]
    try:
        mild, severe = (units.parse(end, dimension) for end in (ends[0], ends[-1]))
    except UnitError as error:
        raise CauseError(f"{place}: {target}: {how}: {error}") from None
    if len(ends) > 2 or (mild != severe and not min(mild, severe) > 0.0) or mild < 0.0:
        raise CauseError(
            f'{place}: {target}: {how} is "{given[how]}"; write one value, or a mild and a severe '
            'end above 0, such as "1.2..3"'
        )
    return CauseChange(target, how, mild, severe)


def _dimension(place: str, target: str, how: str) -> str:
    """Return the dimension in which the size of a change is given."""
    if how == "diameter":
        if target not in PLACES:
            raise CauseError(f'{place}: place "{target}"; {_choice(target, PLACES)}')
        return "length"
    if how in ("free_share", "bore_cubes") and target != "bay.extra_volume":
        raise CauseError(f"{place}: {how} goes with bay.extra_volume, not with {target}")
    if target == VENTS:
        if how != "factor":
            raise CauseError(f"{place}: {VENTS} goes with factor, not with {how}")
        return "ratio"
    numbers = {
        f"{table.name}.{key.name}": key.spec
        for table in tables().values()
        for key in table.keys.values()
        if not table.repeated and isinstance(key.spec, (Number, Count))
    }
    spec = numbers.get(target)
    new = renamed(target, numbers)
    if new:
        raise CauseError(f"{place}: path {target} is now called {new}; write that")
    if spec is None:
        raise CauseError(f'{place}: path "{target}"; {_choice(target, (*numbers, VENTS))}')
    if isinstance(spec, Count) and (target != COUNT or how != "add"):
        raise CauseError(f"{place}: {target} goes with add, as in add = 1, and only for {COUNT}")
    relative = how != "add" and how != "value"
    return "ratio" if relative or isinstance(spec, Count) else spec.dimension


def _known(place: str, entry: dict[str, Any], allowed: tuple[str, ...]) -> None:
    for key in entry:
        if key not in allowed:
            raise CauseError(f'{place}: there is no "{key}"; {_choice(key, allowed)}')


def _choice(word: str, allowed: tuple[str, ...]) -> str:
    close = near(word, allowed)
    if close:
        return f'did you mean "{close}"?'
    few = len(allowed) <= 12
    return f"allowed are {', '.join(allowed)}" if few else "baypulse check CASE lists the numbers"


def _text(place: str, entry: dict[str, Any], key: str) -> str:
    value = entry.get(key)
    if not isinstance(value, str) or not value:
        raise CauseError(f'{place}: {key} is missing; write {key} = "..."')
    return value


def _number(place: str, entry: dict[str, Any], key: str) -> float:
    value = entry.get(key)
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        raise CauseError(f"{place}: {key} is missing or no number; write {key} = 0.05")
    return float(value)
