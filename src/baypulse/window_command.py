"""The command that finds how much is enough and how much is too much: ``window``."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Any

from baypulse import units
from baypulse.case_files import expanded, read_cases
from baypulse.command_options import add_common, members
from baypulse.errors import UnitError
from baypulse.study_runner import Reporter, each_case
from baypulse.terminal import Refused

if TYPE_CHECKING:
    from baypulse.model import Case
    from baypulse.study.blocks import Progress
    from baypulse.study.windows import Window


def add(commands: Any) -> None:
    """Add the command to the parser.

    Parameters
    ----------
    commands : argparse subparsers
        Of the command line.
    """
    parser = commands.add_parser(
        "window", help="the least and the most charge, one to prove, and a backup",
        allow_abbrev=False,
        description="Find the least charge that opens a bay with a wanted chance and the most "
        "before a limit is passed; a charge to prove on the ground, a backup, and what both and "
        "the static rule's charge would do. Several cases are compared at the end.",
        epilog='Example: baypulse window cases/main-98.toml --wanted "99.9 %"',
    )  # fmt: skip
    parser.add_argument("cases", nargs="+", metavar="CASE", help="case file (TOML)")
    parser.add_argument(
        "--wanted", type=_wanted, default=0.99, metavar="CHANCE",
        help='chance of opening, such as "99.9 %%" (default: 99 %%); a limit may be passed with '
        "the rest of it",
    )  # fmt: skip
    add_common(parser)
    parser.add_argument(
        "--members", type=members, default=None, metavar="N",
        help="how many behind each end (default: 2048, more for a high chance)",
    )  # fmt: skip
    parser.set_defaults(work=_window)


def _wanted(text: str) -> float:
    """Read a chance, as a share or in percent."""
    try:
        return units.parse(text, "ratio")
    except UnitError as error:
        raise argparse.ArgumentTypeError(f'{error}; a chance is written "99 %" or 0.99') from None


def _window(chosen: argparse.Namespace) -> int:
    """Find the window of every case."""
    from baypulse.report import windows
    from baypulse.study.window import WANTED, window

    low, high = WANTED
    if not low <= chosen.wanted <= high:
        raise Refused(
            f"--wanted: a chance of opening of {100.0 * chosen.wanted:.6g} % cannot be asked for; "
            f'it is one from {100.0 * low:g} % to {100.0 * high:g} %, such as "99 %" or 0.99'
        )
    files = expanded(chosen.cases)

    def study(case: Case, progress: Progress | None) -> Window:
        return window(
            case, wanted=chosen.wanted, members=chosen.members, seed=chosen.seed,
            workers=chosen.workers, progress=progress,
        )  # fmt: skip

    reporter = Reporter(
        ending="-window",
        check=windows.check_window_target,
        write=windows.write_window,
        numbers=windows.window_numbers,
        summary=windows.summary,
        compare=windows.comparison,
    )
    return each_case(chosen, read_cases(files), files, reporter, study)
