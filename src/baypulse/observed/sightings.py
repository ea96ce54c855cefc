"""What was seen of a shot: the words for it, and how far to trust them."""

from __future__ import annotations

import math
import re
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass, field
from difflib import get_close_matches
from functools import cache
from importlib import resources
from typing import Any

from baypulse.case import quantities, units
from baypulse.case.model import Case
from baypulse.errors import BaypulseError, UnitError
from baypulse.observed.said import ENDINGS, OPENINGS, SaidWord, common, plain, said_words
from baypulse.spelling import near

_NUMBER = re.compile(r"[-+]?\.?[0-9]")
"""How a number begins."""

_UNCERTAIN = re.compile(r"\s*(?:\+-|\+/-|±)\s*")

CONTENTS_STAYED = 2
"""Index of the outcome of a bay that separated and kept its parachute."""

SEPARATED = "separated"
"""The outcome of a shot that went well."""

MOST_MEANT = 5
"""Answers that are offered for words that begin several."""

ALIKE = 0.8
"""Likeness of two texts, of at most 1, from which one is taken for a misspelling of the other."""

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

    @property
    def said(self) -> str:
        """The answer in its usual words; empty for a number."""
        return "" if self.answer is None else self.kind.answers[self.answer]


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
    words = said_words(text)
    if words and plain(text) not in _phrases() and words[0].plain in OPENINGS:
        words = words[1:]
    said = " ".join(word.plain for word in words)
    if said in _phrases():
        kind, answer = _phrases()[said]
        return Sighting(kind, text, answer=answer)
    # of "peak pressure" and "peak" the longer one
    for before in range(len(words), 0, -1):
        start = " ".join(word.plain for word in words[:before])
        measures = next((kind for kind in kinds().values() if start in kind.words), None)
        if measures is not None:
            number = _number(words[before:])
            if not _NUMBER.match(number):
                rest = f". {vocabulary()}" if number else ""
                raise SightingError(
                    f'--saw "{text}": no number; write "{start} {measures.example}"{rest}'
                )
            return _measured(measures, text, number)
    raise SightingError(f'--saw "{text}": not known{_hint(said)}{vocabulary()}')


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


@cache
def _phrases() -> dict[str, tuple[SightingKind, int]]:
    """Return the kind and the answer that each phrase stands for."""
    return {
        phrase: (kind, answer)
        for kind in kinds().values()
        for phrase, answer in kind.phrases.items()
    }


def _number(words: Sequence[SaidWord]) -> str:
    """Return what stands behind the words of a number, without an "away" at its end."""
    while words and words[-1].plain in ENDINGS:
        words = words[:-1]
    return " ".join(word.typed for word in words)


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
        raise SightingError(
            f'--saw "{text}": the allowed values of {kind.title} are {allowed}'
            f"{_other_length(kind, value, given[0])}"
        )
    if error is not None and not error > 0.0:
        raise SightingError(f'--saw "{text}": what stands behind "+-" must be above 0')
    return Sighting(kind, text, value=value, error=error)


def _other_length(kind: SightingKind, value: float, number: str) -> str:
    """Return what else of this kind a number may be that is too large or too small here."""
    for other in kinds().values():
        alike = other is not kind and other.dimension == kind.dimension
        if alike and other.low <= value <= other.high:
            return f'; for {other.title} write "{other.words[0]} {number}"'
    return ""


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


def _hint(said: str) -> str:
    # an old word that is still understood is answered with the one in use
    answers = {phrase: kind.answers[k] for phrase, (kind, k) in _phrases().items()}
    known = [*answers, *(word for kind in kinds().values() for word in kind.words)]
    number = re.search(r"\s[0-9.]", said)
    words = said[: number.start()] if number else said
    close = [phrase for phrase in known if words and phrase.startswith(words)]
    close = close or get_close_matches(words, known, len(known), ALIKE)
    shared = [common(words, phrase) for phrase in known]
    if not close and max(shared):
        close = [phrase for phrase, n in zip(known, shared, strict=True) if n == max(shared)]
    close = close or [each for each in [near(words, known)] if each]
    meant = list(dict.fromkeys(f'"{answers.get(each, each)}"' for each in close))[:MOST_MEANT]
    return f"; did you mean {' or '.join(meant)}? " if meant else ". "


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
            plain(phrase): k
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
