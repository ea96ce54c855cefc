"""The fields of a large table as numbers, cut out of its bytes without a loop over rows.

Every row keeps the number of its line, rows of different length are no obstacle, and columns that
nobody asks for are never touched. A million rows take a few tenths of a second.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from baypulse.case.logs import conventions
from baypulse.case.logs.conventions import Signs

Array = np.ndarray

_NEWLINE, _QUOTE, _BLANK, _TAB, _HASH, _SLASH = (ord(sign) for sign in '\n" \t#/')
_NUMBER = r"^\+?(-?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?)$"

LARGEST = 1e18
"""Greater numbers are no readings, and would overflow in another unit."""


class Rows:
    """Where rows and fields lie in the bytes of a file.

    Parameters
    ----------
    data : bytes
        UTF-8 with line feeds.
    first : int
        Line of the first row, from 1.
    separator : str
        One character; a space stands for any run of blanks.

    Attributes
    ----------
    lines : ndarray of int, shape (n,)
        Line of every row; blank lines and comments have none.
    counts : ndarray of int, shape (n,)
        Fields in every row.
    ended : bool
        Whether the last row ends with a line feed.
    """

    def __init__(self, data: bytes, first: int, separator: str) -> None:
        start = 0
        for _ in range(first - 1):
            start = data.index(b"\n", start) + 1
        self.ended = data.endswith(b"\n")
        if separator == "\t":
            # the blanks at the ends of a line of tabs are empty fields, those of others are noise
            self._bytes = np.frombuffer(data, np.uint8)[start:]
        else:
            self._bytes = _squeezed(np.frombuffer(data, np.uint8)[start:])
        feeds = np.flatnonzero(self._bytes == _NEWLINE)
        begins = np.concatenate(([0], feeds + 1))
        ends = np.append(feeds, self._bytes.size)
        lines = first + np.arange(begins.size)
        held = (ends > begins) & ~self._commented(begins)
        self._begins, self._ends, self.lines = begins[held], ends[held], lines[held]
        cuts = np.flatnonzero(self._bytes == ord(separator))
        if data.find(b'"', start) >= 0:
            cuts = self._outside_quotes(cuts, begins)
        self._cuts = cuts
        self._first = np.searchsorted(cuts, self._begins)
        self.counts = 1 + np.searchsorted(cuts, self._ends) - self._first

    def texts(self, column: int) -> Any:
        """Return one column as an arrow array of texts, empty where a row is too short.

        Parameters
        ----------
        column : int
            From 0.
        """
        import pyarrow
        import pyarrow.compute as pc

        begins, ends = self._begins, self._ends
        if self._cuts.size:
            last = self._cuts.size - 1
            right = np.minimum(self._first + column, last)
            if column:
                begins = self._cuts[np.maximum(right - 1, 0)] + 1
                begins = np.where(self._first + column > last, self._cuts[last] + 1, begins)
            ends = np.where(self.counts > column + 1, self._cuts[right], ends)
        lengths = np.where(self.counts > column, ends - begins, 0)
        offsets = np.concatenate(([0], np.cumsum(lengths)))
        taken = self._bytes[np.repeat(begins - offsets[:-1], lengths) + np.arange(offsets[-1])]
        texts = pyarrow.LargeStringArray.from_buffers(
            lengths.size, pyarrow.py_buffer(offsets), pyarrow.py_buffer(taken)
        )
        if np.isin(taken, (_BLANK, _TAB, _QUOTE, ord("'"))).any():
            texts = pc.utf8_trim(texts, " \t\"'")
        return texts

    def only(self, kept: Array) -> None:
        """Drop the rows where ``kept``, shape (n,) of bool, is false."""
        self._begins, self._ends = self._begins[kept], self._ends[kept]
        self._first, self.counts = self._first[kept], self.counts[kept]
        self.lines = self.lines[kept]

    def _commented(self, begins: Array) -> Array:
        """Tell which lines begin with ``#`` or ``//``, shape of ``begins``."""
        if not self._bytes.size:
            return np.zeros(begins.size, dtype=bool)
        first = self._bytes[np.minimum(begins, self._bytes.size - 1)]
        second = self._bytes[np.minimum(begins + 1, self._bytes.size - 1)]
        return (first == _HASH) | ((first == _SLASH) & (second == _SLASH))

    def _outside_quotes(self, cuts: Array, begins: Array) -> Array:
        """Return the separators that do not stand between quotes; a quote ends with its line."""
        quotes = np.flatnonzero(self._bytes == _QUOTE)
        line = np.searchsorted(begins, cuts, side="right") - 1
        before = np.searchsorted(quotes, cuts) - np.searchsorted(quotes, begins)[line]
        return cuts[before % 2 == 0]


def numbers(texts: Any, elsewhere: Callable[[], list[Signs]]) -> tuple[Array, str]:
    """Read texts as numbers, in the convention that the column shows.

    Parameters
    ----------
    texts : pyarrow array of texts, length n
    elsewhere : callable
        Gives the signs of the file's other columns, where this one does not tell.

    Returns
    -------
    values : ndarray, shape (n,)
        NaN where a text is no number below :data:`LARGEST`.
    note : str
        What was assumed, sentences; may be empty.

    Raises
    ------
    baypulse.case.logs.conventions.Doubt
        Where the numbers can be read in two ways.
    """
    import pyarrow
    import pyarrow.compute as pc

    notes: list[str] = []
    try:
        read = floats(pc.cast(texts, pyarrow.float64()))
        doubtful = _perhaps_grouped(read)
    except pyarrow.ArrowInvalid:
        doubtful = True
    if doubtful:
        texts, notes = conventions.plain(texts, elsewhere)
        found = pc.extract_regex(texts, _NUMBER.replace("(-?", "(?P<number>-?", 1))
        read = floats(pc.cast(pc.struct_field(found, "number"), pyarrow.float64()))
    read[~(np.abs(read) < LARGEST)] = np.nan
    return read, " ".join(notes)


def _perhaps_grouped(read: Array) -> bool:
    """Tell whether every number might be one of thousands with a point, such as 2.041."""
    known = np.abs(read[np.isfinite(read)])
    broken = known[known % 1.0 != 0.0]
    thousandths = 1000.0 * broken
    near = np.abs(thousandths - np.round(thousandths)) < 1e-6
    return bool(known.size and np.any(known) and np.all((broken >= 1.0) & (broken < 1000.0) & near))


def floats(column: Any) -> Array:
    """Return an arrow array of numbers as floats of our own, NaN where there is none."""
    return np.array(column.to_numpy(zero_copy_only=False), dtype=float)


def _squeezed(signs: Array) -> Array:
    """Make one blank of every run of blanks, and none at either end of a line."""
    blank = (signs == _BLANK) | (signs == _TAB)
    if not blank.any():
        return signs
    feed = signs == _NEWLINE
    before = np.concatenate(([True], (blank | feed)[:-1]))
    signs = np.where(blank, np.uint8(_BLANK), signs)[~(blank & before)]
    # what is left of a run may still stand before the end of its line
    after = np.append(signs[1:] == _NEWLINE, True)
    return signs[~((signs == _BLANK) & after)]
