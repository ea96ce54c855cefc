"""What somebody at a shell waits for, as ratios within this very run.

    python benchmarks/commands.py                # run and the import: half a minute, warm
    python benchmarks/commands.py --all          # the studies too: some minutes
    python benchmarks/commands.py --first        # the first run, with nothing compiled
    python benchmarks/commands.py --check        # exit 1 where a ratio exceeds what is allowed

A study is timed with no member's row kept (:mod:`baypulse.members.kept_rows`), and once more
with those of its first time, as somebody has it who asks again or goes on.

A time to the verdict or the answer ends when the last word of the caution can be read, one to the
report when the command ends. Both of ``run`` are set against a Python that only imports numpy and
matplotlib's figure; those of the studies against ``run``. The shortest of several counts, taken in
turns. Processor time is that of all processes of a command: on a busy machine it says more.
"""

from __future__ import annotations

import argparse
import os
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import NamedTuple

from baypulse.caution import CAUTION
from baypulse.members.kept_rows import FILE

ROOT = Path(__file__).parents[1]

CASE = str(ROOT / "cases" / "bench-76.toml")

SHOT = ("--charge", "1.2 g", "--saw", "separated", "--saw", "peak 17 psi")

STUDIES = {
    "check": ("check", CASE),
    "window": ("window", CASE),
    "plan": ("plan", CASE),
    "why": ("why", CASE, "--saw", "no separation", "--saw", "pins whole"),
    "shots": ("shots", CASE, "--shots", "bench.shots.toml"),
    "pins": ("pins", CASE),
    "scatter": ("scatter", CASE),
}
"""Commands beside ``run``, as typed; those that draw members take most of their time for these."""

MOST_REPEATS = 3
"""Timings of a study at the most, of which the best counts as that of ``run`` does."""

MOST = {"verdict": 2.5, "report": 4.0, "import": 1.0}
"""Allowed: verdict and report of ``run`` over the plain import, ours over that of numpy alone."""

FIRSTS = (
    ("first run", "one", ("run", CASE)),
    ("a window right after it", "one", ("window", CASE)),
    ("a window before all else", "another", ("window", CASE)),
)
"""What may come first: its name, the folder of its compiled code, and what is typed."""

FIRST = 10.0
"""Wanted of a first run on two quiet cores [s]; printed beside what it takes, and not checked."""


class Waited(NamedTuple):
    """What a command takes.

    Attributes
    ----------
    verdict, report : float
        Until its caution can be read, and until it ends [s].
    processor : float
        Of it and all it has started [s].
    """

    verdict: float
    report: float
    processor: float


def waited(arguments: Sequence[str], folder: str, **more: str) -> Waited:
    """Run Python with arguments in a folder, and time it."""
    last = CAUTION.split()[-1].encode()
    begin = time.perf_counter()
    before = os.times()
    # what is installed has its bytecode; without it every start would compile all our sources
    bytecode = {"PYTHONDONTWRITEBYTECODE": "", "PYTHONPYCACHEPREFIX": str(Path(folder, "bytecode"))}
    own = {**bytecode, **more}
    started = subprocess.Popen(
        [sys.executable, *arguments], cwd=folder, stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL, env={**os.environ, **own},
    )  # fmt: skip
    assert started.stdout is not None
    verdict, seen = float("nan"), b""
    while text := os.read(started.stdout.fileno(), 65536):
        seen += text
        if verdict != verdict and last in seen.split():
            verdict = time.perf_counter() - begin
    if started.wait():
        raise SystemExit(f"{' '.join(arguments)} ended with {started.returncode}")
    after = os.times()
    spent = after.children_user + after.children_system
    spent -= before.children_user + before.children_system
    return Waited(verdict, time.perf_counter() - begin, spent)


def in_turns(repeats: int, *actions: Callable[[], Waited]) -> list[Waited]:
    """Return the shortest times of each of several, taken in turns."""
    rounds = [[action() for action in actions] for _ in range(repeats)]
    return [Waited(*(min(column) for column in zip(*each, strict=True)))
            for each in zip(*rounds, strict=True)]  # fmt: skip


def own_code(folder: Path) -> Path:
    """Return a folder in another one with the compiled core of now, and no members' rows."""
    from baypulse.physics.core_folder import CORE, FOLDER

    found = folder / "code"
    shutil.copytree(FOLDER, found / CORE, ignore=shutil.ignore_patterns(f"{FILE}*"))
    return found


