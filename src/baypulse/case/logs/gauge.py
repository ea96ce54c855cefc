"""A pressure gauge's readings: time and gauge pressure, cleaned, with everything said."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from baypulse.case.logs import columns, table, timing
from baypulse.case.logs.barometer import LEAST, MOST
from baypulse.case.logs.columns import LogColumn
from baypulse.case.logs.header_words import Unit
from baypulse.case.logs.readings import CleanedRows, order
from baypulse.errors import LogError

Array = np.ndarray

NO_AIR = 40_000.0
"""A log whose least reading is below this [Pa] is not absolute: no pad has so thin an air."""

VACUUM = -MOST
"""No gauge pressure is lower [Pa]."""

_REST_SHARE = 0.05
"""Share of the time, at the beginning or the end, in which a gauge may be at rest."""

_SAME = 0.01
"""The end of a shot may lie below its beginning by this share of the span."""

_STILL = 0.001
"""At rest the mean moves, from the earlier half to the later, by less than this share of the span.
A fall towards the air outside that goes on has then about two per cent left."""

_NOISE = 0.05
"""Single readings at rest may be lower by this share of the span."""

_FEWEST = 4
"""Readings at rest that are needed."""

_LEAST_SPAN = 500.0
"""A log that changes by less [Pa] shows no rest apart from the rest of it."""


@dataclass(frozen=True)
class Gauge:
    """What a pressure gauge saw.

    Attributes
    ----------
    time : ndarray, shape (n,)
        As in the file, strictly increasing [s].
    pressure : ndarray, shape (n,)
        Above the air outside [Pa].
    notes : tuple of str
        What was guessed and what was cleaned, sentences.
    rows : int
        Rows of data in the file, before cleaning.
    name : str
        Name of the file.
    """

    time: Array
    pressure: Array
    notes: tuple[str, ...]
    rows: int
    name: str


def read_gauge(file: str | Path, *, time: str | None = None, pressure: str | None = None) -> Gauge:
    """Read a gauge's table.

    Parameters
    ----------
    file : str or Path
        Any reasonable CSV file.
    time, pressure : str, optional
        Names of columns, alone or with a unit, such as ``"P [psig]"``; else guessed from the
        header.

    Returns
    -------
    Gauge

    Raises
    ------
    LogError
        Where the file cannot be read or understood; the sentence says what to do.
    """
    readings, column, unit, rows = _readings(file, time, pressure)
    above = _above_air(readings, column, unit)
    lowest = int(np.argmin(above))
    if above[lowest] < VACUUM:
        raise LogError(
            f"{readings.file}:{readings.lines[lowest]}: a gauge pressure of "
            f"{above[lowest] / 1000.0:.4g} kPa is below vacuum; name the column with its unit, as "
            f"in {column.asked_as('psig')}"
        )
    return Gauge(readings.time, above, tuple(readings.notes), rows, Path(file).name)


def read_barometer(
    file: str | Path, *, time: str | None = None, pressure: str | None = None
) -> Gauge:
    """Read the barometer of an electronics bay, as the change since its first reading.

    Parameters
    ----------
    file, time, pressure
        As of :func:`read_gauge`; whether the column is absolute does not matter.

    Raises
    ------
    LogError
        Where the file cannot be read or understood; the sentence says what to do.
    """
    readings, column, unit, rows = _readings(file, time, pressure)
    readings.notes.append(
        f'Pressure is column "{column.header}", in {unit.name}; its change alone is taken.'
    )
    change = readings.values - readings.values[0]
    return Gauge(readings.time, change, tuple(readings.notes), rows, Path(file).name)


def _readings(
    file: str | Path, time: str | None, pressure: str | None
) -> tuple[CleanedRows, LogColumn, Unit, int]:
    """Read times and pressures in order, with column and unit, and the rows there were."""
    found = table.read(file)
    seconds, notes = timing.seconds(found, time, logger=False)
    column = (
        columns.named(found, "pressure", pressure)
        if pressure
        else columns.guessed(found, "pressure")
    )
    if column is None:
        raise columns.missing(found, "pressure", "pressure")
    values, note = found.numbers(column.index)
    if column.unit is None:
        raise LogError(
            f'{found.file}: column "{column.header}" names no unit; name it with its unit, as in '
            f"{column.asked_as('psig')} or {column.asked_as('kPa gauge')}"
        )
    notes = [*found.notes, *notes, *([note] if note else [])]
    readings = CleanedRows(found.file, seconds, column.unit.factor * values, found.lines, notes)
    order(readings, "a pressure")
    return readings, column, column.unit, found.lines.size


def _above_air(readings: CleanedRows, column: LogColumn, unit: Unit) -> Array:
    """Return the readings above the air outside [Pa], and say how that was known."""
    values = readings.values
    least = float(np.min(values))
    if unit.state == "gauge" or (not unit.state and least < NO_AIR):
        how = "" if unit.state else ", taken as gauge, since an absolute one is never so low"
        readings.notes.append(f'Pressure is column "{column.header}", in {unit.text}{how}.')
        return values
    if unit.state == "abs" and least < 0.0:
        line = readings.lines[np.argmin(values)]
        raise LogError(
            f"{readings.file}:{line}: an absolute pressure of {least / 1000.0:.4g} kPa is below "
            f"vacuum; if it is a gauge's, name the column {column.asked_as(unit.name + ' gauge')}"
        )
    rest = _at_rest(readings)
    if rest is None:
        gauge = column.asked_as(f"{unit.name} gauge")
        if unit.state:
            raise LogError(
                f'{readings.file}: column "{column.header}" is absolute ({unit.text}), and the log '
                "has no stretch at rest that gives the pressure of the air outside; subtract that "
                f"pressure and name the column {gauge}"
            )
        raise LogError(
            f'{readings.file}: column "{column.header}" ({unit.name}) does not say gauge or '
            f"absolute; name it {gauge}, or subtract the pressure of the air outside first"
        )
    sure = "is absolute" if unit.state else "is taken as absolute, since it rests near 1 bar"
    readings.notes.append(
        f'Pressure is column "{column.header}", in {unit.text}; it {sure}, and the '
        f"{rest / 1000.0:.4g} kPa at rest were subtracted."
    )
    return values - rest


def _at_rest(readings: CleanedRows) -> float | None:
    """Return the pressure of the air outside [Pa] where the log shows it, else None.

    That is the beginning, if nothing later is lower (a shot, or a bay that is pumped up later), or
    else the end, if it is flat. A fall that still goes on at the end is not flat, and a bay that
    was held under pressure is not the lower end.
    """
    time, values = readings.time, readings.values
    span = float(np.ptp(values))
    length = _REST_SHARE * (time[-1] - time[0])
    begin, end = values[time <= time[0] + length], values[time >= time[-1] - length]
    first, last = float(begin.mean()), float(end.mean())
    rest, held = (first, begin) if first <= last + _SAME * span else (last, end)
    level = LEAST <= rest <= MOST and rest <= np.min(values) + _NOISE * span
    if not level or span < _LEAST_SPAN or held.size < _FEWEST:
        return None
    half = held.size // 2
    drift = abs(float(held[:half].mean() - held[half:].mean()))
    # standard error of that drift, from neighbours, which a slow change hardly parts
    error = float(np.std(np.diff(held))) / np.sqrt(half)
    if held is begin:
        still = drift <= _STILL * span + 3.0 * error
    else:
        still = drift <= _STILL * span and error <= _STILL * span
    return rest if still else None
