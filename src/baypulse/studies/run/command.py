"""The command ``run``: one run of every case."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Any

from baypulse.commands.case_files import named_cases
from baypulse.commands.each_case import Study, each_case
from baypulse.commands.options import add_command, add_telling

if TYPE_CHECKING:
    from baypulse.case.model import Case
    from baypulse.members.answered import Answered
    from baypulse.run.result import Result

EARLY = 3
"""Exit code of a run whose solver stopped early."""


def add(commands: Any) -> None:
    """Add the command to the parser.

    Parameters
    ----------
    commands : argparse subparsers
        Of the command line.
    """
    parser = add_command(
        commands, "run", _run,
        help="run cases and write a report of each",
        description="Run cases: print verdict and numbers, and write a report with margins, "
        "figures, curves and everything else.",
        epilog="Example: baypulse run cases/bench-76.toml",
    )  # fmt: skip
    add_telling(parser)


def _run(chosen: argparse.Namespace) -> int:
    """Run every case; nothing is run unless all of them can be read."""
    from baypulse.studies.run.document import answer, compare, document

    told = Study("", document, compare, own=("curves.csv",), stopped=_stopped, answer=answer)
    return each_case(chosen, *named_cases(chosen.cases), told, _examine)


def _examine(case: Case, progress: object) -> Answered[Result]:
    from baypulse.members.answered import Answered
    from baypulse.run.simulation import simulate

    result = simulate(case)

    def whole(progress: object) -> Result:
        _ = result.breakdown  # more runs, made while somebody is told to wait
        return result

    return Answered(result, whole)


def _stopped(result: Result) -> tuple[str, int] | None:
    return None if result.good else (result.message, EARLY)
