"""The command ``sweep``: a case over one or two of its inputs."""

from __future__ import annotations

import argparse
from functools import partial
from typing import Any

from baypulse.commands.case_files import expanded, read_cases
from baypulse.commands.each_case import Study, each_case
from baypulse.commands.options import add_command, add_common, members
from baypulse.terminal import Refused


def add(commands: Any) -> None:
    """Add the command to the parser.

    Parameters
    ----------
    commands : argparse subparsers
        Of the command line.
    """
    sweep = add_command(
        commands, "sweep", _sweep, number=1,
        help="a case over one or two of its inputs",
        description="Run a case over one or two of its inputs and draw curves or maps with the "
        "limits in them; with --simulated-shots, chances.",
        epilog='Example: baypulse sweep cases/main-98.toml --over "powder.mass=0.6 g..2 g" '
        '--over "pins.count=2..5"',
    )  # fmt: skip
    sweep.add_argument(
        "--over", action="append", required=True, metavar="KEY=RANGE",
        help='input and range, such as "powder.mass=0.4 g..1.2 g" or "pins.count=2,3,4"; give it '
        "twice for a map",
    )  # fmt: skip
    add_common(sweep)
    sweep.add_argument("--simulated-shots", type=members, default=1, metavar="N",
                       help="simulated shots at each point (default: 1, nothing "
                       "scatters)")  # fmt: skip


def _sweep(chosen: argparse.Namespace) -> int:
    """Sweep a case."""
    from baypulse.studies.sweep.axes import axis
    from baypulse.studies.sweep.document import document

    if len(chosen.over) > 2:
        raise Refused("--over can be given once or twice")
    files = expanded(chosen.cases)
    if len(files) > 1:
        raise Refused(f"{chosen.cases[0]} means {len(files)} cases; sweep one at a time")
    cases = read_cases(files)
    axes = [axis(cases[0], text, len(chosen.over)) for text in chosen.over]

    from baypulse.studies.sweep.compute import sweep

    examine = partial(
        sweep, over=axes, members=chosen.simulated_shots, seed=chosen.seed, workers=chosen.workers
    )
    told = Study("-sweep", document, own=("sweep.csv",))
    return each_case(chosen, cases, files, told, examine)
