"""What a logged altitude says about itself: readings and units that no rocket can have."""

from __future__ import annotations

import numpy as np

from baypulse.case.logs.readings import CleanedRows, plural
from baypulse.constants import STANDARD_GRAVITY
from baypulse.errors import LogError

Array = np.ndarray

FASTEST = 2000.0
"""No rocket of this kind climbs or falls faster [m/s]."""

SPIKE = 20.0
"""A spike stands out by more [m], so that a fast logger's noise is none."""

STRETCH = 1.0
"""Time [s] over which an impossible speed is no accident; a quarter of a shorter log."""

FOOT = 0.3048
"""[m]."""

_BEFORE_TOP = 2.5  # s: the end of the coast, where drag is small beside gravity
_LEAST_CLIMB = 30.0  # m


def drop_spikes(readings: CleanedRows, altitude: Array, ended: bool) -> Array:
    """Drop single readings that both neighbours call impossible.

    Parameters
    ----------
    readings : Readings
        In order; changed in place.
    altitude : ndarray, shape (n,)
        [m].
    ended : bool
        Whether the file's last row ends with a line feed; else its last number may be cut.

    Returns
    -------
    ndarray
        The altitudes that are left.
    """
    speed = np.diff(altitude) / np.diff(readings.time)
    before, after = speed[:-1], speed[1:]
    # a spike's neighbours agree with each other
    across = (altitude[2:] - altitude[:-2]) / (readings.time[2:] - readings.time[:-2])
    out = np.abs(altitude[1:-1] - 0.5 * (altitude[2:] + altitude[:-2])) > SPIKE
    bad = np.zeros(altitude.size, dtype=bool)
    bad[1:-1] = (
        (np.abs(before) > FASTEST) & (np.abs(after) > FASTEST) & (before * after < 0.0)
        & (np.abs(across) < FASTEST) & out
    )  # fmt: skip
    bad[0] = abs(speed[0]) > FASTEST > abs(speed[1]) and abs(altitude[1] - altitude[0]) > SPIKE
    kept = altitude[~bad]
    readings.drop(bad, f"more than {FASTEST:.0f} m/s away from both neighbours")
    cut = abs(speed[-1]) > FASTEST > abs(speed[-2]) and abs(altitude[-1] - altitude[-2]) > SPIKE
    if cut:
        last = np.arange(kept.size) == kept.size - 1
        why = "at the end of the file" if ended else "that breaks off at the end of the file"
        readings.drop(last, f"{why}, more than {FASTEST:.0f} m/s away from the one before,")
        kept = kept[:-1]
    return kept


def refuse_impossible(readings: CleanedRows, altitude: Array, remedy: str) -> None:
    """Raise where the rocket would be impossibly fast for a whole stretch.

    Parameters
    ----------
    readings : Readings
        In order.
    altitude : ndarray, shape (n,)
        [m].
    remedy : str
        How to give the column in feet, in quotes; empty where that is no remedy.
    """
    steps = np.diff(readings.time)
    speed = np.diff(altitude) / steps
    rows = int(np.clip(round(STRETCH / np.median(steps)), 3, max(3, speed.size // 4)))
    for sign in (1.0, -1.0):
        fast = np.concatenate(([0], np.cumsum(sign * speed > FASTEST)))
        full = np.flatnonzero(fast[rows:] - fast[:-rows] >= 0.8 * rows)
        if full.size:
            i = int(full[0])
            begin, end = readings.time[i], readings.time[i + rows]
            climb = (altitude[i + rows] - altitude[i]) / (end - begin)
            raise LogError(
                f"{readings.file}:{readings.lines[i]}: from {begin:.5g} s to "
                f"{end:.5g} s the altitude changes by "
                f"{abs(climb):.0f} m/s, which no rocket does; {_advice(abs(climb), remedy)}"
            )
    jumps = np.flatnonzero((np.abs(speed) > FASTEST) & (np.abs(speed) * steps > SPIKE))
    if jumps.size:
        first = readings.lines[jumps[0] + 1]
        readings.notes.append(
            f"{plural(jumps.size, 'step')} of more than {FASTEST:.0f} m/s, from which the rows "
            f"after do not return at once; no speed is taken of them (first: line {first})."
        )


def gravity_in_feet(time: Array, altitude: Array) -> bool:
    """Tell whether the last seconds before the top bend as gravity does in feet.

    A rocket that coasts to its top slows down by gravity and little else, whatever it is. Where
    the altitude, taken in metres, is in feet, that is 32 in place of 9.8.

    Parameters
    ----------
    time : ndarray, shape (n,)
        Strictly increasing [s].
    altitude : ndarray, shape (n,)
        As read [m].
    """
    top = int(np.argmax(altitude))
    last = slice(int(np.searchsorted(time, time[top] - _BEFORE_TOP)), top + 1)
    enough = top + 1 - last.start >= 10 and time[top] - time[last.start] > 0.5 * _BEFORE_TOP
    if not enough or altitude[top] - altitude[0] < _LEAST_CLIMB / FOOT:
        return False
    bend = -2.0 * np.polyfit(time[last] - time[top], altitude[last], 2)[0]
    return abs(bend * FOOT / STANDARD_GRAVITY - 1.0) < 0.15


def _advice(speed: float, remedy: str) -> str:
    """Return what to do about an impossible speed."""
    time = "check the unit of the time too"
    if not remedy:
        return f"check the unit of the altitude, and {time}"
    feet = speed * FOOT
    if feet > FASTEST:
        return f"in feet (a factor of 3.28) it would be {feet:.0f} m/s, still too fast: {time}"
    return (
        f"if the altitude is in feet, taken here for metres (a factor of 3.28), it is {feet:.0f} "
        f"m/s: name the column {remedy}"
    )
