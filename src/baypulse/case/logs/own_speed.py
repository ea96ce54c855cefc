"""A logger's own speed of the climb, taken where its sum is the height that was climbed."""

from __future__ import annotations

import re
from dataclasses import dataclass

import numpy as np

from baypulse.case import units
from baypulse.case.logs.table import LogTable
from baypulse.constants import STANDARD_GRAVITY
from baypulse.errors import LogError, UnitError

Array = np.ndarray

AGREES = 0.15
"""The sum of the speed may differ from the height climbed by this share; our choice: a speed in
the wrong unit is off by a factor of 1.5 or more."""

PORT_ERROR = 0.25
"""Error of the bay's pressure, as a share of the dynamic pressure, where a log ends near or above
Mach 1; from memory: a shock near a port is worth a few tenths of the dynamic pressure."""

BEFORE = 1.0
"""The sum begins this time before the launch is seen [s]."""

_WORDS = {"speed", "velocity", "vel", "vx", "vz", "v"}
_OTHERS = {
    "lateral", "horizontal", "ground", "wind", "angular", "gps", "gnss", "sound", "acceleration",
    "max", "maximum", "std", "error", "rotation", "roll",
}  # fmt: skip
_SPELLINGS = {"fps": "ft/s", "mps": "m/s", "ft/sec": "ft/s", "m/sec": "m/s", "kph": "km/h"}
_USUAL = ("m/s", "ft/s")
"""What a column without a unit may be in, the likelier first."""


@dataclass(frozen=True)
class OwnSpeed:
    """A column of speeds.

    Attributes
    ----------
    values : ndarray, shape (n,)
        For every row that is used [m/s]; NaN where there is none.
    note : str
        Which column, and why it is believed.
    """

    values: Array
    note: str


def own_speed(table: LogTable, time: Array, altitude: Array, lines: Array) -> OwnSpeed | None:
    """Return the logger's own speed, or None where no column's sum is the height climbed.

    Parameters
    ----------
    table : LogTable
    time, altitude : ndarray, shape (n,)
        Of the rows that are used [s], [m].
    lines : ndarray of int, shape (n,)
        Their lines in the file.
    """
    launch, top = window(time, altitude)
    rows = np.searchsorted(table.lines, lines)
    best: tuple[float, OwnSpeed] | None = None
    for index, header in enumerate(table.names):
        if not _is_speed(header):
            continue
        try:
            raw = table.numbers(index)[0][rows]
        except LogError:
            continue  # it is not asked for, and is left aside
        for unit in _units(header, table.units[index]):
            speed = raw * units.parse(f"1 {unit}", "velocity")
            miss = _miss(time, altitude, speed, launch, top)
            if miss is not None and (best is None or miss < best[0]):
                told = "in" if len(_units(header, table.units[index])) == 1 else "read in"
                note = (
                    f'The speed is the logger\'s own, column "{header}", {told} {unit}: its sum '
                    "over the ascent is the height climbed."
                )
                best = miss, OwnSpeed(speed, note)
    return None if best is None else best[1]


def window(time: Array, altitude: Array) -> tuple[int, int]:
    """Return about where a rocket leaves the pad and where it is highest, as rows.

    Running medians over half a second and a second: single wild readings do not count.

    Parameters
    ----------
    time, altitude : ndarray, shape (n,)
        [s], [m].
    """
    from scipy.ndimage import median_filter

    step = float(np.median(np.diff(time)))

    def calm(span: float) -> Array:
        width = 2 * min(round(0.5 * span / step), altitude.size // 8) + 1
        return np.asarray(median_filter(altitude, size=width, mode="nearest"))

    top = int(calm(1.0).argmax())
    rising = calm(0.5)
    above = np.flatnonzero(rising[: top + 1] > rising[0] + LAUNCHED)
    # pressure near Mach 1 falls back below the pad's: the first rise counts, unless it is a step
    # on the pad that lasts
    launch = int(above[0]) if above.size else 0
    return launch, top


LAUNCHED = 15.0
"""Height above the first readings above which a logged rocket is under way [m]; estimate."""


def _is_speed(header: str) -> bool:
    spaced = re.sub(r"(?<=[a-z])(?=[A-Z])", " ", header)
    words = set(re.findall(r"[^\W\d_]+", spaced.lower()))
    return bool(words & _WORDS) and not words & _OTHERS


def _units(header: str, below: str) -> tuple[str, ...]:
    """Return the unit of a header or of the row below it, else the usual ones."""
    bracket = re.search(r"[(\[]\s*([^)\]]*?)\s*[)\]]", header)
    last = re.split(r"[\s_]", header)[-1]
    for text in (bracket.group(1) if bracket else "", below, last):
        name = _SPELLINGS.get(text.lower(), text)
        try:
            units.parse(f"1 {name}", "velocity")
        except UnitError:
            continue
        return (name,)
    return _USUAL


def _miss(time: Array, altitude: Array, speed: Array, launch: int, top: int) -> float | None:
    """Return by how much the sum of a speed misses the height climbed, None where it is too much.

    Where the log ends before the top, its last altitude may be off by the error of the port,
    Cp v^2/(2 g).
    """
    first = int(np.searchsorted(time, time[launch] - BEFORE))
    there = first + np.flatnonzero(np.isfinite(speed[first : top + 1]))
    if there.size < 4:
        return None
    climbed = float(altitude[there[-1]] - altitude[first])
    summed = float(np.trapezoid(speed[there], time[there]))
    end = float(speed[there[-1]])
    allowed = AGREES * abs(climbed) + PORT_ERROR * end**2 / (2.0 * STANDARD_GRAVITY)
    miss = abs(summed - climbed)
    return miss if miss <= allowed else None
