"""A flight as a logger saw it: time, pressure and altitude, cleaned, with everything said."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from baypulse.case.logs import (
    air,
    barometer,
    columns,
    header_words,
    motion,
    remarks,
    table,
    timing,
)
from baypulse.case.logs.columns import LogColumn
from baypulse.case.logs.header_words import Unit, kinds, reference
from baypulse.case.logs.own_speed import own_speed
from baypulse.case.logs.readings import CleanedRows, order
from baypulse.case.logs.table import LogTable
from baypulse.case.quantities import show
from baypulse.errors import LogError

Array = np.ndarray

METRE = Unit("m", 1.0)
"""The unit of an altitude that names none."""

AT_ZERO = 30.0
"""A first reading so near to zero is above the pad [m]."""

AT_PAD = 300.0
"""A first reading so near to the pad's altitude is above the sea [m]."""

MOST_OUTSIDE = 0.2
"""Share of the rows that may lie outside the atmosphere before the unit is doubted."""

_AT_REST = 0.5
"""The first readings are those of this time [s]."""


@dataclass(frozen=True)
class Flight:
    """A flight as a logger saw it.

    Attributes
    ----------
    time : ndarray, shape (n,)
        As in the file, strictly increasing [s].
    pressure : ndarray, shape (n,)
        Absolute [Pa].
    altitude : ndarray, shape (n,)
        Above sea level [m]; where a pressure was read, the standard atmosphere's.
    notes : tuple of str
        What was guessed and what was cleaned, sentences.
    rows : int
        Rows of data in the file, before cleaning.
    name : str
        Name of the file.
    speed : ndarray, shape (n,), or None
        Of the climb by the logger itself [m/s], NaN where it has none; None without any.
    """

    time: Array
    pressure: Array
    altitude: Array
    notes: tuple[str, ...]
    rows: int
    name: str
    speed: Array | None = None


def read_flight(
    file: str | Path,
    *,
    time: str | None = None,
    altitude: str | None = None,
    pressure: str | None = None,
    pad_altitude: float = 0.0,
) -> Flight:
    """Read a flight from a logger's table.

    Parameters
    ----------
    file : str or Path
        Any reasonable CSV file.
    time, altitude, pressure : str, optional
        Names of columns, alone or with a unit, such as ``"Alt [ft]"``; else guessed from the
        header. A pressure is preferred to an altitude, since it is what the bay feels.
    pad_altitude : float
        Altitude of the pad above sea level [m].

    Returns
    -------
    Flight

    Raises
    ------
    LogError
        Where the file cannot be read or understood; the sentence says what to do.
    """
    found = table.read(file)
    seconds, notes = timing.seconds(found, time, logger=True)
    notes = [*found.notes, *notes]
    column, by_pressure = _source(found, altitude, pressure, pad_altitude, notes)
    where = ""
    if not by_pressure and column.unit is None:
        name, where = remarks.altitude_unit(found)
        column = replace(column, unit=header_words.unit(name, "altitude")) if name else column
    values, note = found.numbers(column.index)
    notes += [note] if note else []
    readings = CleanedRows(found.file, seconds, values, found.lines, notes)
    if by_pressure:
        heights, pressures = _by_pressure(readings, column, pad_altitude, found.rows.ended)
    else:
        heights, pressures = _by_altitude(readings, column, where, pad_altitude, found.rows.ended)
    own = own_speed(found, readings.time, heights, readings.lines)
    notes += [own.note] if own else []
    return Flight(
        readings.time, pressures, heights, tuple(notes), found.lines.size, Path(file).name,
        own.values if own else None,
    )  # fmt: skip


def _source(
    found: LogTable, altitude: str | None, pressure: str | None, pad: float, notes: list[str]
) -> tuple[LogColumn, bool]:
    """Return the column to read, and whether it is a pressure; the pressure where both are."""
    barometric = columns.named(found, "pressure", pressure) if pressure else None
    geometric = columns.named(found, "altitude", altitude) if altitude else None
    if barometric is None and geometric is None:
        barometric = columns.guessed(found, "pressure")
        if barometric is not None and not _atmospheric(found, barometric, pad):
            # a pressure that is not the air's (a motor's) counts only where there is no altitude
            geometric = columns.guessed(found, "altitude")
            if geometric is not None:
                notes.append(
                    f'Column "{barometric.header}" does not begin at the pressure of the air on '
                    "the pad and was left aside."
                )
                return geometric, False
    if barometric is None:
        geometric = geometric or columns.guessed(found, "altitude")
        if geometric is None:
            raise columns.missing(found, "altitude", "altitude")
        return geometric, False
    if geometric is not None or any("altitude" in kinds(name) for name in found.names):
        notes.append(
            "The file has a pressure and an altitude: the pressure was taken, since it is what "
            "the bay feels."
        )
    return barometric, True


def _atmospheric(found: LogTable, column: LogColumn, pad: float) -> bool:
    """Tell whether a column begins at the pressure of the air on the pad."""
    values = found.numbers(column.index)[0]
    known = values[np.isfinite(values)]
    try:
        barometer.absolute_unit(found.file, column, _first(known), _expected(pad))
    except LogError:
        return False
    return True


