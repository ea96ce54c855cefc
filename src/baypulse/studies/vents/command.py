"""The command that sizes the vent of a bay: ``vents``."""

from __future__ import annotations

import argparse
from typing import Any

from baypulse.case.quantities import asked
from baypulse.commands.case_files import named_cases
from baypulse.commands.each_case import Study, each_case
from baypulse.commands.flight_options import add_flight, flights
from baypulse.commands.options import add_command, add_window, asked_reliability, share
from baypulse.terminal import Refused


def add(commands: Any) -> None:
    """Add the command to the parser.

    Parameters
    ----------
    commands : argparse subparsers
        Of the command line.
    """
    parser = add_command(
        commands, "vents", _vents,
        help="the vent: large enough for the ascent, small enough for the charge",
        description="Find the smallest vent that keeps the force of trapped air and drag on the "
        "ascent below a share of what holds the joint, and the largest with which the charge "
        "still opens the bay with a target reliability; the drills that lie between; and whether "
        "the vent matters for this burn. The ascent is the case's [ascent], or a logger's file. "
        "Several cases are compared at the end.",
        epilog='Example: baypulse vents cases/main-98.toml --share "25 %"',
    )  # fmt: skip
    parser.add_argument(
        "--share", type=share, default=0.5, metavar="SHARE",
        help="share of what holds the joint that the ascent may use (default: 50 %%)",
    )  # fmt: skip
    parser.add_argument(
        "--opening",
        metavar="NAME",
        default=None,
        help='which opening of the case is the vent (default: the one named "vent")',
    )
    add_window(parser)
    add_flight(parser)


def _vents(chosen: argparse.Namespace) -> int:
    """Size the vent of every case."""
    from baypulse.studies.vents.compute import SHARES, answer
    from baypulse.studies.vents.document import compare, document

    wanted = asked_reliability(chosen)
    low, high = SHARES
    if not low <= chosen.share <= high:
        raise Refused(
            f"--share: {asked(chosen.share)} of what holds the joint cannot be asked for; "
            f'it is a share from {asked(low)} to {asked(high)}, such as "50 %" or 0.5'
        )
    cases, files = named_cases(chosen.cases)
    logged = flights(chosen, cases)

    return each_case(
        chosen, cases, files,
        Study("-vents", document, compare, own=("vents.csv", "separation.csv")),
        lambda case, progress: answer(
            case, share=chosen.share, wanted=wanted, opening=chosen.opening,
            flight=logged(case), members=chosen.simulated_shots, seed=chosen.seed,
            workers=chosen.workers, progress=progress,
        ),
    )  # fmt: skip
