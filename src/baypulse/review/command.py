"""The command that joins all studies of a rocket into one document: ``review``."""

from __future__ import annotations

import argparse
from typing import Any

from baypulse.commands.case_files import expanded, read_cases, read_rockets
from baypulse.commands.each_case import Study, each_case
from baypulse.commands.flight_options import add_flight, flights
from baypulse.commands.options import (
    add_common,
    add_reliability,
    altitudes,
    asked_reliability,
    members,
)
from baypulse.commands.shot_options import add_without, learnt_from


def add(commands: Any) -> None:
    """Add the command to the parser.

    Parameters
    ----------
    commands : argparse subparsers
        Of the command line.
    """
    parser = commands.add_parser(
        "review", help="one document of a whole rocket, for a review board", allow_abbrev=False,
        description="Join what the studies say of a rocket into one report with a table of "
        "contents: windows, ground-test plans, cords, joints, ascent, altitude, what decides, and "
        "every input with its spread, its source and how well it is known. Figures as SVG, PDF "
        "and PNG for print, every table as CSV. It takes some minutes.",
        epilog="Example: baypulse review cases/rockets/saffron-plover.toml "
        "--log cases/logs/saffron-plover.csv",
    )  # fmt: skip
    parser.add_argument("rocket", metavar="ROCKET", help="rocket file, or the case of one bay")
    parser.add_argument(
        "--altitude", type=altitudes, action="extend", default=[], metavar="HEIGHT",
        help='above sea level, such as "9 km" or "30000 ft"; several, or a list "3 km, 9 km" '
        "(default: the highest of the flight)",
    )  # fmt: skip
    add_reliability(parser)
    parser.add_argument(
        "--simulated-shots", type=members, default=None, metavar="N",
        help="how many behind each answer (default: those of each study)",
    )  # fmt: skip
    add_common(parser)
    add_flight(parser)
    add_without(parser)
    parser.set_defaults(work=_review, shots=None)


def _review(chosen: argparse.Namespace) -> int:
    """Review a rocket."""
    from baypulse.case.casefile.rocket_reader import is_rocket
    from baypulse.review.chapters import Asked, of_one_bay, review
    from baypulse.review.document import document

    wanted = asked_reliability(chosen)
    files = expanded([chosen.rocket])
    cases = read_cases(files)
    if is_rocket(chosen.rocket):
        (rocket,) = read_rockets([chosen.rocket])
    else:
        rocket = of_one_bay(cases[0])
    asked = Asked(
        wanted, tuple(chosen.altitude), chosen.simulated_shots, chosen.seed, chosen.workers,
        flights(chosen, cases), learnt_from(chosen, files, cases),
    )  # fmt: skip
    told = Study("-review", document, own=("tables", "plans"))
    return each_case(
        chosen, [rocket], [chosen.rocket], told,
        lambda rocket, progress: review(rocket, asked, progress),
    )  # fmt: skip
