"""Options of the commands that need a flight: a logger's file in place of the case's ascent."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from baypulse.case import quantities
from baypulse.commands.options import system_of
from baypulse.terminal import Refused

if TYPE_CHECKING:
    from baypulse.case.logs import Flight
    from baypulse.case.model import Case


def add_flight(parser: argparse.ArgumentParser) -> None:
    """Add what is asked of a logger's file."""
    parser.add_argument(
        "--log", metavar="FILE", default=None,
        help="logger's file (CSV) with time and altitude or pressure, in place of [ascent]",
    )  # fmt: skip
    for name, example in (("time", "t [s]"), ("altitude", "Alt [ft]"), ("pressure", "P [hPa]")):
        parser.add_argument(
            f"--{name}-column", metavar="NAME", default=None,
            help=f'column of the {name}, with its unit if need be, such as "{example}" '
            "(default: guessed, and said)",
        )  # fmt: skip


def flights(chosen: argparse.Namespace, cases: Sequence[Case]) -> Callable[[Case], Flight | None]:
    """Return what gives the logged flight as a case's pad has it; None without a log.

    Parameters
    ----------
    chosen : argparse.Namespace
        With the options of :func:`add_flight`.
    cases : sequence of Case
        The cases.

    Raises
    ------
    baypulse.errors.LogError
        If the file cannot be understood.
    """
    columns = {name: getattr(chosen, f"{name}_column") for name in ("time", "altitude", "pressure")}
    if chosen.log is None:
        given = next((name for name, column in columns.items() if column is not None), None)
        if given is not None:
            raise Refused(f"--{given}-column names a column of a logger's file: give it with --log")
        return lambda case: None
    from baypulse.case.logs import read_flight
    from baypulse.observed.same_day import at_pad

    def read(pad: float) -> Flight:
        return read_flight(chosen.log, pad_altitude=pad, **columns)

    # before any study begins, and each pad once: a bad file is told at once
    pads = {at_pad(case).surroundings.altitude for case in cases}
    with quantities.written_in(system_of(chosen, cases[0])):
        read_for = {pad: read(pad) for pad in pads}
    return lambda case: read_for[at_pad(case).surroundings.altitude]
