"""The command that writes a case to begin with: ``new``."""

from __future__ import annotations

import argparse
import os
import sys
import textwrap
from pathlib import Path
from typing import TYPE_CHECKING, Any

from baypulse.case import quantities
from baypulse.case.first_values import FIRST_VALUES, FirstValue
from baypulse.caution import CAUTION
from baypulse.commands import new_case_file
from baypulse.errors import CaseError, Problem
from baypulse.terminal import Refused, one_line_warnings, say

if TYPE_CHECKING:
    from baypulse.case.new_case import NewCase

_WIDTH = 88


def add(commands: Any) -> None:
    """Add the command to the parser.

    Parameters
    ----------
    commands : argparse subparsers
        Of the command line.
    """
    parser = commands.add_parser(
        "new", help="write a short case to begin with", allow_abbrev=False,
        description="Write a short case that runs as it is, from what was measured. At a terminal "
        "it asks for what no option gives; Enter means not measured. Elsewhere what is not given "
        "is an example or a typical value, marked as one. An existing file is never overwritten.",
        epilog='Example: baypulse new my-bay.toml --bore "3 in" --tube-length "12 in" '
        '--extraction-force "3 lb"',
    )  # fmt: skip
    parser.add_argument("file", nargs="?", default="my-bay.toml", metavar="FILE",
                        help="file to write (default: my-bay.toml)")  # fmt: skip
    for each in FIRST_VALUES:
        words = " or a word" if each.word_key else ""
        parser.add_argument(each.option, dest=each.path, metavar="VALUE",
                            help=f"{each.what} ({each.how}){words}")  # fmt: skip
    parser.add_argument("--cold-gas", action="store_true", help="compressed gas in place of powder")
    parser.add_argument("--units", choices=(quantities.SI, quantities.US), default=None,
                        help="units of what is typical (default: those of the bore)")  # fmt: skip
    parser.set_defaults(work=_new)


def _new(chosen: argparse.Namespace) -> int:
    """Write a new case."""
    from baypulse.case.new_case import NewCase

    place = _free(chosen.file)
    new = NewCase(chosen.units, cold_gas=chosen.cold_gas)
    _take_options(new, chosen)
    asks = sys.stdin is not None and sys.stdin.isatty()
    if asks:
        say(textwrap.fill(CAUTION, _WIDTH) + "\n")
        say("Enter takes what stands in brackets. Type a value with its unit, as you read it.\n")
        _ask(new)
    while problems := _problems(new):
        said = [f"{problem.key}: {problem.text}" for problem in problems]
        paths = {problem.key for problem in problems} & {each.path for each in FIRST_VALUES}
        if not asks or not paths:
            raise _refusal(said)
        say("\n".join(said))
        new.forget(paths)
        _ask(new)
    new_case_file.put(new.text(), place, "new")
    say(f'wrote {place}; change it, then: baypulse check "{place}", baypulse run "{place}"')
    return 0


def _take_options(new: NewCase, chosen: argparse.Namespace) -> None:
    """Take what the options give; everything that is wrong comes out together."""
    wrong = []
    for each in FIRST_VALUES:
        text = getattr(chosen, each.path)
        said = "" if text is None else new.take(each, text.strip())
        wrong += [f"{each.option}: {said}"] if said else []
    if chosen.cold_gas and getattr(chosen, "powder.mass") is not None:
        wrong.append("--charge: a reservoir takes the place of the powder; give one of the two")
    if wrong:
        raise _refusal(wrong)


def _refusal(said: list[str]) -> Refused:
    """Return everything that is wrong, a line each."""
    return Refused("\nbaypulse: ".join(said))


def _ask(new: NewCase) -> None:
    """Ask for everything that is open, until it is readable."""
    while remaining := new.open():
        first = remaining[0]
        say(_question(new, first), end="")
        sys.stdout.flush()
        line = sys.stdin.readline()
        if not line:
            raise Refused("stopped before the last answer; nothing is written")
        if line.strip():
            said = new.take(first, line.strip())
        elif first.needed:
            said = "nothing is typical here; measure it"
        else:
            said = ""
            new.leave(first)
        if said:
            say(f"  {said}")


def _question(new: NewCase, first: FirstValue) -> str:
    """Return one line: what, how to measure it, and what is typical for this size."""
    how, stand = first.how, new.typical(first)
    if first.word_key:
        forces = new.typical_forces(first)
        how += f"; {', '.join(f'{name} {force}' for name, force in forces.items())}"
    usual = "" if first.needed else f" [{stand.text if stand else 'not measured'}]"
    return f"{quantities.capital(first.what)} ({how}){usual}: "


def _problems(new: NewCase) -> list[Problem]:
    """Return what cannot be together in the case as it stands."""
    from baypulse.case.casefile import reads

    try:
        with one_line_warnings():
            reads(new.text(), "new", "new case")
    except CaseError as error:
        return list(error.problems)
    return []


def _free(given: str) -> Path:
    """Return where the case goes, or refuse a place that is taken or cannot hold it."""
    place = Path(given)
    if place.is_dir():
        raise Refused(f"{place} is a folder; give the name of a file to write")
    if os.path.lexists(place):
        raise Refused(f"{place} exists and is not overwritten; choose another name")
    if not place.parent.is_dir():
        raise Refused(f"there is no folder {place.parent} to write {place.name} in")
    return place
