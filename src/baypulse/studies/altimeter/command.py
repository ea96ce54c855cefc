"""The command ``altimeter``: static ports, and what the charge does to the altitude."""

from __future__ import annotations

import argparse
from functools import partial
from typing import Any

from baypulse.case.quantities import asked
from baypulse.commands.case_files import named_cases
from baypulse.commands.each_case import Study, each_case
from baypulse.commands.options import add_command, add_common, share, typed

SMALLEST = 0.1
"""Smallest altitude error that can be asked for [m]."""

GREATEST = 1000.0
"""Greatest altitude error that can be asked for [m]."""

SLOWEST, FASTEST = 1.0, 2500.0
"""Fastest climbs that can be asked for [m/s]."""

LEAST = 0.5
"""Least share of the shots that can be asked for."""

MOST = 0.99
"""Greatest share of the shots that can be asked for."""


def add(commands: Any) -> None:
    """Add the command to the parser.

    Parameters
    ----------
    commands : argparse subparsers
        Of the command line.
    """
    parser = add_command(
        commands, "altimeter", _altimeter,
        help="are the static ports right, and what does the charge do to the altitude",
        description="Say whether the static ports are right: how far the altimeter is behind at "
        "the fastest climb, and which drills are. Then follow the pressure that leaks through the "
        "bulkhead into the electronics bay when the charge fires, turn it into an error of the "
        "altitude, and find the largest leak that keeps it small. Several cases are compared.",
        epilog='Example: baypulse altimeter cases/many-152.toml --error "50 ft"',
    )  # fmt: skip
    parser.add_argument(
        "--climb", type=_climb, default=None, metavar="SPEED",
        help='fastest climb, such as "800 ft/s" (default: that of the case\'s ascent, or Mach 1)',
    )  # fmt: skip
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


def _climb(text: str) -> float:
    value = typed(text, "velocity", 'write it "240 m/s" or "800 ft/s"')
    if not SLOWEST <= value <= FASTEST:
        raise argparse.ArgumentTypeError(
            f'"{text}" is no climb from {SLOWEST:g} m/s to {FASTEST:g} m/s'
        )
    return value


def _error(text: str) -> float:
    value = typed(text, "length", 'write it "30 m" or "50 ft"')
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
    from baypulse.studies.altimeter.compute import electronics_bay
    from baypulse.studies.altimeter.document import compare, document

    examine = partial(
        electronics_bay, climb=chosen.climb, error=chosen.error, wanted=chosen.reliability,
        seed=chosen.seed, workers=chosen.workers,
    )  # fmt: skip
    told = Study("-altimeter", document, compare, own=("altimeter.csv",))
    return each_case(chosen, *named_cases(chosen.cases), told, examine)
