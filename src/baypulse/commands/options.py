"""Options that the commands of the studies share."""

from __future__ import annotations

import argparse
import os
from collections.abc import Callable, Container, Sequence
from typing import TYPE_CHECKING, Any

from baypulse.case import quantities, units
from baypulse.case.model import Case
from baypulse.errors import BaypulseError, UnitError
from baypulse.terminal import Refused

if TYPE_CHECKING:
    from baypulse.case.rocket import Rocket

MOST_MEMBERS = 10**10
"""Most simulated shots that can be asked for."""

MOST_WORKERS = 1024
"""Most threads that can be asked for."""

RENAMED = {"--wanted": "--reliability", "--members": "--simulated-shots"}
"""Options that had another name: the old one and the new."""


def refuse_renamed(typed: Sequence[str], known: Container[str]) -> None:
    """Answer an option by its old name with the new one.

    Parameters
    ----------
    typed : sequence of str
        What was typed after the program's name.
    known : container of str
        Options of the command.

    Raises
    ------
    Refused
        At the first of them that the command has by its new name.
    """
    for word in typed:
        old = word.partition("=")[0]
        if old not in known and RENAMED.get(old) in known:
            raise Refused(f"{old} is now called {RENAMED[old]}; write that")


def add_command(
    commands: Any, name: str, work: Callable[[argparse.Namespace], int], *, number: str | int = "+",
    **told: str,
) -> argparse.ArgumentParser:  # fmt: skip
    """Add a command on case files to the command line.

    Parameters
    ----------
    commands : argparse subparsers
        Of the command line.
    name : str
        What is typed.
    work : callable
        Does it, from what was chosen to an exit code.
    number : str or int
        How many case files it takes, as argparse says it.
    **told : str
        Its ``help``, ``description`` and ``epilog``.
    """
    parser: argparse.ArgumentParser = commands.add_parser(name, allow_abbrev=False, **told)
    parser.add_argument("cases", nargs=number, metavar="CASE", help="case file (TOML)")
    parser.set_defaults(work=work)
    return parser


def add_common(parser: argparse.ArgumentParser) -> None:
    """Add what all studies of simulated shots are asked: where to, how told, seed and threads."""
    add_telling(parser)
    parser.add_argument("--seed", type=whole(0, 2**63), default=1, metavar="N",
                        help="the same seed draws the same shots (default: 1)")  # fmt: skip
    parser.add_argument("--workers", type=whole(1, MOST_WORKERS), metavar="N",
                        default=os.cpu_count() or 1,
                        help="threads (default: one for each core)")  # fmt: skip


def add_telling(parser: argparse.ArgumentParser) -> None:
    """Add where an answer goes and how it is told."""
    parser.add_argument("--out", metavar="DIR", default=None,
                        help="folder that gets the report's folder (default: reports)")  # fmt: skip
    parser.add_argument("--json", action="store_true",
                        help="print the numbers as JSON and nothing else; a report is then "
                        "written only with --out")  # fmt: skip
    parser.add_argument("--full", action="store_true",
                        help="print every table and note, not the first screen only")  # fmt: skip
    parser.add_argument("--units", choices=(quantities.SI, quantities.US), default=None,
                        help="which units come first (default: those of the case)")  # fmt: skip


def system_of(chosen: argparse.Namespace, case: Case | Rocket) -> str:
    """Return the units that come first: those asked for, else those of the case's bore.

    Parameters
    ----------
    chosen : argparse.Namespace
        With ``units``.
    case : Case or Rocket
        A rocket is taken by its first bay.
    """
    if chosen.units is not None:
        return str(chosen.units)
    return quantities.system_of(case if isinstance(case, Case) else case.bays[0].case)


def add_window(parser: argparse.ArgumentParser) -> None:
    """Add what all commands are asked that look for a window of charges."""
    add_common(parser)
    add_reliability(parser)
    parser.add_argument(
        "--simulated-shots", type=members, default=None, metavar="N",
        help="how many behind each end of the window (default: 1536, more for a high chance)",
    )  # fmt: skip


def add_reliability(parser: argparse.ArgumentParser) -> None:
    """Add the chance of separation that is asked for."""
    parser.add_argument(
        "--reliability", type=share, default=0.99, metavar="CHANCE",
        help='target chance of separation, such as "99.9 %%" (default: 99 %%); a limit may be '
        "exceeded with the rest of it",
    )  # fmt: skip


def asked_reliability(chosen: argparse.Namespace) -> float:
    """Return the chance that is asked for, or refuse an impossible one before anything is read."""
    from baypulse.members.member_count import check_chance

    try:
        check_chance(chosen.reliability)
    except BaypulseError as error:
        raise Refused(f'--reliability: {error}, such as "99 %" or 0.99') from None
    return float(chosen.reliability)


def share(text: str) -> float:
    """Read a share or a chance, plain or in percent."""
    return typed(text, "ratio", 'a share or a chance is written "99 %" or 0.99')


def altitudes(text: str) -> list[float]:
    """Read one altitude or several with commas between [m above sea level]."""
    form = 'an altitude is written "9 km" or "30000 ft", several "3 km, 9 km"'
    return [typed(part.strip(), "length", form) for part in text.split(",")]


def typed(text: str, dimension: str, form: str) -> float:
    """Read a value with its unit [SI], or refuse it with how it is written.

    Parameters
    ----------
    text : str
        As typed.
    dimension : str
        Its kind.
    form : str
        How it is written, a clause.
    """
    try:
        return units.parse(text, dimension)
    except UnitError as error:
        raise argparse.ArgumentTypeError(f"{error}; {form}") from None


def value_of(option: str, text: str, dimension: str) -> float:
    """Read the value of an option with its unit [SI], or refuse it by the option's name.

    Parameters
    ----------
    option : str
        As it is typed.
    text : str
        Its value.
    dimension : str
        Kind of that.
    """
    try:
        return units.parse(text, dimension)
    except UnitError as error:
        raise Refused(f"{option}: {error}") from None


def whole(low: int, high: int) -> Callable[[str], int]:
    """Return what reads a whole number in a range; 1e6 and 10_000 are whole numbers too."""

    def read(text: str) -> int:
        plain = text.replace("_", "")
        try:
            # a float would lose digits of a long seed
            value = int(plain) if plain.isdecimal() else float(plain)
            number = int(value)
        except (ValueError, OverflowError):
            number, value = -1, 0
        if number != value or not low <= number <= high:
            raise argparse.ArgumentTypeError(f'"{text}" is no whole number from {low} to {high}')
        return number

    return read


members = whole(1, MOST_MEMBERS)
"""Reads a number of simulated shots."""
