"""The command that finds how much is enough and how much is too much: ``window``."""

from __future__ import annotations

import argparse
from typing import Any

from baypulse.commands.each_case import Study
from baypulse.commands.options import add_command, add_window
from baypulse.commands.shot_options import add_shots, add_without, charges_of_each


def add(commands: Any) -> None:
    """Add the command to the parser.

    Parameters
    ----------
    commands : argparse subparsers
        Of the command line.
    """
    parser = add_command(
        commands, "window", _window,
        help="the least and the most charge, the ground-test charge, and a backup",
        description="Find the least charge that opens a bay with a target reliability and the most "
        "before a limit is exceeded; a ground-test charge, a backup, and what both and "
        "the static rule's charge would do. Shots that were fired are taken into account. Several "
        "cases are compared.",
        epilog='Example: baypulse window cases/main-98.toml --reliability "99.9 %"',
    )  # fmt: skip
    add_window(parser)
    add_shots(parser)
    add_without(parser)


def _window(chosen: argparse.Namespace) -> int:
    """Find the window of every case."""
    from baypulse.studies.window.comparison import compare, picture
    from baypulse.studies.window.compute import answer
    from baypulse.studies.window.document import document

    told = Study("-window", document, compare, picture, own=("window.csv",))
    return charges_of_each(chosen, told, answer)
