"""The command ``ascent``: what trapped air and drag do to the closed joint during the ascent."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Any

from baypulse.case_files import expanded, read_cases
from baypulse.command_options import add_common
from baypulse.flight_options import add_flight, flights
from baypulse.study_runner import Reporter, each_case

if TYPE_CHECKING:
    from baypulse.model import Case
    from baypulse.study.blocks import Progress


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
    from baypulse.report import ascent_text, ascents

    reporter = Reporter(
        ending="-ascent",
        report=ascents.ASCENT,
        summary=ascent_text.summary,
        compare=ascent_text.compare,
    )
    files = expanded(chosen.cases)
    cases = read_cases(files)
    logged = flights(chosen, cases)

    def study(case: Case, progress: Progress | None) -> Any:
        from baypulse.study.ascent import ascent
        from baypulse.study.profiles import profile

        return ascent(case, profile(case, logged(case)), seed=chosen.seed)

    return each_case(chosen, cases, files, reporter, study)
