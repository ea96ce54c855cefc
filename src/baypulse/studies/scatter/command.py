"""The command ``scatter``: a case's chances, from thousands of members."""

from __future__ import annotations

import argparse
import shutil
import sys
from collections.abc import Iterator
from concurrent.futures import Executor
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Any

from baypulse.commands.case_files import named_cases
from baypulse.commands.each_case import Study, each_case
from baypulse.commands.options import add_command, add_common, members
from baypulse.terminal import Refused, say

if TYPE_CHECKING:
    from baypulse.case.model import Case
    from baypulse.members.answered import Answered
    from baypulse.members.blocks import Progress
    from baypulse.members.ensemble import Ensemble
    from baypulse.members.store import Store
    from baypulse.studies.scatter.result import Scatter

SHOTS = "simulated-shots"
"""Folder of the shots, beside the report; writing the report leaves it alone."""


def add(commands: Any) -> None:
    """Add the command to the parser.

    Parameters
    ----------
    commands : argparse subparsers
        Of the command line.
    """
    scatter = add_command(
        commands, "scatter", _scatter,
        help="the chance of each verdict, and what drives it",
        description="Draw thousands of simulated shots of a case from its spreads and the "
        "library's, run all of them, and write a report: the chance of each verdict, how the "
        "numbers and curves scatter, and which measurement would narrow the answer most.",
        epilog="Example: baypulse scatter cases/main-98.toml",
    )  # fmt: skip
    add_common(scatter)
    scatter.add_argument("--simulated-shots", type=members, default=10_000, metavar="N",
                         help="how many to run (default: 10000)")  # fmt: skip
    scatter.add_argument("--sampling", choices=("sobol", "latin"), default="sobol",
                         help="how simulated shots are drawn (default: sobol)")  # fmt: skip
    scatter.add_argument(
        "--rare", choices=("shut", "hard"), default=None,
        help="look for a chance of no separation or of one too hard that is too small to count",
    )  # fmt: skip
    scatter.add_argument("--resume", action="store_true",
                         help="go on with a run that was stopped")  # fmt: skip
    scatter.add_argument("--dask", metavar="ADDRESS", default=None,
                         help="run the simulated shots on this Dask cluster")  # fmt: skip


def _scatter(chosen: argparse.Namespace) -> int:
    """Scatter every case; its shots are kept beside its report, if there is one."""
    from baypulse.members.ensemble import Ensemble
    from baypulse.studies.scatter import compute
    from baypulse.studies.scatter.document import document

    cases, files = named_cases(chosen.cases)
    kept = not chosen.json or chosen.out is not None
    if chosen.dask is not None and len(cases) > 1:
        raise Refused("with --dask give one case at a time")
    if chosen.resume and not kept:
        raise Refused("with --json nothing is kept to go on with, unless --out says where")
    told = Study("-scatter", document, kept=(SHOTS,))
    with TemporaryDirectory() as aside:
        root = Path(chosen.out or ("reports" if kept else aside))
        folders = told.folders(cases, files, root)
        places = {case.name: folder / SHOTS for case, folder in zip(cases, folders, strict=True)}

        def examine(case: Case, progress: Progress | None) -> Answered[Scatter]:
            ensemble = Ensemble(case, chosen.simulated_shots, chosen.seed, chosen.sampling)
            store = _run(chosen, ensemble, places[case.name], progress)
            return compute.examine(ensemble, store, workers=chosen.workers, rare=chosen.rare)

        return each_case(chosen, cases, files, told, examine)


def _run(
    chosen: argparse.Namespace, ensemble: Ensemble, place: Path, progress: Progress | None
) -> Store:
    """Run the shots, or go on with those that were run."""
    from baypulse.studies.scatter.compute import run_scatter

    resume = chosen.resume or _reusable(place, ensemble.identity)
    try:
        with _executor(chosen) as (executor, workers):
            return run_scatter(
                ensemble, place, executor, workers=workers, resume=resume, progress=progress
            )
    except KeyboardInterrupt:
        if not chosen.json or chosen.out is not None:
            say(
                f"stopped; what is finished is kept in {place}. To go on: the same command with "
                "--resume",
                sys.stderr,
            )
        raise


def _reusable(place: Path, identity: dict[str, Any]) -> bool:
    """Say whether the very members that are asked for stand there; clear away a finished other.

    A finished run is replaced, like a report. An unfinished one is hours of somebody's time: the
    runner refuses to write over it.
    """
    from baypulse.members import parts
    from baypulse.members.store import Store, StudyError

    try:
        store = Store(place)
    except StudyError:
        return False
    ours = {parts.RUN, *(parts.name(part) for part in store.parts)}
    if not store.complete or set(parts.others(place)) - ours:
        return False
    if store.asked == identity:
        return True
    shutil.rmtree(place)
    return False


@contextmanager
def _executor(chosen: argparse.Namespace) -> Iterator[tuple[Executor, int]]:
    """Return what runs the blocks, and how many at once."""
    from baypulse.members import cluster
    from baypulse.members.pool import pool_of

    if chosen.dask is not None:
        with cluster.dask(chosen.dask) as found:
            yield found
    else:
        with pool_of(chosen.workers) as pool:
            yield pool, chosen.workers
