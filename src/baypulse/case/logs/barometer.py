"""The unit of a barometer's column, held against what a barometer shows on the pad."""

from __future__ import annotations

import math

from baypulse.case.logs import header_words
from baypulse.case.logs.columns import LogColumn
from baypulse.case.logs.header_words import Unit
from baypulse.errors import LogError

LEAST = 50_000.0
"""Least absolute pressure that the air has where rockets are launched [Pa], at 5.5 km."""

MOST = 110_000.0
"""Greatest absolute pressure that the air has where rockets are launched [Pa]."""

_UNITS = ("Pa", "hPa", "kPa", "bar", "psi", "mmHg", "inHg")

_NEAR = 0.13
"""A first reading so near (as a logarithm) to the pad's pressure fits a unit: half of what lies
between millimetres of mercury and hectopascals, and four times what weather does."""


def absolute_unit(file: str, column: LogColumn, first: float, expected: float) -> tuple[Unit, str]:
    """Return the unit of an absolute pressure, and a sentence that says it.

    Parameters
    ----------
    file : str
        For messages.
    column : LogColumn
    first : float
        First reading, in the unit of the file.
    expected : float
        Pressure of the standard atmosphere at the pad [Pa].

    Raises
    ------
    LogError
        Where the column is a gauge pressure, names no unit that its readings tell, or does not
        begin at a pressure of the open air.
    """
    fits = [
        unit for unit in map(_unit, _UNITS)
        if first > 0.0 and abs(math.log(first * unit.factor / expected)) < _NEAR
    ]  # fmt: skip
    unit = column.unit
    if unit is None:
        if len(fits) != 1:
            raise LogError(
                f'{file}: column "{column.header}" names no unit, and its first reading, '
                f"{first:.6g}, does not tell it; name it with its unit, as in "
                f"{column.asked_as('hPa')}, and give the pad's altitude"
            )
        return fits[0], (
            f'Pressure is column "{column.header}"; it names no unit and was read in '
            f"{fits[0].name}, since it begins at {first:.6g}."
        )
    if unit.state == "gauge":
        raise LogError(
            f'{file}: column "{column.header}" is a gauge pressure ({unit.text}); a flight needs '
            f"an absolute one: if it is absolute, name it {column.asked_as(unit.name + ' abs')}"
        )
    if not LEAST <= first * unit.factor <= MOST:
        better = f"; {column.asked_as(fits[0].name)} would fit the pad" if fits else ""
        raise LogError(
            f'{file}: column "{column.header}", read in {unit.name}, begins at '
            f"{first * unit.factor / 1000.0:.4g} kPa, and the air on a pad has "
            f"{LEAST / 1000.0:.0f} to {MOST / 1000.0:.0f} kPa abs; name the column with its "
            f"unit{better}"
        )
    return unit, f'Pressure is column "{column.header}", in {unit.name}, taken as absolute.'


def _unit(name: str) -> Unit:
    unit = header_words.unit(name, "pressure")
    assert unit is not None
    return unit
