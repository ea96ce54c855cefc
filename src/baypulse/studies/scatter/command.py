"""The command ``scatter``: a case's chances, from thousands of members."""

from __future__ import annotations

import argparse
import shutil
import sys
from collections.abc import Iterator
from concurrent.futures import Executor
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

from baypulse.commands.case_files import expanded, read_cases
from baypulse.commands.options import add_common, members, print_json
from baypulse.commands.report_folders import report_folders, write
from baypulse.terminal import Refused, compiling_notice, one_line_warnings, say

if TYPE_CHECKING:
    from baypulse.members.ensemble import Ensemble
    from baypulse.members.store import Store


def add(commands: Any) -> None:
    """Add the command to the parser.

    Parameters
    ----------
    commands : argparse subparsers
        Of the command line.
    """
    scatter = commands.add_parser(
        "scatter", help="the chance of each verdict, and what drives it", allow_abbrev=False,
        description="Draw thousands of simulated shots of a case from its spreads and the "
        "library's, run all of them, and write a report: the chance of each verdict, how the "
        "numbers and curves scatter, and which measurement would narrow the answer most.",
        epilog="Example: baypulse scatter cases/main-98.toml",
    )  # fmt: skip
    scatter.add_argument("cases", nargs="+", metavar="CASE", help="case file (TOML)")
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
    scatter.set_defaults(work=_scatter)


def _scatter(chosen: argparse.Namespace) -> int:
    """Scatter every case."""
    from baypulse.show.study_folder import PAGE
    from baypulse.studies.scatter import data, text
    from baypulse.studies.scatter import report as studies

    files = expanded(chosen.cases)
    cases = read_cases(files)
    root = Path(chosen.out or "reports")
    folders = report_folders(cases, files, root, studies.SCATTER.check, "-scatter")
    if chosen.dask is not None and len(cases) > 1:
        raise Refused("with --dask give one case at a time")
    found = []
    for case, folder in zip(cases, folders, strict=True):
        with one_line_warnings(), compiling_notice():
            from baypulse.members.ensemble import Ensemble
            from baypulse.studies.scatter import compute as scatter

            ensemble = Ensemble(case, chosen.simulated_shots, chosen.seed, chosen.sampling)
            store = _members_of(chosen, ensemble, folder / studies.MEMBERS)
            result = scatter.examine(ensemble, store, workers=chosen.workers, rare=chosen.rare)
        write(studies.SCATTER.write, result, folder)
        if chosen.json:
            found.append(data.scatter_numbers(result))
        else:
            say(text.summary(result), end="")
            say(f"\nreport: {folder / PAGE}\n" + "\n" * (len(cases) > 1), end="")
    if chosen.json:
        print_json(found, several=len(cases) > 1)
    return 0


def _members_of(chosen: argparse.Namespace, ensemble: Ensemble, place: Path) -> Store:
    """Run the members, or go on with those that were run."""
    from baypulse.members import blocks
    from baypulse.studies.scatter import compute as scatter

    resume = chosen.resume or _reusable(place, ensemble.identity)
    try:
        with _executor(chosen) as (executor, workers), blocks.bar(sys.stderr) as progress:
            return scatter.run_scatter(
                ensemble, place, executor, workers=workers, resume=resume, progress=progress
            )
    except KeyboardInterrupt:
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
    from baypulse.members import blocks, cluster

    if chosen.dask is not None:
        with cluster.dask(chosen.dask) as found:
            yield found
    else:
        with blocks.threads(chosen.workers) as pool:
            yield pool, chosen.workers
