"""The command ``cord``: what the cord carries, which one would do, what a brake takes."""

from __future__ import annotations

import argparse
from functools import partial
from typing import Any

from baypulse.commands.case_files import named_cases
from baypulse.commands.each_case import Study, each_case
from baypulse.commands.options import add_command, add_common


def add(commands: Any) -> None:
    """Add the command to the parser.

    Parameters
    ----------
    commands : argparse subparsers
        Of the command line.
    """
    cord = add_command(
        commands, "cord", _cord,
        help="the cord: load against strength, length, brake",
        description="Hold the peak load of the cord, with its scatter, against the strength of "
        "every link; find the length at which each type of the library holds a wanted margin; say "
        "what the cord does as a brake with taped or stitched stages. Several cases are compared.",
        epilog="Example: baypulse cord cases/main-98.toml --margin 3",
    )  # fmt: skip
    cord.add_argument(
        "--margin", type=float, default=2.0, metavar="TIMES",
        help="strength over load that 95 %% of the shots shall have at least, from 1 to 20 "
        "(default: 2)",
    )  # fmt: skip
    add_common(cord)


def _cord(chosen: argparse.Namespace) -> int:
    """Study the cord of every case."""
    from baypulse.studies.cord.compute import cord
    from baypulse.studies.cord.document import compare, document

    examine = partial(cord, wanted=chosen.margin, seed=chosen.seed, workers=chosen.workers)
    told = Study("-cord", document, compare, own=("cord.csv",))
    return each_case(chosen, *named_cases(chosen.cases), told, examine)