def _by_pressure(
    readings: CleanedRows, column: LogColumn, pad: float, ended: bool
) -> tuple[Array, Array]:
    """Clean a barometer's readings; return altitudes [m] and pressures [Pa]."""
    known = readings.values[np.isfinite(readings.values)]
    unit, said = barometer.absolute_unit(readings.file, column, _first(known), _expected(pad))
    readings.notes.append(said)
    readings.values = unit.factor * readings.values
    with np.errstate(invalid="ignore"):
        outside = np.isfinite(readings.values) & ~np.isfinite(air.altitudes(readings.values))
    _drop_outside(readings, outside, "pressure", column, unit)
    order(readings, "a pressure")
    heights = motion.drop_spikes(readings, air.altitudes(readings.values), ended)
    readings.demand("a pressure")
    motion.refuse_impossible(readings, heights, "")
    start = _start(readings.time, heights)
    if abs(start - pad) > AT_PAD:
        readings.notes.append(
            f"By its pressure the log begins at {_height(start)} above sea level, and the pad is "
            f"at {_height(pad)}: check the pad's altitude."
        )
    return heights, readings.values


def _by_altitude(
    readings: CleanedRows, column: LogColumn, where: str, pad: float, ended: bool
) -> tuple[Array, Array]:
    """Clean an altimeter's readings; return altitudes [m] and pressures [Pa]."""
    unit = column.unit or METRE
    readings.notes.append(
        f'Altitude is column "{column.header}"; it names no unit and was read in {unit.name}, '
        f"since {where}."
        if where
        else f'Altitude is column "{column.header}", in {unit.name}.'
        if column.unit
        else f'Altitude is column "{column.header}"; it names no unit and was read in m (else '
        f"name it {column.asked_as('ft')})."
    )
    readings.values = unit.factor * readings.values
    with np.errstate(invalid="ignore"):
        outside = (readings.values < air.LOWEST) | (readings.values > air.HIGHEST - max(pad, 0.0))
    _drop_outside(readings, outside, "altitude", column, unit)
    order(readings, "an altitude")
    heights = motion.drop_spikes(readings, readings.values, ended)
    readings.demand("an altitude")
    feet = column.asked_as("ft") if unit.name == "m" else ""
    motion.refuse_impossible(readings, heights, feet)
    if unit.name == "m" and motion.gravity_in_feet(readings.time, heights):
        told = (
            "before the top the altitude, read in m, slows down as gravity does in feet (a factor "
            f"of 3.28): name the column {feet} if it is in feet"
        )
        if column.unit is None:
            raise LogError(f"{readings.file}: {told}, or {column.asked_as('m')} if it is not")
        readings.notes.append(f"{told[0].upper()}{told[1:]}.")
    start = _start(readings.time, heights)
    above = _reference(readings.file, column, unit, start, pad)
    if above == "pad":
        heights = heights + pad
        readings.notes.append(
            f"Altitudes begin at {_height(start)} and are above the pad, which is "
            f"{_height(pad)} above sea level."
        )
    else:
        readings.notes.append(f"Altitudes begin at {_height(start)} and are above sea level.")
    return heights, air.pressures(heights)


def _reference(file: str, column: LogColumn, unit: Unit, start: float, pad: float) -> str:
    """Return what the altitudes are above, ``"pad"`` or ``"sea"``."""
    said = reference(column.header)
    at_zero, at_pad = abs(start) <= AT_ZERO, abs(start - pad) <= AT_PAD
    if at_zero and said != "sea":
        return "pad"
    if said == "sea" or (at_pad and said != "pad"):
        return "sea"
    hint = ""
    for name, factor in (("ft", motion.FOOT), ("m", 1.0)):
        other = start / unit.factor * factor
        if abs(factor / unit.factor - 1.0) > 0.1 and abs(other - pad) <= AT_PAD:
            hint = f", or name the column {column.asked_as(name)}, which would fit the pad"
    what = "above the pad" if said else "above the pad (it would begin near 0) nor above sea level"
    raise LogError(
        f"{file}: the altitude begins at {_height(start)} and is {'not' if said else 'neither'} "
        f"{what}, with the pad at {_height(pad)}; give the pad's altitude above sea level{hint}"
    )


def _drop_outside(
    readings: CleanedRows, outside: Array, what: str, column: LogColumn, unit: Unit
) -> None:
    """Drop readings that the atmosphere does not have; many of them are a wrong unit."""
    count = np.count_nonzero(outside)
    if count > MOST_OUTSIDE * outside.size:
        line = readings.lines[np.argmax(outside)]
        value = readings.values[np.argmax(outside)] / unit.factor
        raise LogError(
            f"{readings.file}:{line}: {value:.6g} {unit.name} and {count - 1:,} "
            f"other readings of the {what} are not between -2 km and 80 km of altitude; name the "
            f"column with its unit, as in {column.asked_as('ft' if what == 'altitude' else 'hPa')}"
        )
    readings.drop(outside, f"whose {what} is outside that of the air from -2 km to 80 km")


def _first(known: Array) -> float:
    """Return the middle of the first readings, NaN without any."""
    return float(np.median(known[:5])) if known.size else np.nan


def _start(time: Array, heights: Array) -> float:
    """Return the altitude at rest, from the first half second."""
    return float(np.median(heights[time <= time[0] + _AT_REST]))


def _expected(pad: float) -> float:
    """Return the pressure of the standard atmosphere at the pad [Pa]."""
    return float(air.pressures(np.array(pad)))


def _height(value: float) -> str:
    """Write an altitude in both units."""
    return show(value, "length", ("m", "ft"))
