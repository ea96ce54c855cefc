"""A video's positions or velocities against time: a few points, or a whole table."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from baypulse import units
from baypulse.errors import LogError, UnitError
from baypulse.logs import table, timing
from baypulse.logs.table import Table
from baypulse.spelling import near

Array = np.ndarray

FEWEST = 3
"""Points that are needed: one more than a straight line."""

_WORDS = {
    "position": {"position", "pos", "travel", "distance", "displacement", "gap", "opening", "x"},
    "velocity": {"velocity", "vel", "speed", "v"},
}
_KINDS = {"position": "length", "velocity": "velocity"}


@dataclass(frozen=True)
class Travel:
    """How sections part.

    Attributes
    ----------
    kind : str
        ``"position"`` or ``"velocity"``.
    time : ndarray, shape (n,)
        As in the file, strictly increasing [s].
    values : ndarray, shape (n,)
        [m] or [m/s].
    notes : tuple of str
        What was guessed and dropped, sentences.
    name : str
        Name of the file.
    """

    kind: str
    time: Array
    values: Array
    notes: tuple[str, ...]
    name: str


def read_travel(file: str | Path, *, time: str | None = None, column: str | None = None) -> Travel:
    """Read a table of positions or velocities.

    Parameters
    ----------
    file : str or Path
        Any reasonable CSV file.
    time, column : str, optional
        Names of columns, alone or with a unit, such as ``"gap [mm]"``; else guessed from the
        header.

    Raises
    ------
    LogError
        Where the file cannot be read or understood; the sentence says what to do.
    """
    found = table.read(file)
    seconds, notes = timing.seconds(found, time, logger=False)
    index, kind, unit = _column(found, column)
    values, note = found.numbers(index)
    values = values * units.parse(f"1 {unit}", _KINDS[kind])
    notes = [*found.notes, *notes, *([note] if note else [])]
    notes.append(f'{kind.capitalize()} is column "{found.names[index]}", in {unit}.')
    good = np.isfinite(seconds) & np.isfinite(values)
    if not good.all():
        notes.append(
            f"{int((~good).sum())} rows without a time or a {kind} dropped (first: line "
            f"{found.lines[int(np.argmin(good))]})."
        )
    if int(good.sum()) < FEWEST:
        raise LogError(
            f"{found.file}: {int(good.sum())} rows with a time and a {kind}, and at least "
            f"{FEWEST} are needed; for a single velocity use --shot"
        )
    seconds, values, lines = seconds[good], values[good], found.lines[good]
    back = np.flatnonzero(np.diff(seconds) <= 0.0)
    if back.size:
        raise LogError(
            f"{found.file}:{lines[back[0] + 1]}: the time does not go on: "
            f"{seconds[back[0] + 1]:.6g} s after {seconds[back[0]]:.6g} s; sort the rows, and "
            "give each moment once"
        )
    return Travel(kind, seconds, values, tuple(notes), Path(file).name)


def _column(found: Table, asked: str | None) -> tuple[int, str, str]:
    """Return the column, its kind, and its unit."""
    if asked is not None:
        return _asked(found, asked)
    candidates = []
    for index, header in enumerate(found.names):
        name, unit = _split(header, found.units[index])
        words = set(re.findall(r"[a-z]+", name.lower()))
        for kind, known in _WORDS.items():
            if words & known and _fits(unit, kind):
                candidates.append((index, kind, unit))
    if len(candidates) == 1:
        return candidates[0]
    listed = ", ".join(f'"{name}"' for name in found.names[:12])
    if candidates:
        raise LogError(
            f"{found.file}: more than one column is a position or a velocity; the columns are "
            f'{listed}: say which with --motion-column "{found.names[candidates[0][0]]}"'
        )
    raise LogError(
        f"{found.file}: no header names a position or a velocity with its unit; the columns are "
        f'{listed}: name the right one, as in --motion-column "{found.names[-1]} [mm]"'
    )


def _asked(found: Table, asked: str) -> tuple[int, str, str]:
    """Return the column that was asked for by its name, alone or with a unit in brackets."""
    wanted, given = _split(asked, "")
    names = [_split(header, "")[0].lower() for header in found.names]
    whole = [header.lower() for header in found.names]
    number = re.fullmatch(r"column (\d{1,4})", wanted.lower())
    index = next((k for k, name in enumerate(whole) if name == asked.strip().lower()), None)
    if index is None:
        index = next((k for k, name in enumerate(names) if name == wanted.lower()), None)
    if index is None and number and 1 <= int(number.group(1)) <= len(names):
        index = int(number.group(1)) - 1
    if index is None:
        close = near(wanted, found.names)
        listed = ", ".join(f'"{name}"' for name in found.names[:12])
        hint = f'did you mean "{close}"?' if close else "give one of these"
        raise LogError(f'{found.file}: no column "{wanted}"; the columns are {listed}: {hint}')
    unit = given or _split(found.names[index], found.units[index])[1]
    kind = next((kind for kind in _KINDS if _fits(unit, kind)), None)
    if kind is None:
        raise LogError(
            f'{found.file}: column "{asked}" names no unit of a length or a velocity; write it as '
            f'in "{wanted} [mm]" or "{wanted} [m/s]"'
        )
    return index, kind, unit


def _split(header: str, below: str) -> tuple[str, str]:
    """Take a header apart into name and unit: ``"gap (mm)"``, ``"x_mm"``, ``"speed m/s"``."""
    bracket = re.fullmatch(r"\s*(.*?)\s*[(\[]\s*([^)\]]*?)\s*[)\]]\s*", header)
    if bracket:
        return bracket.group(1), bracket.group(2)
    name, _, last = re.sub(r"_", " ", header.strip()).rpartition(" ")
    if name and any(_fits(last, kind) for kind in _KINDS):
        return name, last
    return header.strip(), below.strip("()[] ")


def _fits(unit: str, kind: str) -> bool:
    if not unit:
        return False
    try:
        units.parse(f"1 {unit}", _KINDS[kind])
    except UnitError:
        return False
    return True
