"""A text table as named columns of floats, each row with its line in the file."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from baypulse.case.logs import cells, clock, layout, source
from baypulse.case.logs.conventions import Doubt, Signs, signs, without_hard_groups
from baypulse.errors import LogError

Array = np.ndarray

MOST_UNREADABLE = 0.2
"""Share of the cells of a stretch from which on a column is not read; our choice."""

STRETCH = 100
"""Rows of a stretch: a flight's ascent is a small part of an hour on the pad."""

FEWEST_CELLS = 8
"""In a shorter column a share tells nothing; too few rows are refused elsewhere."""

MOST_REMARKS = 100
"""Comments that are looked at."""

_MISSING = r"(?i)^(?:-*|nan|[+-]?inf|n/?a|null|none|\?+)$"
"""What loggers write where they have no reading."""


@dataclass(frozen=True)
class LogTable:
    """The rows of a file; columns are read when asked for.

    Attributes
    ----------
    file : str
        As it was given, for messages.
    names : tuple of str
        Header of every column; ``column 1`` and so on where it has none.
    units : tuple of str
        Of a row of units below the header; empty texts without one.
    titled : bool
        Whether the file has a header.
    rows : baypulse.case.logs.cells.Rows
        The rows in the file's bytes.
    remarks : tuple of (int, str)
        Lines above the first row, and comments, with their numbers.
    notes : tuple of str
        What was mended so far.
    """

    file: str
    names: tuple[str, ...]
    units: tuple[str, ...]
    titled: bool
    rows: cells.Rows
    remarks: tuple[tuple[int, str], ...]
    notes: tuple[str, ...]

    @property
    def lines(self) -> Array:
        """Line of every row, from 1; shape (n,)."""
        return self.rows.lines

    def numbers(self, column: int) -> tuple[Array, str]:
        """Return a column, shape (n,), NaN where a cell is no number, and a note or nothing.

        Raises
        ------
        LogError
            Where its numbers can be read in two ways, or a stretch of them not at all.
        """
        values, note = self._numbers(column)
        self._refuse_unreadable(column, values)
        return values, f'Column "{self.names[column]}": {note}' if note else ""

    def times(self, column: int) -> tuple[Array, str, bool]:
        """Return a column of times in its own unit, or in seconds where it holds clocks or dates.

        Returns
        -------
        values : ndarray, shape (n,)
            NaN where a cell is no time.
        note : str
            How clocks or dates were read; may be empty.
        in_seconds : bool
            Whether they were clocks or dates, whatever the header says.
        """
        values, note = self._numbers(column)
        in_seconds = False
        if 2 * np.count_nonzero(np.isfinite(values)) < values.size:
            told, how = clock.seconds(self.rows.texts(column))
            if np.count_nonzero(np.isfinite(told)) > np.count_nonzero(np.isfinite(values)):
                values, note, in_seconds = told, how, True
        self._refuse_unreadable(column, values)
        return values, f'Column "{self.names[column]}": {note}' if note else "", in_seconds

    def _numbers(self, column: int) -> tuple[Array, str]:
        """Read a column by the convention that it, or else the file, shows."""

        def elsewhere() -> list[Signs]:
            others = (k for k in range(len(self.names)) if k != column)
            return [signs(without_hard_groups(self.rows.texts(k))[0]) for k in others]

        try:
            return cells.numbers(self.rows.texts(column), elsewhere)
        except Doubt as doubt:
            raise LogError(
                f'{self.file}: column "{self.names[column]}" {doubt}: they may be thousands or '
                "decimals; save the table without separators of thousands"
            ) from None

    def _refuse_unreadable(self, column: int, values: Array) -> None:
        """Raise where many cells of some stretch of rows hold something that is no number."""
        import pyarrow.compute as pc

        lost = np.flatnonzero(~np.isfinite(values))
        if lost.size < values.size * MOST_UNREADABLE * min(1.0, STRETCH / max(values.size, 1)):
            return
        texts = self.rows.texts(column)
        filled = ~pc.match_substring_regex(texts, _MISSING).to_numpy(zero_copy_only=False)
        place = np.flatnonzero(filled)
        unread = np.concatenate(([0], np.cumsum(~np.isfinite(values[place]))))
        width = min(STRETCH, place.size)
        counts = unread[width:] - unread[:-width] if width else unread
        if width < FEWEST_CELLS or counts.max() < MOST_UNREADABLE * width:
            return
        first = int(counts.argmax())
        row = next(k for k in place[first : first + width] if not np.isfinite(values[k]))
        raise LogError(
            f'{self.file}:{self.lines[row]}: "{texts[int(row)].as_py()[:40]}" in column '
            f'"{self.names[column]}" is no number, nor are {int(unread[-1]) - 1:,} other cells of '
            "it; write plain numbers with one decimal sign, and leave out the rest"
        )


def read(file: str | Path) -> LogTable:
    """Read a text table.

    Parameters
    ----------
    file : str or Path
        Separated by commas, semicolons, tabs or blanks, with decimal points or commas; comments
        begin with ``#`` or ``//``; lines above the header are skipped.

    Raises
    ------
    LogError
        Where the file is no such table.
    """
    name = str(file)
    data, notes = source.load(file)
    found = layout.find(name, data)
    rows = cells.Rows(data, found.first, found.separator)
    if not rows.ended and rows.counts.size > 2 and rows.counts[-1] < np.median(rows.counts):
        # the number before the break may have lost digits too
        notes += (f"The last row (line {rows.lines[-1]}) breaks off and was dropped.",)
        rows.only(np.arange(rows.lines.size) < rows.lines.size - 1)
    table = LogTable(
        name, found.names, found.units, found.titled, rows, _remarks(data, found.first), notes
    )
    _refuse_longer(table, found.separator)
    return table


def _remarks(data: bytes, first: int) -> tuple[tuple[int, str], ...]:
    """Return the lines before a file's first row, and its comments wherever they stand."""
    above = data.split(b"\n", first - 1)[: first - 1]
    found = list(enumerate(above, 1))
    begin = sum(len(line) + 1 for line in above)
    for comment in re.finditer(rb"(?m)^[ \t]*(?:#|//).*$", data[begin:]):
        number = first + data.count(b"\n", begin, begin + comment.start())
        found.append((number, comment.group()))
        if len(found) >= first + MOST_REMARKS:
            break
    return tuple((number, text.decode(errors="replace").strip()) for number, text in found)


def _refuse_longer(table: LogTable, separator: str) -> None:
    """Raise where rows far down hold numbers beyond the last name, as thousands make them."""
    import pyarrow.compute as pc

    width = len(table.names)
    if not table.titled or not np.any(table.rows.counts > width):
        return
    beyond = pc.match_substring_regex(table.rows.texts(width), r"^[+-]?[0-9][0-9.,]*$")
    longer = np.flatnonzero(beyond.to_numpy(zero_copy_only=False))
    if longer.size:
        raise LogError(
            layout.misfit(
                table.file, int(table.lines[longer[0]]), int(table.rows.counts[longer[0]]), width,
                separator,
            )
        )  # fmt: skip
