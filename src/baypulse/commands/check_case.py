"""The command that shows what was understood of a case, and what to measure next: ``check``."""

from __future__ import annotations

import argparse
import math
import os
import textwrap
from typing import TYPE_CHECKING, Any

from baypulse.case import quantities
from baypulse.caution import CAUTION
from baypulse.commands.case_files import named_cases
from baypulse.commands.options import add_command
from baypulse.errors import BaypulseError
from baypulse.terminal import compiling_notice, one_line_warnings, say

if TYPE_CHECKING:
    from baypulse.case.model import Case
    from baypulse.observed.least_charges import LeastCharges, Ranked

WORTH_IT = 0.02
"""Share of narrowing below which a measurement is not named: the noise of so few shots."""

_WIDTH = 88


def add(commands: Any) -> None:
    """Add the command to the parser.

    Parameters
    ----------
    commands : argparse subparsers
        Of the command line.
    """
    parser = add_command(
        commands, "check", _check, help="what was understood of a case, and what to measure next",
        description="Show every value that was typed with its unit and its line, what follows "
        "without a run, and which measurement would narrow the least charge of this bay "
        "most, and how to take it.",
        epilog="Example: baypulse check cases/bench-76.toml",
    )  # fmt: skip
    parser.add_argument(
        "--full", action="store_true", help="every value, with the library's and their sources"
    )


def _check(chosen: argparse.Namespace) -> int:
    """Show what was understood of every case."""
    from baypulse.case.explanation import explain

    cases, _ = named_cases(chosen.cases)
    for index, case in enumerate(cases):
        with quantities.written_in(quantities.system_of(case)):
            say("\n" * bool(index) + explain(case, typed=not chosen.full), end="")
            say("" if chosen.full else "  All that was not typed, with its source: --full\n")
            for line in next_measurements(case):
                say(line)
    say("\n" + textwrap.fill(CAUTION, _WIDTH))
    return 0


def next_measurements(case: Case) -> list[str]:
    """Return what to measure next of a bay, as lines of text; nothing for a vessel.

    Parameters
    ----------
    case : Case
        As it was read.
    """
    from baypulse.observed.least_charges import least_charges

    if case.run.chamber != "bay":
        return []
    lines = ["What to measure next"]
    try:
        with one_line_warnings(), compiling_notice():
            found = least_charges(case, workers=os.cpu_count() or 1)
    except BaypulseError as error:
        return [*lines, *_wrapped(f"Not known: {error}")]
    lines += _wrapped(_range(found))
    worth = [each for each in found.ranked if each.narrows >= WORTH_IT]
    for number, each in enumerate(worth, 1):
        lines += _wrapped(f"{number}. {_told(case, each)}", "     ")
    if not worth:
        lines += _wrapped("No measurement would narrow that by more than a fiftieth.")
    return lines


def _range(found: LeastCharges) -> str:
    if math.isinf(found.low):
        return "No charge that was tried opens this bay in one of its simulated shots."
    if math.isinf(found.high):
        low = quantities.show(found.low, found.dimension)
        return (
            f"The least charge that opens this bay is {low} or more in nineteen of twenty "
            "simulated shots, and in more than one of twenty no charge that was tried opens it. "
            "What would narrow that:"
        )
    ends = quantities.span(found.low, found.high, found.dimension)
    times = quantities.digits(found.high / found.low, 2)
    return (
        f"In nine of ten simulated shots the least charge that opens this bay lies within {ends}, "
        f"a factor {times}, for all that is not known of it. What would narrow that:"
    )


def _told(case: Case, each: Ranked) -> str:
    what = each.measurement
    where = f" ({what.key}{_state(case, what.key)})" if what.key else ""
    return (
        f"{quantities.capital(what.name)}{where}: narrower by {quantities.about(each.narrows)} if "
        f"it were known. {quantities.capital(what.how)}."
    )


def _state(case: Case, key: str) -> str:
    """Return what the case says of a key: nothing where it is typed, or a table has several."""
    given = case.provenance.get(key)
    return "" if "." not in key or (given is not None and given.typed) else ", not typed"


def _wrapped(text: str, further: str = "  ") -> list[str]:
    return textwrap.wrap(text, _WIDTH, initial_indent="  ", subsequent_indent=further)
