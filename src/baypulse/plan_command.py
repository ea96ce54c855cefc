"""The command that plans a ground test: ``plan``."""

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
    from baypulse.study.plan import Plan


def add(commands: Any) -> None:
    """Add the command to the parser.

    Parameters
    ----------
    commands : argparse subparsers
        Of the command line.
    """
    plan = commands.add_parser(
        "plan", help="a ground-test plan to print: which charges, and what to expect",
        allow_abbrev=False,
        description="Find the charge window of a bay and write a ground-test plan of two pages: "
        "a ladder of charges up to the one to prove with what each will do, what each outcome "
        "means for the next step, a checklist, and a record to fill in.",
        epilog="Example: baypulse plan cases/main-98.toml",
    )  # fmt: skip
    plan.add_argument("cases", nargs="+", metavar="CASE", help="case file (TOML)")
    add_common(plan)
    plan.add_argument(
        "--wanted", type=_wanted, default=0.99, metavar="CHANCE",
        help='chance of opening to plan for, such as "99.9 %%" (default: 99 %%)',
    )  # fmt: skip
    plan.add_argument(
        "--members", type=members, default=None, metavar="N",
        help="how many behind each end of the window (default: 2048, more for a high chance)",
    )  # fmt: skip
    plan.set_defaults(work=_plan)


def _wanted(text: str) -> float:
    """Read a chance, as a share or in percent."""
    try:
        return units.parse(text, "ratio")
    except UnitError as error:
        raise argparse.ArgumentTypeError(f'{error}; a chance is written "99 %" or 0.99') from None


def _plan(chosen: argparse.Namespace) -> int:
    """Plan the test of every case."""
    from baypulse.report import plans
    from baypulse.study.plan import plan
    from baypulse.study.window import WANTED

    low, high = WANTED
    if not low <= chosen.wanted <= high:
        raise Refused(
            f"--wanted: a chance of opening of {100.0 * chosen.wanted:.6g} % cannot be asked for; "
            f'it is one from {100.0 * low:g} % to {100.0 * high:g} %, such as "99 %" or 0.99'
        )
    files = expanded(chosen.cases)
    cases = read_cases(files)
    reporter = Reporter(
        ending="-plan",
        check=plans.check_plan_target,
        write=plans.write_plan,
        numbers=plans.plan_numbers,
        summary=plans.summary,
        compare=plans.compare,
    )

    def study(case: Case, progress: Progress | None) -> Plan:
        return plan(
            case, wanted=chosen.wanted, members=chosen.members, seed=chosen.seed,
            workers=chosen.workers, progress=progress,
        )  # fmt: skip

    return each_case(chosen, cases, files, reporter, study)
