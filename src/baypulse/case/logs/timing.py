"""The column of times, in seconds."""

from __future__ import annotations

import re

import numpy as np

from baypulse.case.logs import columns, header_words
from baypulse.case.logs.table import LogTable
from baypulse.case.quantities import digits
from baypulse.errors import LogError

Array = np.ndarray

LOGGER_INTERVAL = 2.0
"""A flight logger's usual interval is shorter [s]; whole numbers farther apart are milliseconds."""


def seconds(table: LogTable, asked: str | None, *, logger: bool) -> tuple[Array, list[str]]:
    """Choose the column of times and read it.

    Parameters
    ----------
    table : LogTable
    asked : str or None
        Name of the column; None to guess it.
    logger : bool
        Whether a flight logger wrote it, so that times far apart must be milliseconds.

    Returns
    -------
    times : ndarray, shape (n,)
        [s], NaN where a cell is no time.
    notes : list of str
        Which column was read, and how.

    Raises
    ------
    LogError
        Where there is no such column, or more than one.
    """
    column = columns.named(table, "time", asked) if asked else columns.guessed(table, "time")
    if column is None:
        raise columns.missing(table, "time", "altitude" if logger else "pressure")
    values, note, in_seconds = table.times(column.index)
    if in_seconds:
        return values, [note]
    bracket = re.search(r"[(\[]\s*([^)\]]*?)\s*[)\]]", column.header)
    if bracket and header_words.CLOCK_FORMAT.fullmatch(bracket.group(1)):
        raise LogError(
            f'{table.file}: column "{column.header}" says "{bracket.group(1)}", and its cells are '
            f"no clocks; name it with its unit, as in {column.asked_as('s')}"
        )
    said = [note] if note else []
    if column.unit is not None:
        return values * column.unit.factor, [
            f'Time is column "{column.header}", in {column.unit.name}.', *said
        ]  # fmt: skip
    known = values[np.isfinite(values)]
    interval = float(np.median(np.abs(np.diff(known)))) if known.size > 1 else 0.0
    if logger and interval > LOGGER_INTERVAL and not np.any(known % 1.0):
        return 1e-3 * values, [
            f'Time is column "{column.header}"; it names no unit and was read in ms, since its '
            f"rows are {digits(interval)} apart (else name it {column.asked_as('s')}).", *said
        ]  # fmt: skip
    return values, [
        f'Time is column "{column.header}"; it names no unit and was read in s (else name it '
        f"{column.asked_as('ms')}).", *said
    ]  # fmt: skip
