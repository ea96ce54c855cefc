"""The command ``why``: what most probably went wrong with a shot, and which test to make next."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import Any

from baypulse.case import quantities
from baypulse.commands.case_files import named_cases
from baypulse.commands.each_case import GOOD, Study, each_case
from baypulse.commands.new_case_file import check_free, put
from baypulse.commands.options import add_command, add_common, whole
from baypulse.commands.shot_options import add_shots, add_without, learnt_from
from baypulse.terminal import Refused, say

LEAST = 32
"""Fewest simulated shots of each cause that can be asked for."""

MOST = 1024
"""Most of them."""


def add(commands: Any) -> None:
    """Add the command to the parser.

    Parameters
    ----------
    commands : argparse subparsers
        Of the command line.
    """
    parser = add_command(
        commands, "why", _why, number="*",
        help="why a shot failed: chance of each cause, and the next test",
        description="Say what was seen of a shot: every cause of the list, and every pair of them, "
        "is simulated in this case, and gets a chance. Then the tests that tell the causes apart "
        "are compared, inert ones first. Several cases are compared.",
        epilog='Example: baypulse why cases/bench-76.toml --saw "no separation" --saw "pins whole" '
        "--saw pop. What can be said: baypulse why --list",
    )  # fmt: skip
    parser.add_argument(
        "--saw", action="append", metavar="TEXT", default=[],
        help='what was seen or measured, such as "no separation", pop or "moved 12 mm"; once for '
        "each thing",
    )  # fmt: skip
    parser.add_argument("--list", action="store_true", help="show what can be said, and stop")
    parser.add_argument("--causes", metavar="FILE",
                        help="list of causes in place of the one shipped")  # fmt: skip
    parser.add_argument("--write-causes", metavar="FILE",
                        help="write a copy of the list of causes to edit, and stop")  # fmt: skip
    parser.add_argument(
        "--simulated-shots", type=whole(LEAST, MOST), default=None, metavar="N",
        help=f"simulated shots of each cause, {LEAST} to {MOST} (default: 256); of each pair an "
        "eighth",
    )  # fmt: skip
    add_shots(parser)
    add_without(parser)
    add_common(parser)


def _why(chosen: argparse.Namespace) -> int:
    """Explain the shot of every case."""
    if chosen.list:
        say(_vocabulary())
        return GOOD
    if chosen.write_causes is not None:
        return _write_causes(chosen.write_causes)
    if not chosen.cases:
        raise Refused("why: name a case file; baypulse why --list shows what can be said of a shot")
    if not chosen.saw:
        raise Refused(
            'why: --saw is missing: say what was seen of the shot, such as --saw "no separation" '
            "--saw pop; baypulse why --list shows what can be said"
        )
    from baypulse.observed.sightings import sightings
    from baypulse.studies.why.cause_file import read
    from baypulse.studies.why.compute import MEMBERS
    from baypulse.studies.why.document import compare, document
    from baypulse.studies.why.explanation import explained

    listed = None if chosen.causes is None else read(chosen.causes)
    cases, files = named_cases(chosen.cases)
    for case in cases:
        # nothing is run before all of it is understood
        sightings(case, chosen.saw)

    earlier = learnt_from(chosen, files, cases)

    return each_case(
        chosen, cases, files, Study("-why", document, compare, own=("why.csv",)),
        lambda case, progress: explained(
            case, sightings(case, chosen.saw), members=chosen.simulated_shots or MEMBERS,
            seed=chosen.seed, workers=chosen.workers, listed=listed,
            learnt=earlier(case, progress), progress=progress,
        ),
    )  # fmt: skip


def _vocabulary() -> str:
    """Return all that can be said, a line for each kind."""
    from baypulse.observed.sightings import kinds

    lines = ['What can be said of a shot, each as --saw "...":', ""]
    for kind in kinds().values():
        if kind.answers:
            said = ", ".join(f'"{answer}"' for answer in kind.answers)
        else:
            low, high = (quantities.show(v, kind.dimension) for v in (kind.low, kind.high))
            said = f'"{kind.words[0]}" and a number with its unit, from {low} to {high}'
        lines += [f"{kind.title[:1].upper()}{kind.title[1:]}:", f"    {said}"]
    lines += [
        "",
        'A number may have its error: "velocity 6 m/s +- 1 m/s". Say only what was really seen:',
        "one answer of each kind, and none where nobody looked.",
    ]
    return "\n".join(lines)


def _write_causes(given: str) -> int:
    """Write the list of causes that is shipped: whole under another name first, then in a step."""
    from importlib import resources

    new = Path(given)
    check_free(new, "--write-causes")
    text = (resources.files("baypulse") / "studies" / "why" / "causes.toml").read_text(
        encoding="utf-8"
    )
    put(text, new, "--write-causes")
    say(f"causes: {new}; use it with --causes {new}", sys.stdout)
    return GOOD
