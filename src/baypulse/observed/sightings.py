"""What was seen of a shot: the words for it, and how far to trust them."""

from __future__ import annotations

import math
import re
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cache
from importlib import resources
from typing import Any

from baypulse.case import quantities, units
from baypulse.case.model import Case
from baypulse.errors import BaypulseError, UnitError
from baypulse.spelling import near

_UNCERTAIN = re.compile(r"\s*(?:\+-|\+/-|±)\s*")

CONTENTS_STAYED = 2
"""Index of the outcome of a bay that separated and kept its parachute."""


FARTHER = 0.1
"""How often an answer is mistaken for one that is a step farther off, against the nearer one, where
the answers have an order; estimate."""


class SightingError(BaypulseError):
    """A sighting that is not understood, or not possible; the text says what to write."""


@dataclass(frozen=True)
class SightingKind:
    """One kind of thing that can be seen, with an answer or with a number.

    Attributes
    ----------
    name : str
        ``"outcome"``, ``"sound"`` ...
    title : str
        The same in plain words.
    source : str
        Of its error rates.
    answers : tuple of str
        What can be the case; empty for a number.
    phrases : mapping
        For each way to say it, the index of the answer.
    wrong : float
        Chance that another answer is reported than the right one.
    ordered : bool
        Whether answers next to each other are mistaken rather than others.
    words : tuple of str
        What stands before a number.
    dimension : str
        Of a number; see :mod:`baypulse.case.units`.
    example : str
        A number of it, as somebody would write it.
    error, floor : float
        Standard deviation of a number: a share of the true value, and a fixed part [SI].
    gross : float
        Chance that a number is wrong altogether.
    low, high : float
        Between which it then lies, evenly in its logarithm, and which is allowed [SI].
    marks : mapping
        Numbers by name [SI] that decide between answers.
    """

    name: str
    title: str
    source: str
    answers: tuple[str, ...] = ()
    phrases: dict[str, int] = field(default_factory=dict)
    wrong: float = 0.0
    ordered: bool = False
    words: tuple[str, ...] = ()
    dimension: str = ""
    example: str = ""
    error: float = 0.0
    floor: float = 0.0
    gross: float = 0.0
    low: float = 0.0
    high: float = 0.0
    marks: dict[str, float] = field(default_factory=dict)

    def report(self, answer: int) -> list[float]:
        """Return the chance that each answer is the right one's report, with a sum of 1."""
        farther = FARTHER if self.ordered else 1.0
        steps = [abs(k - answer) for k in range(len(self.answers))]
        weights = [farther ** (step - 1) if step else 0.0 for step in steps]
        scale = self.wrong / sum(weights)
        return [scale * weight if weight else 1.0 - self.wrong for weight in weights]

    def anything(self, value: float | None) -> float:
        """Return chance (density for a number) of a sighting about which nothing is known.

        Parameters
        ----------
        value : float or None
            The number that was seen [SI]; None for an answer.
        """
        if value is None:
            return 1.0 / len(self.answers)
        if not self.low <= value <= self.high:
            return 0.0
        return 1.0 / (value * math.log(self.high / self.low))


@dataclass(frozen=True)
class Sighting:
    """One thing that was seen.

    Attributes
    ----------
    kind : Kind
        What it is about.
    text : str
        As it was said.
    answer : int or None
        Index of the answer; None for a number.
    value : float or None
        The number [SI]; None for an answer.
    error : float or None
        Its standard deviation [SI], where somebody gave one.
    """

    kind: SightingKind
    text: str
    answer: int | None = None
    value: float | None = None
    error: float | None = None


@cache
def kinds() -> dict[str, SightingKind]:
    """Return every kind of sighting by name, from ``observed/sightings.toml``."""
    place = resources.files("baypulse") / "observed" / "sightings.toml"
    found = tomllib.loads(place.read_text(encoding="utf-8"))
    return {name: _kind(name, entry) for name, entry in found.items()}


def available(case: Case) -> dict[str, SightingKind]:
    """Return the kinds that can be seen in a case.

    Parameters
    ----------
    case : Case
        A bay without pins has no sheared ones, and so on.
    """
    return {name: kind for name, kind in kinds().items() if not _missing(case, name)}


def sightings(case: Case, texts: Sequence[str]) -> tuple[Sighting, ...]:
    """Read what was seen.

    Parameters
    ----------
    case : Case
        The case of the shot.
    texts : sequence of str
        Such as ``"no separation"``, ``"moved 12 mm"``, ``"peak 9 psi"`` or
        ``"velocity 6 m/s +- 1 m/s"``.

    Raises
    ------
    SightingError
        With a sentence that quotes the first text that is not understood or not possible.
    """
    found: dict[str, Sighting] = {}
    for text in texts:
        sighting = sight(text)
        name = sighting.kind.name
        missing = _missing(case, name)
        if missing:
            raise SightingError(f'--saw "{text}": this case has no {missing}; leave it out')
        if name in found:
            raise SightingError(
                f'--saw "{text}": "{found[name].text}" says something about '
                f"{sighting.kind.title} already; keep one of them"
            )
        if name == "outcome" and sighting.answer == CONTENTS_STAYED:
            _contents_asked(case, text)
        found[name] = sighting
    return tuple(found.values())


