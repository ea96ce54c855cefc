"""Which shot is asked about: one of the log, or one that options tell of."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from baypulse.case.casefile.shot_file import ShotRow
from baypulse.case.model import Case
from baypulse.members.parts import StudyError
from baypulse.observed.shot_log import ShotLog, before, case_of, last_failed, name_of
from baypulse.observed.sightings import Sighting, sightings


@dataclass(frozen=True)
class AskedShot:
    """A shot of a case, and what is known of those before it.

    Attributes
    ----------
    built : Case
        As its file says.
    case : Case
        With the charge and the pins of the shot.
    seen : tuple of Sighting
        What was seen of it.
    earlier : ShotLog or None
        Shots of the same build before it.
    number : int
        Its number in the log; 0 for one that options tell of.
    name : str
        Such as "shot 2, 2031-05-17, of bench.shots.toml"; empty for one that options tell of.
    file : str
        Of the log, for a shot of it.
    """

    built: Case
    case: Case
    seen: tuple[Sighting, ...]
    earlier: ShotLog | None
    number: int = 0
    name: str = ""
    file: str = ""


def shot_of_log(case: Case, log: ShotLog, number: int | None) -> AskedShot:
    """Return a shot of a log.

    Parameters
    ----------
    case : Case
        Whose log it is.
    log : ShotLog
        All shots.
    number : int or None
        From 1; None for the last one that failed.

    Raises
    ------
    StudyError
        If there is none, with a sentence.
    """
    many = len(log)
    allowed = "1" if many == 1 else f"1 to {many}"
    index = last_failed(log) if number is None else number - 1
    if index is None:
        raise StudyError(
            f"{log.file}: no shot of it failed; name one with --shot ({allowed}), or say what was "
            "seen of another with --saw"
        )
    if not 0 <= index < many:
        raise StudyError(f"--shot {number}: {log.file} has {many}; allowed {allowed}")
    shot = log.shots[index]
    return AskedShot(
        case, case_of(case, shot.row), shot.seen, before(log, index) if index else None, index + 1,
        f"{name_of(log, index)}, of {Path(log.file).name}", log.file,
    )  # fmt: skip


def told_shot(case: Case, row: ShotRow, log: ShotLog | None) -> AskedShot:
    """Return a shot that options tell of, after all those of a log."""
    fired = case_of(case, row)
    return AskedShot(case, fired, sightings(fired, row.saw), log)