def forget_members(code: str, folder: str) -> None:
    """Remove the members' rows beside compiled code, and those that a scatter's report keeps."""
    for rows in Path(code).rglob(f"{FILE}*"):
        rows.unlink()
    shutil.rmtree(Path(folder, "reports"), ignore_errors=True)


def compiled_in(place: str, folder: str) -> None:
    """Wait until what compiles into a folder beside commands has ended."""
    if place:
        own = {"NUMBA_CACHE_DIR": str(Path(folder, place))}
        waited(("-m", "baypulse.compile"), folder, **own)


def main() -> int:
    """Time the commands."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--all", action="store_true", help="time the studies too")
    parser.add_argument("--first", action="store_true", help="time a first run")
    parser.add_argument("--check", action="store_true", help="fail where a ratio is too large")
    parser.add_argument("--repeats", type=int, default=7, help="timings of which the best counts")
    chosen = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:

        def plain(program: str) -> Callable[[], Waited]:
            return lambda: waited(("-c", program), folder)

        def command(*words: str) -> Waited:
            return waited(("-m", "baypulse", *words), folder)

        waited(("-m", "baypulse.compile"), folder)
        command("run", CASE)
        drawing, numpy, ours, run = in_turns(
            chosen.repeats, plain("import numpy, matplotlib.figure"), plain("import numpy"),
            plain("import baypulse"), lambda: command("run", CASE),
        )  # fmt: skip
        ratios = {
            "verdict": run.verdict / drawing.report,
            "report": run.report / drawing.report,
            "import": ours.report / numpy.report,
        }
        print(f"import numpy, matplotlib.figure  {drawing.report:6.2f} s, "
              f"processor {drawing.processor:.2f} s")  # fmt: skip
        print(f"run, shell to verdict            {run.verdict:6.2f} s")
        print(f"run, shell to report             {run.report:6.2f} s, "
              f"processor {run.processor:.2f} s")  # fmt: skip
        for name, ratio in ratios.items():
            print(f"{name:33s}{ratio:6.2f} (allowed {MOST[name]:g})")
        if chosen.all:
            command("shots", CASE, "--shots", "bench.shots.toml", "--add", *SHOT)
            own = {"NUMBA_CACHE_DIR": str(own_code(Path(folder)))}
            for name, words in STUDIES.items():

                def again(words: Sequence[str] = words) -> Waited:
                    return waited(("-m", "baypulse", *words), folder, **own)

                def fresh(again: Callable[[], Waited] = again) -> Waited:
                    forget_members(own["NUMBA_CACHE_DIR"], folder)
                    return again()

                fresh()
                repeats = min(chosen.repeats, MOST_REPEATS)
                timed = zip(("", "again"), in_turns(repeats, fresh, again), strict=True)
                for when, found in timed:
                    print(f"{name:8s}{when:6s}answer {found.verdict:6.2f} s, report "
                          f"{found.report:6.2f} s, {found.verdict / run.report:5.1f} and "
                          f"{found.report / run.report:5.1f} of run; processor "
                          f"{found.processor:.2f} s")  # fmt: skip
                forget_members(own["NUMBA_CACHE_DIR"], folder)
        if chosen.first:
            # whoever has installed it has the bytecode of what compiles it, and of the studies
            firsts = ("", "spare", FIRSTS[0][2]), ("", "spare", FIRSTS[1][2]), *FIRSTS
            before = ""
            for name, place, words in firsts:
                if place != before:  # what still compiles beside others would be timed with them
                    compiled_in(before, folder)
                own = {"NUMBA_CACHE_DIR": str(Path(folder, place))}
                found = waited(("-m", "baypulse", *words), folder, **own)
                before = place
                if name:
                    print(f"{name:26s}answer {found.verdict:5.1f} s (wanted {FIRST:g}), report "
                          f"{found.report:5.1f} s; processor {found.processor:.1f} s")  # fmt: skip
            compiled_in(before, folder)
    late = [name for name, ratio in ratios.items() if ratio > MOST[name]]
    return int(chosen.check and bool(late))


if __name__ == "__main__":
    sys.exit(main())
