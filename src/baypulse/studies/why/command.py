"""The command ``why``: what most probably went wrong with a shot, and which test to make next."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

from baypulse.case import quantities
from baypulse.commands.case_files import named_cases
from baypulse.commands.each_case import GOOD, Study, each_case
from baypulse.commands.new_case_file import check_free, put
from baypulse.commands.options import add_command, add_common, whole
from baypulse.commands.shot_options import (
    add_charge_and_pins,
    add_shots,
    add_without,
    logs,
    place_of_shots,
    typed_shot,
)
from baypulse.terminal import Refused, say

if TYPE_CHECKING:
    from baypulse.case.model import Case
    from baypulse.members.answered import Answered
    from baypulse.members.blocks import Progress
    from baypulse.observed.shot_log import ShotLog
    from baypulse.studies.why.asked_shot import AskedShot
    from baypulse.studies.why.explanation import Explained

LEAST = 32
"""Fewest simulated shots of each cause that can be asked for."""

MOST = 1024
"""Most of them."""

HIGHEST_SHOT = 10_000
"""Highest number of a shot that is read; the log says which there are."""


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
        "are compared, inert ones first. Without --saw it is the last shot of the log that failed. "
        "Several cases are compared.",
        epilog='Example: baypulse why cases/bench-76.toml --saw "no separation" --saw "pins whole" '
        '--saw pop --charge "0.8 g". What can be said: baypulse why --list',
    )  # fmt: skip
    parser.add_argument(
        "--saw", action="append", metavar="TEXT", default=[],
        help='what was seen or measured, such as "no separation", pop or "moved 12 mm"; once for '
        "each thing (default: what the log says of its last shot that failed)",
    )  # fmt: skip
    add_charge_and_pins(parser)
    parser.add_argument("--shot", type=whole(1, HIGHEST_SHOT), metavar="N",
                        help="another shot of the log, by its number")  # fmt: skip
    parser.add_argument("--list", action="store_true", help="show what can be said, and stop")
    parser.add_argument("--causes", metavar="FILE",
                        help="list of causes in place of the one shipped")  # fmt: skip
    parser.add_argument("--write-causes", metavar="FILE",
                        help="write a copy of the list of causes to edit, and stop")  # fmt: skip
    parser.add_argument(
        "--simulated-shots", type=whole(LEAST, MOST), default=None, metavar="N",
        help=f"simulated shots of each cause at first, {LEAST} to {MOST} (default: 64); of each "
        "pair an eighth; more follow where they move the answer",
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
    _refuse_both(chosen)
    from baypulse.observed.build_weights import learn
    from baypulse.studies.why.cause_file import read
    from baypulse.studies.why.compute import MEMBERS
    from baypulse.studies.why.document import compare, document
    from baypulse.studies.why.explanation import answer

    listed = None if chosen.causes is None else read(chosen.causes)
    cases, files = named_cases(chosen.cases)
    # nothing is run before all of it is understood
    shots = [
        _asked(chosen, file, case, log)
        for file, case, log in zip(files, cases, logs(chosen, files, cases), strict=True)
    ]
    fired = [shot.case for shot in shots]

    def examine(case: Case, progress: Progress | None) -> Answered[Explained]:
        shot = shots[fired.index(case)]
        learnt = None if shot.earlier is None else learn(
            shot.built, shot.earlier, seed=chosen.seed, workers=chosen.workers, progress=progress
        )  # fmt: skip
        return answer(
            case, shot.seen, members=chosen.simulated_shots or MEMBERS, seed=chosen.seed,
            workers=chosen.workers, listed=listed, learnt=learnt, shot=shot, progress=progress,
        )  # fmt: skip

    study = Study("-why", document, compare, own=("why.csv",))
    return each_case(chosen, fired, files, study, examine)


def _refuse_both(chosen: argparse.Namespace) -> None:
    """Refuse what is told of a shot twice, or of none."""
    of_told = [name for name in ("charge", "pins") if getattr(chosen, name) is not None]
    wrong = [f"--{name}: a shot of the log has its own; leave it out, or tell of the shot with "
             "--saw in place of --shot" for name in of_told if chosen.shot is not None]  # fmt: skip
    if chosen.shot is not None and chosen.saw:
        wrong.append(
            f"--shot {chosen.shot} and --saw: what was seen of a shot of the log stands there; "
            "give one of them"
        )
    if chosen.shot is None and not chosen.saw:
        wrong += [f"--{name}: this is of a shot that --saw tells of; say what was seen of it"
                  for name in of_told]  # fmt: skip
    if chosen.no_shots and not chosen.saw:
        wrong.append("--no-shots: without the log, say what was seen of the shot with --saw")
    if wrong:
        raise Refused("\n".join(wrong))


def _asked(chosen: argparse.Namespace, file: str, case: Case, log: ShotLog | None) -> AskedShot:
    """Return the shot of a case that is asked about."""
    from baypulse.studies.why.asked_shot import shot_of_log, told_shot

    if chosen.saw:
        return told_shot(case, typed_shot(chosen, case), log)
    if log is None:
        raise Refused(
            f"why: --saw is missing, and there is no {place_of_shots(chosen, file, case)} with the "
            'shots of this case: say what was seen, such as --saw "no separation" --saw pop; '
            "baypulse why --list shows what can be said"
        )
    return shot_of_log(case, log, chosen.shot)


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
