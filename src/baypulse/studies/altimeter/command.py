"""The command ``altimeter``: what the charge does to the altitude in the electronics bay."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Any

from baypulse.case import units
from baypulse.case.quantities import asked
from baypulse.commands.case_files import expanded, read_cases
from baypulse.commands.each_case import Study, each_case
from baypulse.commands.options import add_common, share
from baypulse.errors import UnitError

if TYPE_CHECKING:
    from baypulse.case.model import Case
    from baypulse.members.blocks import Progress
    from baypulse.studies.altimeter.result import Altimeters

SMALLEST, GREATEST = 0.1, 1000.0
"""Altitude errors that can be asked for [m]."""

LEAST, MOST = 0.5, 0.99
"""Shares of the shots that can be asked for."""


def add(commands: Any) -> None:
    """Add the command to the parser.

    Parameters
    ----------
    commands : argparse subparsers
        Of the command line.
    """
    parser = commands.add_parser(
        "altimeter", help="the charge's pulse in the electronics bay, as an altitude error",
        allow_abbrev=False,
        description="Follow the pressure that leaks through the bulkhead into the electronics bay "
        "when the charge fires; turn it into the error of a barometric altimeter, say how long it "
        "lasts, and find the largest leak that keeps it small. Several cases are compared.",
        epilog='Example: baypulse altimeter cases/many-152.toml --error "50 ft"',
    )  # fmt: skip
    parser.add_argument("cases", nargs="+", metavar="CASE", help="case file (TOML)")
    parser.add_argument(
        "--error", type=_error, default=30.0, metavar="HEIGHT",
        help='error of the altitude that does no harm, such as "50 ft" (default: 30 m, an '
        "estimate)",
    )  # fmt: skip
    parser.add_argument(
        "--reliability", type=_wanted, default=MOST, metavar="SHARE",
        help='share of the shots in which it shall stay below, such as "95 %%" (default: 99 %%)',
    )  # fmt: skip
    add_common(parser)
    parser.set_defaults(work=_altimeter)


def _error(text: str) -> float:
    try:
        value = units.parse(text, "length")
    except UnitError as error:
        raise argparse.ArgumentTypeError(f'{error}; write it "30 m" or "50 ft"') from None
    if not SMALLEST <= value <= GREATEST:
        raise argparse.ArgumentTypeError(
            f'"{text}" is no altitude error from {SMALLEST:g} m to {GREATEST:g} m'
        )
    return value


def _wanted(text: str) -> float:
    value = share(text)
    if not LEAST <= value <= MOST:
        raise argparse.ArgumentTypeError(
            f'"{text}" is no share of the shots from {asked(LEAST)} to {asked(MOST)}'
        )
    return value


def _altimeter(chosen: argparse.Namespace) -> int:
    """Study the electronics bay of every case."""
    from baypulse.studies.altimeter.compute import altimeter
    from baypulse.studies.altimeter.document import compare, document

    def examine(case: Case, progress: Progress | None) -> Altimeters:
        return altimeter(
            case, error=chosen.error, wanted=chosen.reliability, seed=chosen.seed,
            workers=chosen.workers, progress=progress,
        )  # fmt: skip

    files = expanded(chosen.cases)
    told = Study("-altimeter", document, compare, own=("altimeter.csv",))
    return each_case(chosen, read_cases(files), files, told, examine)
