"""Case files named on the command line."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from glob import glob
from pathlib import Path
from typing import TYPE_CHECKING

from baypulse.errors import CaseError
from baypulse.terminal import one_line_warnings, say

if TYPE_CHECKING:
    from baypulse.model import Case


class Told(Exception):
    """Something is wrong, and has been printed."""


def expanded(files: Sequence[str]) -> list[str]:
    """Expand the patterns that a shell leaves alone, as those of Windows do."""
    found: list[str] = []
    for file in files:
        # not Path.glob: a pattern may begin at a drive or at the root
        matches = [] if Path(file).exists() else sorted(glob(file))  # noqa: PTH207
        found += matches or [file]
    return found


def read_cases(files: Sequence[str]) -> list[Case]:
    """Read every case; all problems of all files come out together."""
    from baypulse.casefile import read

    cases, failed = [], False
    for file in files:
        try:
            with one_line_warnings():
                cases.append(read(file))
        except CaseError as error:
            failed = True
            for problem in error.problems:
                say(problem.sentence(error.file), sys.stderr)
    if failed:
        raise Told
    return cases
