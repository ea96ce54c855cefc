"""What the parts of benchmarks/growth.py share: a process of its own, the fitted law, a table.

Linux only: Windows has no ``resource``, and others count memory in another unit.
"""

from __future__ import annotations

import os
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import NamedTuple

import numpy as np

ROOT = Path(__file__).parents[1]

BENCH = ROOT / "cases" / "bench-76.toml"
"""The case whose members, charges and bays are counted."""


class Spent(NamedTuple):
    """What a process took.

    Attributes
    ----------
    processor, wall : float
        Times [s].
    memory : float
        Peak of resident memory [bytes], of the largest process of it.
    stopped : bool
        Whether it was stopped for its processor time.
    said : str
        What it printed.
    """

    processor: float
    wall: float
    memory: float
    stopped: bool
    said: str


def spent(arguments: Sequence[str], folder: str | Path, longest: int | None = None) -> Spent:
    """Run Python with arguments in a folder, up to so much processor time [s]."""

    def limit() -> None:
        if longest is not None:
            resource.setrlimit(resource.RLIMIT_CPU, (longest, longest))

    begin = time.perf_counter()
    with tempfile.TemporaryFile("w+") as said:
        started = subprocess.Popen(
            [sys.executable, *arguments], cwd=folder, stdout=said, stderr=subprocess.STDOUT,
            preexec_fn=limit,
        )  # fmt: skip
        _, status, used = os.wait4(started.pid, 0)
        wall = time.perf_counter() - begin
        started.returncode = os.waitstatus_to_exitcode(status)
        said.seek(0)
        text = said.read()
    processor = used.ru_utime + used.ru_stime
    stopped = started.returncode < 0 and longest is not None and processor > 0.95 * longest
    if started.returncode and not stopped:
        raise SystemExit(f"{' '.join(arguments)} ended with {started.returncode}: {text}")
    return Spent(processor, wall, used.ru_maxrss * 1024, stopped, text)


def exponent(sizes: Sequence[float], costs: Sequence[float]) -> tuple[float, Callable]:
    """Return the exponent of the power law fitted to costs, and the law."""
    slope, start = np.polyfit(np.log(sizes), np.log(costs), 1)
    return float(slope), lambda size: float(np.exp(start + slope * np.log(size)))


def table(heads: Sequence[str], rows: Sequence[Sequence[str]]) -> None:
    """Print a table."""
    widths = [max(len(row[k]) for row in [heads, *rows]) for k in range(len(heads))]
    for row in [heads, *rows]:
        print("  " + "  ".join(f"{cell:>{width}}" for cell, width in zip(row, widths, strict=True)))
