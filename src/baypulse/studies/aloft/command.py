"""The command ``aloft``: the same charge at altitude, and what the ground test proves of it."""

from __future__ import annotations

import argparse
from functools import partial
from typing import Any

from baypulse.commands.case_files import named_cases
from baypulse.commands.each_case import Study, each_case
from baypulse.commands.options import (
    add_command,
    add_common,
    add_reliability,
    altitudes,
    asked_reliability,
    members,
)


def add(commands: Any) -> None:
    """Add the command to the parser.

    Parameters
    ----------
    commands : argparse subparsers
        Of the command line.
    """
    parser = add_command(
        commands, "aloft", _aloft,
        help="the same charge at altitude: what the ground test proves of it",
        description="Fire the charge of a case at the test site and at apogee: thin and cold air, "
        "powder that burns worse, cold pins and cord, both sections free. Says what the ground "
        "test proves and what it does not, which charge has the same margin at altitude, and how "
        "high loose powder, a holder that bursts and a cold gas are to be trusted. Several cases "
        "are compared at the end.",
        epilog='Example: baypulse aloft cases/main-98.toml --altitude "3 km, 9 km"',
    )  # fmt: skip
    parser.add_argument(
        "--altitude", type=altitudes, action="extend", required=True, metavar="HEIGHT",
        help='above sea level, such as "9 km" or "30000 ft"; several, or a list "3 km, 9 km"',
    )  # fmt: skip
    add_reliability(parser)
    parser.add_argument(
        "--simulated-shots", type=members, default=None, metavar="N",
        help="how many at each altitude, 256 or more (default: 512)",
    )  # fmt: skip
    add_common(parser)


def _aloft(chosen: argparse.Namespace) -> int:
    """Fire the charge of every case at every altitude."""
    from baypulse.studies.aloft.compute import MEMBERS, answer
    from baypulse.studies.aloft.document import compare, document

    examine = partial(
        answer, altitudes=chosen.altitude, wanted=asked_reliability(chosen),
        members=chosen.simulated_shots or MEMBERS, seed=chosen.seed, workers=chosen.workers,
    )  # fmt: skip
    told = Study("-aloft", document, compare, own=("aloft.csv",))
    return each_case(chosen, *named_cases(chosen.cases), told, examine)
