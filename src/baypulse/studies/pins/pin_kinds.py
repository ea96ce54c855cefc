"""Kinds of pins that are set beside those of a case."""

from __future__ import annotations

from collections.abc import Sequence

from baypulse.case import library
from baypulse.case.model import Case
from baypulse.members.parts import StudyError

MEASURED = "as measured"
"""What pins are called whose strength was measured in this joint: no thread stands for it."""


def pin_kinds(case: Case, threads: Sequence[str]) -> list[str]:
    """Return the kinds of pins to look at, the case's own first.

    Parameters
    ----------
    case : Case
        With pins.
    threads : sequence of str
        Kinds from the library; by default the case's and its neighbours in size.

    Raises
    ------
    StudyError
        If no thread of the library stands for the pins of the case.
    """
    assert case.pins is not None
    own = case.pins.thread
    if case.pins.strength is not None:
        if threads:
            raise StudyError(
                f"{case.name}: the strength of these pins was measured, so no thread of the "
                "library stands for them; leave out --threads, or pins.strength in the case"
            )
        return [MEASURED]
    if threads:
        return list(dict.fromkeys(threads))
    # neighbours of the same system of threads
    family = [name for name in library.names("threads") if _system(name) == _system(own)]
    family.sort(key=lambda name: library.thread(name, case.materials).root_diameter)
    at = family.index(own)
    return [own, *family[max(at - 1, 0) : at], *family[at + 1 : at + 2]]


def _system(thread: str) -> str:
    """Return what tells inch screws, metric screws, and rods of both kinds apart."""
    return thread.partition(" ")[2] or thread[0]
