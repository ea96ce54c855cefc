"""The command that plans a ground test: ``plan``."""

from __future__ import annotations

import argparse
from typing import Any

from baypulse.commands.each_case import Study
from baypulse.commands.options import add_command, add_window
from baypulse.commands.shot_options import add_shots, add_without, charges_of_each


def add(commands: Any) -> None:
    """Add the command to the parser.

    Parameters
    ----------
    commands : argparse subparsers
        Of the command line.
    """
    plan = add_command(
        commands, "plan", _plan,
        help="a ground-test plan to print: which charges, and what to expect",
        description="Find the charge window of a bay and write a ground-test plan of two pages: "
        "a ladder of charges up to the ground-test charge with what each will do, what each "
        "outcome means for the next step, a checklist, and a record to fill in. Shots that were "
        "fired are taken into account.",
        epilog="Example: baypulse plan cases/main-98.toml",
    )  # fmt: skip
    add_window(plan)
    add_shots(plan)
    add_without(plan)


def _plan(chosen: argparse.Namespace) -> int:
    """Plan the test of every case."""
    from baypulse.studies.plan.compute import plan
    from baypulse.studies.plan.document import compare, document, picture

    told = Study("-plan", document, compare, picture, own=("plan.pdf",))
    return charges_of_each(chosen, told, plan)
