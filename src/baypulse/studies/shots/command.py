"""The command that keeps the shots of a case and says what they teach: ``shots``."""

from __future__ import annotations

import argparse
import sys
from datetime import date as Date
from typing import TYPE_CHECKING, Any

from baypulse.commands.case_files import Told, expanded, read_cases
from baypulse.commands.each_case import GOOD, Study, each_case
from baypulse.commands.options import MOST_MEMBERS, add_command, add_common, whole
from baypulse.commands.shot_options import (
    add_charge_and_pins,
    add_shots,
    logs,
    place_of_shots,
    typed_shot,
)
from baypulse.errors import CaseError
from baypulse.terminal import Refused, say

if TYPE_CHECKING:
    from baypulse.case.model import Case
    from baypulse.members.answered import Answered
    from baypulse.members.blocks import Progress
    from baypulse.studies.shots.compute import ShotStudy

_OF_A_SHOT = ("saw", "charge", "pins", "date", "note")
"""Options that say something of one shot."""


def add(commands: Any) -> None:
    """Add the command to the parser.

    Parameters
    ----------
    commands : argparse subparsers
        Of the command line.
    """
    parser = add_command(
        commands, "shots", _shots,
        help="the shots that were fired, and what they teach",
        description="Read the shots that were fired of a case, with what was seen of each, and say "
        "what they teach: the chance of separation before and after them, whether they were "
        "expected, and which unknowns they narrow. With --add, write one more shot into the file.",
        epilog='Example: baypulse shots main-98.toml --add --charge "1.4 g" --saw separated '
        '--saw "velocity 9 m/s"',
    )  # fmt: skip
    add_shots(parser)
    add_common(parser)
    parser.add_argument("--simulated-shots", type=whole(256, MOST_MEMBERS), metavar="N",
                        help="bays to draw at first (default: 2048, more as needed)")  # fmt: skip
    parser.add_argument("--add", action="store_true",
                        help="write a shot into the file, and do nothing else")  # fmt: skip
    shot = parser.add_argument_group("the shot to add")
    shot.add_argument(
        "--saw", action="append", metavar="WHAT",
        help='what was seen, such as "separated" or "peak 11 psi"; as often as needed',
    )  # fmt: skip
    add_charge_and_pins(shot)
    shot.add_argument("--date", type=_date, metavar="DATE",
                      help="such as 2031-05-17 (default: today)")  # fmt: skip
    shot.add_argument("--note", metavar="TEXT", help="anything worth keeping")


def _shots(chosen: argparse.Namespace) -> int:
    """Add a shot, or say what the shots of every case teach."""
    files = expanded(chosen.cases)
    if chosen.add:
        return _add(chosen, files)
    given = [name for name in _OF_A_SHOT if getattr(chosen, name) is not None]
    if given:
        raise Refused(f"--{given[0]}: this is of a shot to add; give --add too")
    from baypulse.studies.shots.document import compare, document

    cases = read_cases(files)
    found = logs(chosen, files, cases)
    for file, case, log in zip(files, cases, found, strict=True):
        if log is None:
            raise Refused(
                f"there is no {place_of_shots(chosen, file, case)} with the shots of {case.name}; "
                "name their file with --shots, or write the first shot into it with --add"
            )

    def examine(case: Case, progress: Progress | None) -> Answered[ShotStudy]:
        from baypulse.observed.build_weights import MEMBERS
        from baypulse.studies.shots.compute import answer

        log = found[cases.index(case)]
        assert log is not None
        return answer(case, log, members=chosen.simulated_shots or MEMBERS, seed=chosen.seed,
                      workers=chosen.workers, progress=progress)  # fmt: skip

    told = Study("-shots", document, compare, own=("shots.csv",))
    return each_case(chosen, cases, files, told, examine)


def _add(chosen: argparse.Namespace, files: list[str]) -> int:
    """Write a shot behind those of a case."""
    from baypulse.observed.shot_log import add_shot

    if len(files) != 1:
        raise Refused(f"--add: a shot is one case's, but {len(files)} are given; name one")
    if not chosen.saw:
        raise Refused('--add: say what was seen, with --saw "separated" or the like')
    [case] = read_cases(files)
    place = place_of_shots(chosen, files[0], case)
    row = typed_shot(chosen, case, date=chosen.date or Date.today(), note=chosen.note or "")
    try:
        log = add_shot(place, case, row, (chosen.charge or "").strip())
    except CaseError as error:
        say(str(error), sys.stderr)
        say("baypulse: nothing was added", sys.stderr)
        raise Told from None
    say(f"added to {place}: shot {len(log)}")
    named = "" if chosen.shots is None else f" --shots {chosen.shots}"
    say(f"baypulse shots {files[0]}{named} says what they teach")
    return GOOD


def _date(text: str) -> Date:
    try:
        return Date.fromisoformat(text)
    except ValueError:
        raise argparse.ArgumentTypeError(f'"{text}" is no date such as 2031-05-17') from None
