"""What was measured of shots: records against time, and single numbers, each with its error."""

from __future__ import annotations

import re
from dataclasses import dataclass, field

import numpy as np

from baypulse.case import units
from baypulse.errors import UnitError
from baypulse.members.parts import StudyError
from baypulse.spelling import near

PRESSURE = "pressure"
"""A record of the gauge pressure in the bay [Pa]."""

POSITION = "position"
"""A record of how far the sections have parted [m]."""

VELOCITY = "velocity"
"""A record of how fast the sections part [m/s]."""

ACCELERATION = "acceleration"
"""A record of the acceleration of one section along the rocket [m/s^2]."""

BAROMETER = "barometer"
"""A record of the pressure in an electronics bay [Pa], a share of the bay's that nobody knows."""

DIMENSIONS = {
    PRESSURE: "stress", POSITION: "length", VELOCITY: "velocity", ACCELERATION: "acceleration",
    BAROMETER: "stress",
}  # fmt: skip

NOSE = "nose"
"""The section ahead of the joint, in which a logger may sit."""

AIRFRAME = "airframe"
"""The section behind the joint, in which a logger may sit."""


@dataclass(frozen=True)
class ScalarKind:
    """A single number that people measure of a shot.

    Attributes
    ----------
    word : str
        How it is asked for.
    label : str
        The same in plain words.
    dimension : str
        One of :data:`baypulse.case.units.DIMENSIONS`.
    error : float
        Standard deviation where none is given, as a share; an estimate.
    example : str
        A value.
    """

    word: str
    label: str
    dimension: str
    error: float
    example: str


KINDS = {
    kind.word: kind
    for kind in (
        ScalarKind("peak", "peak pressure", "stress", 0.05, "11 psi"),
        ScalarKind("time", "time to open", "time", 0.1, "22 ms"),
        ScalarKind("velocity", "separation velocity", "velocity", 0.1, "9 m/s"),
        ScalarKind("slide", "slide of the section that left", "length", 0.2, "3 m"),
    )
}
"""What ``--shot`` takes; the errors are estimates: a good gauge, a few frames of a video, an uneven
ground."""

FORM = 'write such as --shot "peak 11 psi, velocity 9 m/s +/- 0.5 m/s"'

_ERROR = re.compile(r"\s*(?:\+/-|±)\s*")


@dataclass(frozen=True)
class Scalar:
    """One number that was measured of a shot.

    Attributes
    ----------
    word : str
        A key of :data:`KINDS`.
    value, error : float
        In SI; the error is a standard deviation.
    """

    word: str
    value: float
    error: float

    @property
    def kind(self) -> ScalarKind:
        """What it is."""
        return KINDS[self.word]


@dataclass(frozen=True)
class Record:
    """Readings against time of one shot.

    Attributes
    ----------
    kind : str
        A key of :data:`DIMENSIONS`.
    time, values : ndarray, shape (n,)
        Time in the record, increasing [s]; readings in SI.
    source : str
        Name of the file.
    notes : tuple of str
        What was guessed and mended when it was read.
    fired : float or None
        Time in the record of the firing command [s]; None where it is not known.
    section : str
        Of an acceleration: :data:`NOSE` or :data:`AIRFRAME`.
    reach : float or None
        Of an acceleration: the sensor's range where it is known [m/s^2].
    clock : int or None
        Which record of the shot, from 0, has the same clock, and comes before this one.
    """

    kind: str
    time: np.ndarray
    values: np.ndarray
    source: str
    notes: tuple[str, ...] = ()
    fired: float | None = None
    section: str = ""
    reach: float | None = None
    clock: int | None = None


@dataclass(frozen=True)
class MeasuredShot:
    """What was measured of one shot.

    Attributes
    ----------
    name : str
        What it is called in the report.
    records : tuple of Record
        Records of it.
    scalars : tuple of Scalar
        Single numbers.
    mass : float or None
        Charge of this shot where it is another than the case's [kg].
    """

    name: str
    records: tuple[Record, ...] = ()
    scalars: tuple[Scalar, ...] = field(default=())
    mass: float | None = None


def shot(text: str, name: str) -> MeasuredShot:
    """Read what was measured of a shot.

    Parameters
    ----------
    text : str
        Such as ``"charge 1.2 g, peak 11 psi +/- 0.5 psi, velocity 9 m/s"``; the error behind
        ``+/-`` is a standard deviation.
    name : str
        What it is called in the report.

    Raises
    ------
    StudyError
        With a sentence that quotes what was given.
    """
    scalars: list[Scalar] = []
    mass = None
    for part in re.split(r"[,;]\s+", text.strip().strip(",;")):
        word, _, rest = part.strip().partition(" ")
        if word == "charge":
            mass = _parse(rest, "mass", "1.2 g", text)
            if not 1e-6 <= mass <= 0.2:
                raise StudyError(f'--shot "{text}": a charge is from 1 mg to 200 g; {FORM}')
            continue
        kind = KINDS.get(word)
        if kind is None:
            close = near(word, ["charge", *KINDS])
            hint = f'did you mean "{close}"?' if close else FORM
            known = ", ".join(["charge", *KINDS])
            raise StudyError(f'--shot "{text}": "{word}" is none of {known}; {hint}')
        if any(scalar.word == word for scalar in scalars):
            raise StudyError(f'--shot "{text}": "{word}" stands twice; give each shot a --shot')
        scalars.append(_scalar(kind, rest, text))
    if not scalars:
        raise StudyError(f'--shot "{text}": nothing was measured of it; {FORM}')
    return MeasuredShot(name, scalars=tuple(scalars), mass=mass)


def _scalar(kind: ScalarKind, text: str, whole: str) -> Scalar:
    value_text, *error_text = _ERROR.split(text, maxsplit=1)
    value = _parse(value_text, kind.dimension, kind.example, whole)
    if value <= 0.0:
        raise StudyError(
            f'--shot "{whole}": {kind.label} "{value_text}" is not above zero; leave it out where '
            "the joint did not separate"
        )
    if not error_text:
        return Scalar(kind.word, value, kind.error * value)
    try:
        error = units.parse_spread(error_text[0], kind.dimension, value)
    except UnitError as problem:
        raise StudyError(f'--shot "{whole}": {problem}; {FORM}') from None
    if not error > 0.0:
        raise StudyError(f'--shot "{whole}": an error of zero is not possible; {FORM}')
    return Scalar(kind.word, value, error)


def _parse(text: str, dimension: str, example: str, whole: str) -> float:
    """Read a value; a pressure is a gauge's, whether it says so or not."""
    try:
        if dimension == "stress" and re.search(r"(?:g|gauge|gage)\s*$", text.strip()):
            return units.parse(text, "gauge pressure")
        return units.parse(text, dimension)
    except UnitError as error:
        raise StudyError(f'--shot "{whole}": {error}; such as "{example}"') from None
