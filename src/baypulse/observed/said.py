"""What somebody says in its plainest words: of those that say the same, one."""

from __future__ import annotations

import re
from typing import NamedTuple

DROPPED = frozenset(
    ("a", "about", "an", "approximately", "around", "coming", "cone", "i", "is", "it", "just",
     "roughly", "the", "there", "was", "we", "were")
)  # fmt: skip
"""Words without which the same is said; "cone" as it goes without saying behind a nose."""

OPENINGS = ("heard", "only", "saw")
"""Words that say of what follows no more than that it was noticed."""

ENDINGS = frozenset(("apart", "away", "far", "off", "out"))
"""Words that may stand behind a distance."""

SAME = {
    "avionics": "electronics", "burned": "burnt", "chute": "parachute", "from": "at",
    "halfway": "half way", "inside": "in", "nosecone": "nose", "unburned": "unburnt",
}  # fmt: skip
"""Words in whose place the list of sightings has another one."""

UNITS = {
    "meter": "m", "meters": "m", "metre": "m", "metres": "m", "second": "s", "seconds": "s",
}  # fmt: skip
"""Units by the words that people say and that no case file has."""

_SHEAR_PINS = re.compile(r"\bshear pin", re.IGNORECASE)

_MARKS = re.compile(r"[.,;!]+$")

_SMALL = frozenset(
    ("all", "and", "at", "but", "did", "in", "no", "not", "of", "one", "some", "to", "too", "well")
)  # fmt: skip
"""Words by which no phrase is known."""


class SaidWord(NamedTuple):
    """A word as it counts, and as it was typed: units tell capital letters apart."""

    plain: str
    typed: str


def said_words(text: str) -> list[SaidWord]:
    """Return the words of a text that count.

    Parameters
    ----------
    text : str
        As somebody says it.
    """
    found = []
    for typed in _SHEAR_PINS.sub("pin", text.replace("’", "'")).split():
        bare = _MARKS.sub("", typed)
        low = bare.lower()
        # didn't is did not
        split = f"{low[:-3]} not" if low.endswith("n't") else SAME.get(low, low)
        if low and low not in DROPPED:
            found += [SaidWord(word, UNITS.get(low, bare)) for word in split.split()]
    return found


def plain(text: str) -> str:
    """Return a text in its plainest words.

    Parameters
    ----------
    text : str
        As for :func:`said_words`.

    Examples
    --------
    >>> plain("The nose cone didn't move!")
    'nose did not move'
    """
    return " ".join(word.plain for word in said_words(text))


def common(first: str, second: str) -> int:
    """Return how many words two plain texts have in common that say something."""
    return len(set(first.split()) & set(second.split()) - _SMALL)
