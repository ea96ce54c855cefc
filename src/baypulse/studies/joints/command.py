"""The command ``joints``: whether one opening's jerk, or drag, opens another joint of a rocket."""

from __future__ import annotations

import argparse
from functools import partial
from typing import Any

from baypulse.commands.case_files import plain, read_rockets
from baypulse.commands.each_case import Study, each_case
from baypulse.commands.options import add_common, members


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
    from baypulse.studies.joints.compute import joints
    from baypulse.studies.joints.document import compare, document

    examine = partial(
        joints, members=chosen.simulated_shots, seed=chosen.seed, workers=chosen.workers
    )
    files = plain(chosen.rockets)
    told = Study("-joints", document, compare)
    return each_case(chosen, read_rockets(files), files, told, examine)
