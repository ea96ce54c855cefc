"""Time and one reading a row, put in order: what is dropped, merged or refused, and said."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from baypulse.errors import LogError

Array = np.ndarray

FEWEST = 8
"""Rows that a log must have after cleaning."""

LONGEST_RUN = 3
"""Rows in a row that may be out of order; more are another flight or a clock that started anew."""

GAP = 1.0
"""A gap is longer than this time [s]."""

GAP_INTERVALS = 10.0
"""A gap is longer than so many usual intervals."""

RESOLUTION = 1e-9
"""Times closer than this [s] are one."""


@dataclass
class CleanedRows:
    """Rows that are being cleaned.

    Attributes
    ----------
    file : str
        For messages.
    time, values : ndarray, shape (n,)
        [s], and the reading in SI.
    lines : ndarray of int, shape (n,)
        Line of each row in the file.
    notes : list of str
        What was done, sentences.
    """

    file: str
    time: Array
    values: Array
    lines: Array
    notes: list[str]

    def drop(self, bad: Array, what: str) -> None:
        """Drop the rows where ``bad``, shape (n,) of bool, and say what they were."""
        count = int(np.count_nonzero(bad))
        if count:
            line = self.lines[np.argmax(bad)]
            where = f"line {line}" if count == 1 else f"first: line {line}"
            self.notes.append(f"{plural(count, 'row')} {what} dropped ({where}).")
            self.time, self.values, self.lines = (
                each[~bad] for each in (self.time, self.values, self.lines)
            )

    def demand(self, what: str) -> None:
        """Raise where fewer than :data:`FEWEST` rows are left."""
        if self.time.size < FEWEST:
            raise LogError(
                f"{self.file}: {plural(self.time.size, 'row')} with a time and {what}, and at "
                f"least {FEWEST} are needed; give the whole log"
            )


def order(readings: CleanedRows, what: str) -> None:
    """Make the times strictly increasing and report gaps.

    Parameters
    ----------
    readings : Readings
        Changed in place.
    what : str
        The reading with its article, for messages.

    Raises
    ------
    LogError
        Where time jumps back for good, or too few rows are left.
    """
    blank = ~(np.isfinite(readings.time) & np.isfinite(readings.values))
    readings.drop(blank, f"without a time or {what}")
    readings.demand(what)
    readings.drop(_out_of_order(readings), "out of order in time")
    _merge(readings)
    readings.demand(what)
    steps = np.diff(readings.time)
    gaps = np.flatnonzero((steps > GAP) & (steps > GAP_INTERVALS * np.median(steps)))
    if gaps.size:
        longest = gaps[np.argmax(steps[gaps])]
        readings.notes.append(
            f"{plural(gaps.size, 'gap')} in time, the longest {steps[longest]:.3g} s after line "
            f"{readings.lines[longest]}: between its ends the reading is taken as a straight line."
        )


def plural(count: int, noun: str) -> str:
    """Return "1 row" or "1,234 rows"."""
    return f"{count:,} {noun}" if count == 1 else f"{count:,} {noun}s"


def _out_of_order(readings: CleanedRows) -> Array:
    """Mark the few rows whose time does not fit between their neighbours, shape (n,) of bool."""
    time = readings.time
    most = max(LONGEST_RUN, time.size // 200)
    bad = np.zeros(time.size, dtype=bool)
    while True:
        kept = np.flatnonzero(~bad)
        t = time[kept]
        falls = np.flatnonzero(np.diff(t) < 0.0)
        if not falls.size:
            return bad
        if falls.size > most:
            raise _goes_back(readings, kept, int(falls[0]))
        touched = -1
        for i in map(int, falls):
            if i < touched:
                continue
            late, early = _run(t, i)
            run = kept[i + 1 : i + 1 + late] if late else kept[i + 1 - early : i + 1]
            bad[run] = True
            touched = i + LONGEST_RUN
            if not run.size or np.count_nonzero(bad) > most:
                raise _goes_back(readings, kept, i)


def _goes_back(readings: CleanedRows, kept: Array, i: int) -> LogError:
    """Return the error for a time that is less than that of the row ``kept[i]`` before it."""
    before, after = kept[i], kept[i + 1]
    return LogError(
        f"{readings.file}:{readings.lines[after]}: time goes back from {readings.time[before]:.6g} "
        f"s to {readings.time[after]:.6g} s; where the file holds two flights or tests, save each "
        "in a file of its own, and where the clock started anew, delete the rows before"
    )


def _run(t: Array, i: int) -> tuple[int, int]:
    """Return how many rows after a fall come too late, or before it too early; 0, 0 for neither."""
    for length in range(1, LONGEST_RUN + 1):
        after, before = i + 1 + length, i - length
        if after >= t.size or t[after] >= t[i]:
            return min(length, t.size - 1 - i), 0
        if before < 0 or t[before] <= t[i + 1]:
            return 0, min(length, i + 1)
    return 0, 0


def _merge(readings: CleanedRows) -> None:
    """Give rows of one time their mean."""
    starts = np.flatnonzero(np.concatenate(([True], np.diff(readings.time) > RESOLUTION)))
    merged = readings.time.size - starts.size
    if merged:
        counts = np.diff(np.append(starts, readings.time.size))
        readings.values = np.add.reduceat(readings.values, starts) / counts
        readings.time, readings.lines = readings.time[starts], readings.lines[starts]
        line = readings.lines[np.argmax(counts > 1)]
        which = "row has" if merged == 1 else "rows have"
        readings.notes.append(
            f"{merged:,} {which} the time of the row before, and their readings were averaged "
            f"(first: line {line})."
        )
