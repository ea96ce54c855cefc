"""The command ``joints``: whether one opening's jerk, or drag, opens another joint of a rocket."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Any

from baypulse.commands.case_files import plain, read_rockets
from baypulse.commands.options import add_common, members
from baypulse.commands.study_runner import Reporter, each_case

if TYPE_CHECKING:
    from baypulse.case.rocket import Rocket
    from baypulse.members.blocks import Progress
    from baypulse.studies.joints.result import Joints


def add(commands: Any) -> None:
    """Add the command to the parser.

    Parameters
    ----------
    commands : argparse subparsers
        Of the command line.
    """
    joints = commands.add_parser(
        "joints", help="all joints of a flight: jerks of the cord, drag in coast",
        allow_abbrev=False,
        description="Hold the jerk of every opening against the pins and the friction of the "
        "joints that are still closed, and the drag of the coast against all of them: what each "
        "joint feels and holds, how it moves under the load, how often it parts, what would help. "
        "All of it in flight, whatever [setting] says in the cases.",
        epilog="Example: baypulse joints cases/rockets/saffron-plover.toml",
    )  # fmt: skip
    joints.add_argument("rockets", nargs="+", metavar="ROCKET", help="rocket file (TOML)")
    add_common(joints)
    joints.add_argument("--simulated-shots", type=members, default=2048, metavar="N",
                        help="shots behind each chance (default: 2048)")  # fmt: skip
    joints.set_defaults(work=_joints)


def _joints(chosen: argparse.Namespace) -> int:
    """Examine the joints of every rocket."""
    from baypulse.studies.joints import report as joints_report

    files = plain(chosen.rockets)
    rockets: list[Any] = read_rockets(files)

    def study(rocket: Any, progress: Progress | None) -> Joints:
        return _examined(rocket, chosen, progress)

    reporter = Reporter(
        ending="-joints",
        report=joints_report.JOINTS,
        summary=joints_report.summary,
        compare=joints_report.compare,
    )
    return each_case(chosen, rockets, files, reporter, study)


def _examined(rocket: Rocket, chosen: argparse.Namespace, progress: Progress | None) -> Joints:
    from baypulse.studies.joints.compute import joints

    return joints(
        rocket,
        members=chosen.simulated_shots,
        seed=chosen.seed,
        workers=chosen.workers,
        progress=progress,
    )