def sight(text: str) -> Sighting:
    """Read one thing that was seen, whatever the case.

    Parameters
    ----------
    text : str
        As for :func:`sightings`.

    Raises
    ------
    SightingError
        With a sentence that quotes it.
    """
    plain = _plain(text)
    for kind in kinds().values():
        if plain in kind.phrases:
            return Sighting(kind, text, answer=kind.phrases[plain])
    for kind in kinds().values():
        for word in kind.words:
            if plain.startswith(f"{word} "):
                # units tell capital letters apart
                return _measured(kind, text, " ".join(text.split())[len(word) + 1 :])
    for kind in kinds().values():
        if plain in kind.words:
            raise SightingError(f'--saw "{text}": no number; write "{plain} {kind.example}"')
    raise SightingError(f'--saw "{text}": not known{_hint(plain)}{vocabulary()}')


def vocabulary() -> str:
    """Return a sentence that lists all that can be said."""
    said = [f'"{answer}"' for kind in kinds().values() for answer in kind.answers]
    numbers = [f'"{kind.words[0]} {kind.example}"' for kind in kinds().values() if kind.words]
    return f"What can be said: {', '.join(said)}; with a number: {', '.join(numbers)}"


def answered(kind: SightingKind, answer: int) -> Sighting:
    """Return the sighting of one answer, in its usual words.

    Parameters
    ----------
    kind : Kind
        With answers.
    answer : int
        Index.
    """
    return Sighting(kind, kind.answers[answer], answer=answer)


def measured(kind: SightingKind, value: float) -> Sighting:
    """Return the sighting of a number.

    Parameters
    ----------
    kind : Kind
        With a number.
    value : float
        [SI].
    """
    return Sighting(kind, f"{kind.words[0]} {quantities.show(value, kind.dimension)}", value=value)


def _plain(text: str) -> str:
    return " ".join(word for word in text.lower().split() if word != "the")


def _measured(kind: SightingKind, text: str, number: str) -> Sighting:
    given = _UNCERTAIN.split(number)
    if len(given) > 2:
        raise SightingError(f'--saw "{text}": more than one "+-"; write it once')
    try:
        value = _parsed(given[0], kind.dimension)
        error = None if len(given) == 1 else units.parse_spread(given[1], kind.dimension, value)
    except UnitError as problem:
        raise SightingError(f'--saw "{text}": {problem}') from None
    if not kind.low <= value <= kind.high:
        allowed = quantities.within(kind.low, kind.high, kind.dimension, kind.example)
        raise SightingError(f'--saw "{text}": the allowed values of {kind.title} are {allowed}')
    if error is not None and not error > 0.0:
        raise SightingError(f'--saw "{text}": what stands behind "+-" must be above 0')
    return Sighting(kind, text, value=value, error=error)


def _parsed(text: str, dimension: str) -> float:
    """Read a number; a pressure that does not say so is what a gauge shows."""
    if dimension == "gauge pressure":
        try:
            return units.parse(f"{text} gauge", dimension)
        except UnitError:
            pass
    return units.parse(text, dimension)


def _missing(case: Case, name: str) -> str:
    """Return what a kind of sighting needs and a case lacks, or nothing."""
    lacks = {
        "pins": (case.pins is None, "pins"),
        "electronics": (case.electronics is None, "electronics bay"),
        "residue": (case.powder is None, "powder"),
        "smoke": (case.powder is None, "powder"),
        "scorch": (case.powder is None or case.contents is None, "powder and contents"),
        "slide": (case.setting.kind == "flight", "ground to slide on"),
    }
    absent, what = lacks.get(name, (False, ""))
    return what if absent else ""


def _contents_asked(case: Case, text: str) -> None:
    if case.contents is None or case.cord is None:
        raise SightingError(
            f'--saw "{text}": this case has no contents on a cord that could stay; write '
            "[contents] and [cord] into it, or leave it out"
        )


def _hint(plain: str) -> str:
    # an old word that is still understood is answered with the one in use
    answers = {
        phrase: kind.answers[k] for kind in kinds().values() for phrase, k in kind.phrases.items()
    }
    known = [*answers, *(word for kind in kinds().values() for word in kind.words)]
    number = re.search(r"\s[0-9.]", plain)
    words = plain[: number.start()] if number else plain
    begun = [phrase for phrase in known if words and phrase.startswith(words)]
    close = begun[0] if begun else near(words, known)
    return f'; did you mean "{answers.get(close, close)}"? ' if close else ". "


_MARKS = {
    "heard_pressure": "gauge pressure", "pop_pressure": "gauge pressure", "pop_rise": "time",
    "area": "area", "pressure": "gauge pressure", "pulse": "gauge pressure", "powder": "ratio",
    "dirty_below": "ratio", "grains_below": "ratio", "width": "ratio",
}  # fmt: skip
"""Numbers that decide between answers, and their dimension; powder is in kg/m^2."""


def _kind(name: str, entry: dict[str, Any]) -> SightingKind:
    marks = {
        key: units.parse(entry[key], dimension) for key, dimension in _MARKS.items() if key in entry
    }
    if "answers" in entry:
        answers = tuple(entry["answers"])
        phrases = {
            _plain(phrase): k
            for k, answer in enumerate(answers)
            for phrase in entry["answers"][answer]
        }
        return SightingKind(
            name,
            entry["title"],
            entry["source"],
            answers,
            phrases,
            entry["wrong"],
            entry["ordered"],
            marks=marks,
        )
    dimension = entry["dimension"]
    low, high = (units.parse(entry[key], dimension) for key in ("low", "high"))
    return SightingKind(
        name,
        entry["title"],
        entry["source"],
        words=tuple(entry["words"]),
        dimension=dimension,
        example=entry["example"],
        error=units.parse(entry["error"], "ratio"),
        floor=units.parse_spread(entry["floor"], dimension, 0.0),
        gross=entry["gross"],
        low=low,
        high=high,
    )
