"""The command ``ascent``: what trapped air and drag do to the closed joint during the ascent."""

from __future__ import annotations

import argparse
from typing import Any

from baypulse.commands.case_files import named_cases
from baypulse.commands.each_case import Study, each_case
from baypulse.commands.flight_options import add_flight, flights
from baypulse.commands.options import add_command, add_common


def add(commands: Any) -> None:
    """Add the command to the parser.

    Parameters
    ----------
    commands : argparse subparsers
        Of the command line.
    """
    ascent = add_command(
        commands, "ascent", _ascent,
        help="the ascent: trapped air and drag against the closed joint",
        description="Follow the bay's pressure along a flight, from the case's [ascent] or a "
        "logger's file, and hold what trapped air and drag do to the closed joint against its "
        "pins and friction. Several cases are compared.",
        epilog="Example: baypulse ascent cases/main-98.toml --log cases/logs/saffron-plover.csv",
    )  # fmt: skip
    add_common(ascent)
    add_flight(ascent)


def _ascent(chosen: argparse.Namespace) -> int:
    """Follow every case in its ascent."""
    from baypulse.observed.flight_profile import profile
    from baypulse.studies.ascent.compute import ascent
    from baypulse.studies.ascent.document import compare, document

    cases, files = named_cases(chosen.cases)
    logged = flights(chosen, cases)

    return each_case(
        chosen, cases, files, Study("-ascent", document, compare, own=("ascent.csv",)),
        lambda case, progress: ascent(case, profile(case, logged(case)), seed=chosen.seed),
    )  # fmt: skip
