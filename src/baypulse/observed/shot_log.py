"""The shots of a case with what was seen of each, understood and possible."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

from baypulse.case import quantities, units
from baypulse.case.casefile import consistency
from baypulse.case.casefile.keys import charge_path, number_at, value_at
from baypulse.case.casefile.shot_file import ShotRow, append, read_rows, shot_text
from baypulse.case.held_value import with_value
from baypulse.case.model import Case
from baypulse.errors import UnitError
from baypulse.members.charges import with_charge
from baypulse.members.parts import StudyError
from baypulse.observed import measured
from baypulse.observed.sightings import (
    CONTENTS_STAYED,
    SEPARATED,
    Sighting,
    SightingError,
    sightings,
)

_OPTION = "--saw "
"""What stands before a sighting in a sentence that was made for the command line."""


@dataclass(frozen=True)
class LoggedShot:
    """One shot that was fired.

    Attributes
    ----------
    row : ShotRow
        As its file says it.
    charge : float
        SI: kg of powder, or Pa gauge of a reservoir's fill.
    pins : int
        How many.
    seen : tuple of Sighting
        What was seen.
    """

    row: ShotRow
    charge: float
    pins: int
    seen: tuple[Sighting, ...]

    @property
    def opened(self) -> bool | None:
        """Whether it was seen to separate and, where that is asked, to let its parachute out."""
        answer = next((each.answer for each in self.seen if each.kind.name == "outcome"), None)
        return None if answer is None else answer > CONTENTS_STAYED

    @property
    def failed(self) -> bool:
        """Whether it was seen to do anything but separate as it should, too hard included."""
        return any(each.kind.name == "outcome" and each.said != SEPARATED for each in self.seen)


@dataclass(frozen=True)
class ShotLog:
    """The shots of a case, in the order in which they were fired.

    Attributes
    ----------
    file : str
        Where they stand; empty where they do not come from a file.
    shots : tuple of Shot
        All of them.
    """

    file: str
    shots: tuple[LoggedShot, ...]

    def __len__(self) -> int:
        """Return how many shots there are."""
        return len(self.shots)


def read_log(path: str | Path, case: Case) -> ShotLog:
    """Read the shots of a case.

    Parameters
    ----------
    path : str or pathlib.Path
        TOML or a table: :func:`baypulse.case.casefile.shot_file.read_rows`.
    case : Case
        Whose shots they are.

    Raises
    ------
    CaseError
        With every problem found, each with its line.
    """
    rows = read_rows(path, case, lambda row: problems(case, row))
    return ShotLog(str(path), tuple(shot_of(case, row) for row in rows))


def add_shot(path: str | Path, case: Case, row: ShotRow, charge: str) -> ShotLog:
    """Write a shot behind those of a file, and return them all.

    Parameters
    ----------
    path : str or pathlib.Path
        A TOML file; made if missing.
    case : Case
        Whose shots they are.
    row : ShotRow
        The new shot.
    charge : str
        Its charge as it was typed; empty for the case's.

    Raises
    ------
    CaseError
        If the file, or the new shot, has a problem; nothing is written then.
    """
    rows = append(path, shot_text(row, charge), case, lambda each: problems(case, each))
    return ShotLog(str(path), tuple(shot_of(case, each) for each in rows))


def shot_of(case: Case, row: ShotRow) -> LoggedShot:
    """Return a shot with what was seen of it understood.

    Parameters
    ----------
    case : Case
        Whose shot it is.
    row : ShotRow
        Without :func:`problems`.
    """
    fired = case_of(case, row)
    return LoggedShot(
        row,
        float(value_at(fired, charge_path(fired))),
        0 if fired.pins is None else fired.pins.count,
        sightings(fired, row.saw),
    )


def case_of(case: Case, row: ShotRow) -> Case:
    """Return the case of a shot: with its charge and its pins, and all spreads of the case.

    Parameters
    ----------
    case : Case
        As it is built.
    row : ShotRow
        A shot of it.
    """
    if row.charge is not None:
        case = replace(with_charge(case, row.charge), spreads=case.spreads)
    return case if row.pins is None else with_pins(case, row.pins)


def with_pins(case: Case, count: int) -> Case:
    """Return a case with another number of pins, which may be none.

    Parameters
    ----------
    case : Case
        With pins, or none and `count` is 0.
    count : int
        How many.
    """
    if case.pins is None:
        return case
    if count:
        return replace(with_value(case, "pins.count", count), spreads=case.spreads)
    kept = {path: spread for path, spread in case.spreads.items() if not path.startswith("pins.")}
    return replace(case, pins=None, spreads=kept)


def problems(case: Case, row: ShotRow) -> Iterator[tuple[str, str]]:
    """Yield key and sentence of everything that is impossible about a shot.

    Parameters
    ----------
    case : Case
        Whose shot it is.
    row : ShotRow
        Read without problems of its own.
    """
    if row.pins and case.pins is None:
        yield "pins", f"{row.pins} pins, but this case has none; leave it out"
        return
    fired = case_of(case, row)
    key = "charge" if row.charge is not None else "pins"
    yield from ((key, sentence) for _, sentence in consistency.problems(fired))
    bad = False
    for k, words in enumerate(row.saw):
        try:
            sightings(fired, [words])
        except SightingError as error:
            bad = True
            yield f"saw[{k}]", str(error).removeprefix(_OPTION)
    if not bad:
        try:
            sightings(fired, row.saw)
        except SightingError as error:
            yield "saw", str(error).removeprefix(_OPTION)


def asked_charge(case: Case, text: str) -> float:
    """Return a charge that was typed on the command line [SI].

    Parameters
    ----------
    case : Case
        Of powder or of a cold gas.
    text : str
        Such as ``"0.60 g"``.

    Raises
    ------
    StudyError
        With a sentence.
    """
    spec = number_at(charge_path(case))
    try:
        value = units.parse(text, spec.dimension)
    except UnitError as error:
        raise StudyError(f"--charge: {error}") from None
    if not spec.low <= value <= spec.high:
        allowed = quantities.within(spec.low, spec.high, spec.dimension, spec.example)
        raise StudyError(f"--charge: given {text}, allowed {allowed}")
    return value


def measured_shots(log: ShotLog, case: Case) -> tuple[measured.MeasuredShot, ...]:
    """Return the numbers that were measured, as a fit takes them; shots without any are left out.

    Parameters
    ----------
    log : ShotLog
        Shots.
    case : Case
        Whose they are; shots with other pins than it has are left out, since a fit takes all of
        them with the pins of the case.
    """
    found = []
    for k, shot in enumerate(log.shots):
        scalars = tuple(
            measured.Scalar(each.kind.name, each.value, error_of(each, each.value))
            for each in shot.seen
            if each.kind.name in measured.KINDS and each.value is not None
        )
        if scalars and shot.pins == (0 if case.pins is None else case.pins.count):
            mass = shot.row.charge if case.powder is not None else None
            found.append(measured.MeasuredShot(name_of(log, k), (), scalars, mass))
    return tuple(found)


def error_of(seen: Sighting, value: float) -> float:
    """Return the standard deviation of a number that was seen [SI].

    Parameters
    ----------
    seen : Sighting
        Of a kind with a number.
    value : float
        The number [SI].
    """
    if seen.error is not None:
        return seen.error
    return math.hypot(seen.kind.error * value, seen.kind.floor)


def name_of(log: ShotLog, index: int) -> str:
    """Return what a shot is called: its number and, where it has one, its date."""
    day = log.shots[index].row.date
    return f"shot {index + 1}" + ("" if day is None else f", {day.isoformat()}")


def before(log: ShotLog, index: int) -> ShotLog:
    """Return the shots that were fired before one."""
    return replace(log, shots=log.shots[:index])


def last_failed(log: ShotLog) -> int | None:
    """Return the place of the last shot that failed, None where all went well."""
    return next((k for k in reversed(range(len(log))) if log.shots[k].failed), None)
