"""The command that finds how much is enough and how much is too much: ``window``."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Any

from baypulse.commands.case_files import expanded, read_cases
from baypulse.commands.each_case import Study, each_case
from baypulse.commands.options import add_window, asked_reliability
from baypulse.commands.shot_options import add_shots, add_without, learnt_from

if TYPE_CHECKING:
    from baypulse.case.model import Case
    from baypulse.members.blocks import Progress
    from baypulse.studies.window.result import Window


def add(commands: Any) -> None:
    """Add the command to the parser.

    Parameters
    ----------
    commands : argparse subparsers
        Of the command line.
    """
    parser = commands.add_parser(
        "window", help="the least and the most charge, the ground-test charge, and a backup",
        allow_abbrev=False,
        description="Find the least charge that opens a bay with a target reliability and the most "
        "before a limit is exceeded; a ground-test charge, a backup, and what both and "
        "the static rule's charge would do. Shots that were fired are taken into account. Several "
        "cases are compared at the end.",
        epilog='Example: baypulse window cases/main-98.toml --reliability "99.9 %"',
    )  # fmt: skip
    parser.add_argument("cases", nargs="+", metavar="CASE", help="case file (TOML)")
    add_window(parser)
    add_shots(parser)
    add_without(parser)
    parser.set_defaults(work=_window)


def _window(chosen: argparse.Namespace) -> int:
    """Find the window of every case."""
    from baypulse.studies.window.compute import window
    from baypulse.studies.window.document import compare, document

    wanted = asked_reliability(chosen)
    files = expanded(chosen.cases)
    cases = read_cases(files)
    learnt = learnt_from(chosen, files, cases)

    def examine(case: Case, progress: Progress | None) -> Window:
        return window(
            case, wanted=wanted, members=chosen.simulated_shots, seed=chosen.seed,
            workers=chosen.workers, learnt=learnt(case, progress), progress=progress,
        )  # fmt: skip

    told = Study("-window", document, compare, own=("window.csv",))
    return each_case(chosen, cases, files, told, examine)
