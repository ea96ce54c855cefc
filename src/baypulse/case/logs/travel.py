"""How pieces move against time: a video's positions or velocities, a logger's acceleration."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from baypulse.case import units
from baypulse.case.logs import table, timing
from baypulse.case.logs.table import LogTable
from baypulse.constants import STANDARD_GRAVITY
from baypulse.errors import LogError, UnitError
from baypulse.spelling import near

Array = np.ndarray

FEWEST = 3
"""Points that are needed: one more than a straight line."""

_WORDS = {
    "position": {"position", "pos", "travel", "distance", "displacement", "gap", "opening", "x"},
    "velocity": {"velocity", "vel", "speed", "v"},
    "acceleration": {"acceleration", "accel", "acc", "a", "force"},
}
_KINDS = {"position": "length", "velocity": "velocity", "acceleration": "acceleration"}

_AXIAL = {"axial", "long", "longitudinal", "vertical", "up", "roll"}
"""Words that tell the axis of the rocket among several columns of acceleration."""

_OTHER_AXES = {"lateral", "lat", "side", "transverse", "total", "magnitude", "norm"}

GRAVITIES = ("g", "G", "gee", "gees", "gs")
"""How loggers write the acceleration of free fall."""

_LOGGED_AS = (
    dict.fromkeys(GRAVITIES, STANDARD_GRAVITY)
    | {"mg": 1e-3 * STANDARD_GRAVITY}
    | dict.fromkeys(("mps2", "mpss", "ms2", "ms-2", "m/s/s"), 1.0)
    | dict.fromkeys(("fps2", "ftps2", "ft/s/s"), 0.3048)
)
"""Units of acceleration as loggers write them, in m/s^2; a case file knows no g but the gram."""


@dataclass(frozen=True)
class Wanted:
    """What is looked for in a table.

    Attributes
    ----------
    kinds : tuple of str
        Keys of the words and units that are known here.
    option : str
        With which a column is named.
    example : str
        A unit, for messages.
    instead : str
        What to do with fewer points.
    """

    kinds: tuple[str, ...]
    option: str
    example: str
    instead: str

    @property
    def named(self) -> str:
        """The kinds in words."""
        articles = {"a": "an"}
        return " or ".join(f"{articles.get(kind[0], 'a')} {kind}" for kind in self.kinds)


TRAVEL = Wanted(("position", "velocity"), "--motion-column", "mm",
                "; for a single velocity use --shot")  # fmt: skip
ACCELERATION = Wanted(("acceleration",), "--acceleration-column", "g", "")


@dataclass(frozen=True)
class Travel:
    """How sections part.

    Attributes
    ----------
    kind : str
        ``"position"``, ``"velocity"`` or ``"acceleration"``.
    time : ndarray, shape (n,)
        As in the file, strictly increasing [s].
    values : ndarray, shape (n,)
        [m], [m/s] or [m/s^2].
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
    return _read(file, TRAVEL, time, column)


def read_acceleration(
    file: str | Path, *, time: str | None = None, column: str | None = None
) -> Travel:
    """Read a logger's table of acceleration along the rocket.

    Parameters
    ----------
    file, time, column
        As of :func:`read_travel`; a column such as ``"accel z [g]"``.

    Raises
    ------
    LogError
        Where the file cannot be read or understood; the sentence says what to do.
    """
    return _read(file, ACCELERATION, time, column)


def _read(file: str | Path, wanted: Wanted, time: str | None, column: str | None) -> Travel:
    """Read one column of a kind against time."""
    found = table.read(file)
    seconds, notes = timing.seconds(found, time, logger=False)
    index, kind, unit = _column(found, column, wanted)
    values, note = found.numbers(index)
    values = values * _factor(unit, kind)
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
            f"{FEWEST} are needed{wanted.instead}"
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


def _column(found: LogTable, asked: str | None, wanted: Wanted) -> tuple[int, str, str]:
    """Return the column, its kind, and its unit."""
    if asked is not None:
        return _asked(found, asked, wanted)
    candidates = []
    axial = []
    for index, header in enumerate(found.names):
        name, unit = _split(header, found.units[index], wanted)
        words = set(re.findall(r"[a-z]+", name.lower()))
        for kind in wanted.kinds:
            if words & _WORDS[kind] and not words & _OTHER_AXES and _fits(unit, kind):
                candidates.append((index, kind, unit))
                axial.append(bool(words & _AXIAL))
    if sum(axial) == 1:
        candidates = [candidates[axial.index(True)]]
    if len(candidates) == 1:
        return candidates[0]
    listed = ", ".join(f'"{name}"' for name in found.names[:12])
    if candidates:
        raise LogError(
            f"{found.file}: more than one column is {wanted.named}; the columns are "
            f'{listed}: say which with {wanted.option} "{found.names[candidates[0][0]]}"'
        )
    raise LogError(
        f"{found.file}: no header names {wanted.named} with its unit; the columns are "
        f'{listed}: name the right one, as in {wanted.option} "{found.names[-1]} '
        f'[{wanted.example}]"'
    )


def _asked(found: LogTable, asked: str, wanted: Wanted) -> tuple[int, str, str]:
    """Return the column that was asked for by its name, alone or with a unit in brackets."""
    bare, given = _split(asked, "", wanted)
    names = [_split(header, "", wanted)[0].lower() for header in found.names]
    whole = [header.lower() for header in found.names]
    number = re.fullmatch(r"column (\d{1,4})", bare.lower())
    index = next((k for k, name in enumerate(whole) if name == asked.strip().lower()), None)
    if index is None:
        index = next((k for k, name in enumerate(names) if name == bare.lower()), None)
    if index is None and number and 1 <= int(number.group(1)) <= len(names):
        index = int(number.group(1)) - 1
    if index is None:
        close = near(bare, found.names)
        listed = ", ".join(f'"{name}"' for name in found.names[:12])
        hint = f'did you mean "{close}"?' if close else "give one of these"
        raise LogError(f'{found.file}: no column "{bare}"; the columns are {listed}: {hint}')
    unit = given or _split(found.names[index], found.units[index], wanted)[1]
    kind = next((kind for kind in wanted.kinds if _fits(unit, kind)), None)
    if kind is None:
        raise LogError(
            f'{found.file}: column "{asked}" names no unit of {wanted.named}; write it as '
            f'in "{bare} [{wanted.example}]" or "{bare} '
            f'[{units.SI_UNITS[_KINDS[wanted.kinds[-1]]]}]"'
        )
    return index, kind, unit


def _split(header: str, below: str, wanted: Wanted) -> tuple[str, str]:
    """Take a header apart into name and unit: ``"gap (mm)"``, ``"x_mm"``, ``"speed m/s"``."""
    bracket = re.fullmatch(r"\s*(.*?)\s*[(\[]\s*([^)\]]*?)\s*[)\]]\s*", header)
    if bracket:
        return bracket.group(1), bracket.group(2)
    plain = re.sub(r"[ _](m|ft)[ _]s\^?[2²]$", r" \1/s^2", header.strip())
    name, _, last = re.sub(r"_", " ", plain).rpartition(" ")
    if name and any(_fits(last, kind) for kind in wanted.kinds):
        return name, last
    return header.strip(), below.strip("()[] ")


def _fits(unit: str, kind: str) -> bool:
    if not unit:
        return False
    try:
        _factor(unit, kind)
    except UnitError:
        return False
    return True


def _factor(unit: str, kind: str) -> float:
    """Return the size of a unit in SI."""
    if kind == "acceleration" and unit in _LOGGED_AS:
        return _LOGGED_AS[unit]
    return units.parse(f"1 {unit}", _KINDS[kind])
