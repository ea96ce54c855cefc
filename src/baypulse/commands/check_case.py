"""The command that shows what was understood of a case, and what to measure next: ``check``."""

from __future__ import annotations

import argparse
import math
import os
import textwrap
from collections.abc import Sequence
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
    from baypulse.show.document import Table

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
    """Show what was understood of every case; several are compared before that."""
    from baypulse.case.explanation import explain

    cases, _ = named_cases(chosen.cases)
    found = [_least_charges(case) for case in cases]
    if len(cases) > 1:
        from baypulse.show import in_terminal

        with quantities.written_in(quantities.system_of(cases[0])):
            say(in_terminal.comparison(compare(cases, found)), end="")
        if not chosen.full:
            say("\n  All that was read of a case: baypulse check, and its file alone")
            return 0
    for case, each in zip(cases, found, strict=True):
        with quantities.written_in(quantities.system_of(case)):
            say("\n" * (len(cases) > 1) + explain(case, typed=not chosen.full), end="")
            say("" if chosen.full else "  All that was not typed, with its source: --full\n")
            for line in _next_measurements(case, each):
                say(line)
    if len(cases) == 1:
        say("\n" + textwrap.fill(CAUTION, _WIDTH))
    return 0


def compare(cases: Sequence[Case], found: Sequence[LeastCharges | str]) -> Table:
    """Return a table of the least charges of several cases, and what would narrow each most.

    Parameters
    ----------
    cases : sequence of Case
        As they were read.
    found : sequence of LeastCharges or str
        Of each, or why there is none.
    """
    from baypulse.show.document import Column, Table

    return Table(
        "checks",
        (Column("case", "case"), Column("least_charge", "least charge"), Column("factor", "factor"),
         Column("measure_first", "measure first"), Column("narrows", "narrower by")),
        tuple(
            (case.name, *_compared(each)) for case, each in zip(cases, found, strict=True)
        ),
        title="What to measure first",
        note="Least charge: between the ends that hold it in nine of ten simulated shots, a factor "
        "apart. Narrower by: how much less it would scatter if that were known.",
    )  # fmt: skip


def _compared(found: LeastCharges | str) -> tuple[Any, ...]:
    if isinstance(found, str):
        return "not known", None, None, None
    first = next(iter(_worth(found)), None)
    what = (
        (None, None) if first is None else (first.measurement.name, quantities.about(first.narrows))
    )
    if math.isinf(found.low):
        return "none opens it", None, *what
    if math.isinf(found.high):
        return f"{quantities.short(found.low, found.dimension)} or more", None, *what
    span = quantities.short_span(found.low, found.high, found.dimension)
    return span, quantities.digits(found.high / found.low, 2), *what


def _least_charges(case: Case) -> LeastCharges | str:
    """Return the least charges of a case's simulated bays, or why there are none."""
    from baypulse.observed.least_charges import least_charges

    if case.run.chamber != "bay":
        return ""
    try:
        with one_line_warnings(), compiling_notice():
            return least_charges(case, workers=os.cpu_count() or 1)
    except BaypulseError as error:
        return str(error)


def _worth(found: LeastCharges) -> list[Ranked]:
    """Return the measurements that are worth it, the best first."""
    return [each for each in found.ranked if each.narrows >= WORTH_IT]


def _next_measurements(case: Case, found: LeastCharges | str) -> list[str]:
    """Return what to measure next of a bay, as lines of text; nothing for a vessel."""
    if not found:
        return []
    lines = ["What to measure next"]
    if isinstance(found, str):
        return [*lines, *_wrapped(f"Not known: {found}")]
    lines += _wrapped(_range(found))
    worth = _worth(found)
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
