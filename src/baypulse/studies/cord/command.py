"""The command ``cord``: what the cord carries, which one would do, what a brake takes."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Any

from baypulse.commands.case_files import expanded, read_cases
from baypulse.commands.each_case import Study, each_case
from baypulse.commands.options import add_common

if TYPE_CHECKING:
    from baypulse.case.model import Case
    from baypulse.members.blocks import Progress
    from baypulse.studies.cord.result import Cords


def add(commands: Any) -> None:
    """Add the command to the parser.

    Parameters
    ----------
    commands : argparse subparsers
        Of the command line.
    """
    cord = commands.add_parser(
        "cord", help="the cord: load against strength, length, brake", allow_abbrev=False,
        description="Hold the peak load of the cord, with its scatter, against the strength of "
        "every link; find the length at which each type of the library holds a wanted margin; say "
        "what the cord does as a brake with taped or stitched stages. Several cases are compared.",
        epilog="Example: baypulse cord cases/main-98.toml --margin 3",
    )  # fmt: skip
    cord.add_argument("cases", nargs="+", metavar="CASE", help="case file (TOML)")
    cord.add_argument(
        "--margin", type=float, default=2.0, metavar="TIMES",
        help="strength over load that 95 %% of the shots shall have at least, from 1 to 20 "
        "(default: 2)",
    )  # fmt: skip
    add_common(cord)
    cord.set_defaults(work=_cord)


def _cord(chosen: argparse.Namespace) -> int:
    """Study the cord of every case."""
    from baypulse.studies.cord.compute import cord
    from baypulse.studies.cord.document import compare, document

    def examine(case: Case, progress: Progress | None) -> Cords:
        return cord(
            case, wanted=chosen.margin, seed=chosen.seed, workers=chosen.workers, progress=progress
        )

    files = expanded(chosen.cases)
    told = Study("-cord", document, compare, own=("cord.csv",))
    return each_case(chosen, read_cases(files), files, told, examine)
