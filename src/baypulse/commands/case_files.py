"""Case files on the command line; a rocket file there stands for the cases of its bays."""

from __future__ import annotations

import sys
from collections.abc import Callable, Sequence
from glob import glob
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from baypulse.errors import CaseError, Problem
from baypulse.terminal import one_line_warnings, say

if TYPE_CHECKING:
    from baypulse.case.model import Case
    from baypulse.case.rocket import Rocket

Read = TypeVar("Read")

SHOTS = ".shots.toml"
"""Ending of a file of shots, which is no case."""


class Told(Exception):
    """Something is wrong, and has been printed."""


def plain(files: Sequence[str]) -> list[str]:
    """Expand the patterns that a shell leaves alone, as those of Windows do."""
    found: list[str] = []
    for file in files:
        # not Path.glob: a pattern may begin at a drive or at the root
        matches = [] if Path(file).exists() else sorted(glob(file))  # noqa: PTH207
        found += matches or [file]
    # cases/*.toml names the shots beside the cases too
    cases = [file for file in found if not file.endswith(SHOTS)]
    return cases or found


def expanded(files: Sequence[str]) -> list[str]:
    """Expand patterns, and a rocket file into its bays, such as ``"plover.toml:drogue"``."""
    from baypulse.case.casefile.rocket_reader import bay_names

    found: list[str] = []
    for file in plain(files):
        found += [f"{file}:{name}" for name in bay_names(file)] or [file]
    return found


def read_cases(files: Sequence[str]) -> list[Case]:
    """Read every case; all problems of all files come out together.

    Parameters
    ----------
    files : sequence of str
        From :func:`expanded`: case files, and bays of rocket files.
    """
    from baypulse.case.casefile import read
    from baypulse.case.casefile.rocket_reader import bay_names, is_rocket, read_rocket

    rockets: dict[str, Rocket] = {}

    def case(file: str) -> Case:
        place, colon, bay = file.rpartition(":")
        if not Path(file).exists() and colon and bay in bay_names(place):
            if place not in rockets:
                rockets[place] = read_rocket(place)
            return next(each.case for each in rockets[place].bays if each.name == bay)
        if is_rocket(file):
            # a good one has been expanded into its bays
            read_rocket(file)
        if not Path(file).exists() and is_rocket(place):
            known = ", ".join(bay_names(place))
            text = f'this rocket has no bay "{bay}"; its bays: {known}'
            raise CaseError(place, [Problem(None, "", text)])
        return read(file)

    return _all_read(files, case)


def named_cases(files: Sequence[str]) -> tuple[list[Case], list[str]]:
    """Read every case that is named, and return beside them the file that each was read from.

    Parameters
    ----------
    files : sequence of str
        As typed: patterns, case files, and rocket files for all of their bays.
    """
    every = expanded(files)
    return read_cases(every), every


def read_rockets(files: Sequence[str]) -> list[Rocket]:
    """Read every rocket file; all problems of all files come out together."""
    from baypulse.case.casefile.rocket_reader import read_rocket

    return _all_read(files, read_rocket)


def _all_read(files: Sequence[str], read: Callable[[str], Read]) -> list[Read]:
    """Read every file, or tell what is wrong with any of them, each thing once."""
    found: list[Read] = []
    told: dict[str, None] = {}
    for file in files:
        try:
            with one_line_warnings():
                found.append(read(file))
        except CaseError as error:
            told |= dict.fromkeys(problem.sentence(error.file) for problem in error.problems)
    if told:
        for sentence in told:
            say(sentence, sys.stderr)
        raise Told
    return found
