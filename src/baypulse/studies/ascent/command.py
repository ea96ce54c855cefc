"""The command ``ascent``: what trapped air and drag do to the closed joint during the ascent."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Any

from baypulse.commands.case_files import expanded, read_cases
from baypulse.commands.each_case import Study, each_case
from baypulse.commands.flight_options import add_flight, flights
from baypulse.commands.options import add_common

if TYPE_CHECKING:
    from baypulse.case.model import Case
    from baypulse.members.blocks import Progress
    from baypulse.studies.ascent.compute import AscentResult


def add(commands: Any) -> None:
    """Add the command to the parser.

    Parameters
    ----------
    commands : argparse subparsers
        Of the command line.
    """
    ascent = commands.add_parser(
        "ascent", help="the ascent: trapped air and drag against the closed joint",
        allow_abbrev=False,
        description="Follow the bay's pressure along a flight, from the case's [ascent] or a "
        "logger's file, and hold what trapped air and drag do to the closed joint against its "
        "pins and friction. Several cases are compared.",
        epilog="Example: baypulse ascent cases/main-98.toml --log cases/logs/saffron-plover.csv",
    )  # fmt: skip
    ascent.add_argument("cases", nargs="+", metavar="CASE", help="case file (TOML)")
    add_common(ascent)
    add_flight(ascent)
    ascent.set_defaults(work=_ascent)


def _ascent(chosen: argparse.Namespace) -> int:
    """Follow every case in its ascent."""
    from baypulse.observed.flight_profile import profile
    from baypulse.studies.ascent.compute import ascent
    from baypulse.studies.ascent.document import compare, document

    files = expanded(chosen.cases)
    cases = read_cases(files)
    logged = flights(chosen, cases)

    def examine(case: Case, progress: Progress | None) -> AscentResult:
        return ascent(case, profile(case, logged(case)), seed=chosen.seed)

    told = Study("-ascent", document, compare, own=("ascent.csv",))
    return each_case(chosen, cases, files, told, examine)
