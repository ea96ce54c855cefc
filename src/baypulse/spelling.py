"""Words as they are typed: near matches for misspelt ones, and characters that nobody sees."""

from __future__ import annotations

import difflib
import unicodedata
from collections.abc import Sequence

_JOINERS = "\u200c\u200d"
"""Invisible, and part of the spelling of some languages."""


def unseen(letter: str) -> bool:
    """Say whether a character is one that nobody sees: it steers a terminal, or turns a line.

    Parameters
    ----------
    letter : str
        One character; line ends and tabs are seen.
    """
    hidden = unicodedata.category(letter) in ("Cc", "Cf", "Cs")
    return hidden and letter not in "\n\t" + _JOINERS


def near(word: str, options: Sequence[str]) -> str:
    """Return the option most like a misspelt word, or an empty string.

    Parameters
    ----------
    word : str
        As typed.
    options : sequence of str
        What it may have been.

    Returns
    -------
    str
        Same first letter first, then fewest edits, then the same length.

    Examples
    --------
    >>> near("mn", ["m", "mm", "in"])
    'mm'
    """
    wanted = word.lower()
    matcher = difflib.SequenceMatcher(b=wanted)
    close: list[tuple[bool, int, bool, int, float, str]] = []
    for option in options:
        folded = option.lower()
        matcher.set_seq1(folded)
        ratio = matcher.ratio()
        if ratio >= 0.5:
            edits = _distance(wanted, folded)
            length = abs(len(folded) - len(wanted))
            other_case = option[:1] != word[:1]
            close.append((folded[:1] != wanted[:1], edits, other_case, length, -ratio, option))
    return min(close)[-1] if close else ""


def _distance(first: str, second: str) -> int:
    """Return the number of single-letter edits between two short words."""
    row = list(range(len(second) + 1))
    for i, a in enumerate(first, 1):
        previous, row[0] = row[0], i
        for j, b in enumerate(second, 1):
            previous, row[j] = row[j], min(row[j] + 1, row[j - 1] + 1, previous + (a != b))
    return row[-1]
