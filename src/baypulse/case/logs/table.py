"""A text table as named columns of floats, each row with its line in the file."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from baypulse.case.logs import cells, clock, layout, source

Array = np.ndarray


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
    notes : tuple of str
        What was mended so far.
    """

    file: str
    names: tuple[str, ...]
    units: tuple[str, ...]
    titled: bool
    rows: cells.Rows
    notes: tuple[str, ...]

    @property
    def lines(self) -> Array:
        """Line of every row, from 1; shape (n,)."""
        return self.rows.lines

    def numbers(self, column: int) -> tuple[Array, str]:
        """Return a column, shape (n,), NaN where a cell is no number, and a note or nothing."""
        values, note = cells.numbers(self.rows.texts(column))
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
        texts = self.rows.texts(column)
        values, note = cells.numbers(texts)
        if 2 * np.count_nonzero(np.isfinite(values)) < values.size:
            told, how = clock.seconds(texts)
            if np.count_nonzero(np.isfinite(told)) > np.count_nonzero(np.isfinite(values)):
                return told, f'Column "{self.names[column]}": {how}', True
        return values, f'Column "{self.names[column]}": {note}' if note else "", False


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
    return LogTable(name, found.names, found.units, found.titled, rows, notes)
