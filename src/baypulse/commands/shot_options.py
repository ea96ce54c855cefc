"""The option ``--shots``, and the file of shots beside a case."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from baypulse.commands.case_files import Told, named_cases
from baypulse.commands.each_case import Study, each_case
from baypulse.commands.options import asked_reliability, whole
from baypulse.errors import CaseError
from baypulse.terminal import Refused, say

if TYPE_CHECKING:
    from baypulse.case.casefile.shot_file import ShotRow
    from baypulse.case.model import Case
    from baypulse.members.blocks import Progress
    from baypulse.observed.build_weights import WeighedBuilds
    from baypulse.observed.shot_log import ShotLog


def add_shots(parser: argparse.ArgumentParser) -> None:
    """Add where the shots of a case stand."""
    parser.add_argument(
        "--shots", metavar="FILE", default=None,
        help="shots that were fired, TOML or CSV (default: CASE.shots.toml beside the case, where "
        "there is one)",
    )  # fmt: skip


def add_without(parser: argparse.ArgumentParser) -> None:
    """Add how to leave out the shots beside a case."""
    parser.add_argument(
        "--no-shots", action="store_true", help="leave out the shots that stand beside the case"
    )


def add_charge_and_pins(parser: Any) -> None:
    """Add the charge and the pins of a shot, to a parser or a group of its options."""
    parser.add_argument("--charge", metavar="CHARGE",
                        help='of the shot, such as "0.60 g" (default: the case\'s)')  # fmt: skip
    parser.add_argument("--pins", type=whole(0, 24), metavar="N",
                        help="how many it had (default: the case's)")  # fmt: skip


def typed_shot(chosen: argparse.Namespace, case: Case, **more: Any) -> ShotRow:
    """Return the shot that ``--saw``, ``--charge`` and ``--pins`` tell of.

    Parameters
    ----------
    chosen : argparse.Namespace
        With ``saw``, ``charge`` and ``pins``.
    case : Case
        Whose shot it is.
    **more
        What else is known of it, by the names of :class:`ShotRow`.

    Raises
    ------
    Refused
        With everything that is impossible about it, a line each.
    """
    from baypulse.case.casefile.shot_file import ShotRow
    from baypulse.members.parts import StudyError
    from baypulse.observed.shot_log import asked_charge, problems

    text = (chosen.charge or "").strip()
    charge, wrong = None, []
    try:
        charge = asked_charge(case, text) if text else None
    except StudyError as error:
        wrong.append(str(error))
    row = ShotRow(charge=charge, pins=chosen.pins, saw=tuple(chosen.saw), **more)
    wrong += [f"--{key.partition('[')[0]}: {sentence}" for key, sentence in problems(case, row)]
    if wrong:
        raise Refused("\n".join(wrong))
    return row


def learnt_from(
    chosen: argparse.Namespace, files: Sequence[str], cases: Sequence[Case]
) -> Callable[[Case, Progress | None], WeighedBuilds | None]:
    """Read the shots of every case, and return what a study learns of a case's; None without any.

    Parameters
    ----------
    chosen : argparse.Namespace
        With ``shots``, ``no_shots``, ``seed`` and ``workers``.
    files, cases
        The file that each case was read from, and the cases.
    """
    found = logs(chosen, files, cases)

    def learnt(case: Case, progress: Progress | None) -> WeighedBuilds | None:
        from baypulse.observed.build_weights import learn

        log = found[cases.index(case)]
        if log is None:
            return None
        return learn(case, log, seed=chosen.seed, workers=chosen.workers, progress=progress)

    return learnt


def charges_of_each(chosen: argparse.Namespace, study: Study, compute: Callable[..., Any]) -> int:
    """Study the charges of every case, what its shots teach taken into account.

    Parameters
    ----------
    chosen : argparse.Namespace
        With the options of :func:`baypulse.commands.options.add_window`, :func:`add_shots` and
        :func:`add_without`.
    study : Study
        What is done with the findings.
    compute : callable
        From a case, the chance that is wanted and how its members are drawn, to findings.

    Returns
    -------
    int
        Exit code.
    """
    wanted = asked_reliability(chosen)
    cases, files = named_cases(chosen.cases)
    learnt = learnt_from(chosen, files, cases)
    return each_case(
        chosen, cases, files, study,
        lambda case, progress: compute(
            case, wanted=wanted, members=chosen.simulated_shots, seed=chosen.seed,
            workers=chosen.workers, learnt=learnt(case, progress), progress=progress,
        ),
    )  # fmt: skip


def place_of_shots(chosen: argparse.Namespace, file: str, case: Case) -> Path:
    """Return the file of a case's shots, which may not exist."""
    from baypulse.case.casefile.shot_file import shots_beside

    return Path(chosen.shots) if chosen.shots is not None else shots_beside(file, case)


def logs(
    chosen: argparse.Namespace, files: Sequence[str], cases: Sequence[Case]
) -> list[ShotLog | None]:
    """Read the shots of every case, None where there are none; all problems come out together.

    Parameters
    ----------
    chosen : argparse.Namespace
        With ``shots``, and perhaps ``no_shots``.
    files, cases
        The file that each case was read from, and the cases.
    """
    from baypulse.observed.shot_log import read_log

    left_out = getattr(chosen, "no_shots", False)
    if chosen.shots is not None and left_out:
        raise Refused("--shots and --no-shots: give one of them")
    if chosen.shots is not None and len(cases) > 1:
        raise Refused(
            f"--shots {chosen.shots}: these are the shots of one case, but {len(cases)} cases are "
            "given; name one, or keep the shots of each beside it as CASE.shots.toml"
        )
    found: list[ShotLog | None] = []
    wrong = False
    for file, case in zip(files, cases, strict=True):
        place = place_of_shots(chosen, file, case)
        if left_out or (chosen.shots is None and not place.exists()):
            found.append(None)
            continue
        try:
            found.append(read_log(place, case))
        except CaseError as error:
            wrong = True
            say(str(error), sys.stderr)
    if wrong:
        raise Told
    return found
