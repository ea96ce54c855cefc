"""How the cost of ensembles grows: with members, with charges, with bays; and every command's peak.

    python benchmarks/growth.py                   # all of it: some twenty minutes
    python benchmarks/growth.py --only members --only dask --most 1e6
    python benchmarks/growth.py --only memory --longest 3600

Each measurement is a process of its own, which says its processor time and its peak of resident
memory; this one stays small, since a process inherits the peak of the one that starts it. A series
is followed by the exponent of the power law fitted to it.

Members are run up to ``--most``; what stands beyond is continued by a law and marked so: one fitted
to the sizes that fill all threads, if two of them ran (a thousand members are one block, and so one
thread; on a machine with other work give 1e5 or more), and its wall time is that of threads as busy
as in the last run. Memory is not continued: once a part of the store is full it does not grow
(benchmarks/large-sweeps.md). A command that takes more than ``--longest`` of processor time with
many members is stopped there: its peak is then a lower bound. Wall times say something on a quiet
machine only, and the load before and after is printed; the parallel efficiency leaves out what
threads wait for a core that others have, by Linux's ``schedstat``.

What a scheduler of Dask takes for a task is "about 1ms of overhead" by its documentation
(https://distributed.dask.org/en/latest/, "Motivation"); what it and the client take together for a
block of ours is measured on a cluster on this machine, with members that cost nothing.
"""

from __future__ import annotations

import argparse
import json
import os
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from growth_commands import bays, memory
from growth_tools import BENCH, ROOT, Spent, exponent, spent, table

SIZES = tuple(10**k for k in range(3, 8))
"""Members of an ensemble."""

THREADS = 2

CHARGES = (1, 2, 4, 8, 16)
"""Numbers of charges that the same members are fired with."""

CHARGE_MEMBERS = 256

HUGE, CORES = 10**9, 1000
"""Members and cores of the cluster that is reckoned on paper."""

TASK = 1e-3
"""Time of Dask's scheduler for a task [s], by its documentation."""

CLUSTER_BLOCKS = 256
"""Blocks through a cluster on this machine."""


# what is measured within a process of its own


def ensemble_here(members: str, threads: str) -> dict[str, float]:
    """Run members of the bench case as ``scatter`` does; return what that took."""
    import baypulse
    from baypulse.members import blocks
    from baypulse.members.ensemble import Ensemble
    from baypulse.members.pool import pool_of

    case = baypulse.load(BENCH)
    Ensemble(case, 1)(0)  # loads what is compiled
    plan, count = Ensemble(case, int(members)), int(threads)
    with tempfile.TemporaryDirectory() as folder, pool_of(count) as pool:
        times = time.process_time(), time.perf_counter(), time.thread_time()
        blocks.run(plan, Path(folder, "run"), pool, workers=count)
        took = time.process_time(), time.perf_counter(), time.thread_time()
        ran, waited = np.sum([_scheduled(task) for task in Path("/proc/self/task").iterdir()
                              if int(task.name) != os.getpid()], axis=0)  # fmt: skip
        size = sum(file.stat().st_size for file in Path(folder, "run").iterdir())
    found = dict(
        zip(("processor", "wall", "runner"), np.subtract(took, times).tolist(), strict=True)
    )
    row = plan(0).dtype.itemsize
    busy = float(ran / (count * found["wall"] - waited))
    return found | {"disk": size, "row": row, "block": plan.block_size, "busy": busy}


def _scheduled(task: Path) -> tuple[float, float]:
    """Return how long a thread has run, and waited for a core that others had [s]."""
    ran, waited, _ = (task / "schedstat").read_text().split()
    return float(ran) * 1e-9, float(waited) * 1e-9


def charges_here() -> list[float]:
    """Fire the same members with ever more charges; return the processor time of each number."""
    import baypulse
    from baypulse.members.charges import Charges, Tally

    case = baypulse.load(BENCH)
    Charges(case, 1, 1, THREADS, Tally()).fire(case.powder.mass)
    found = []
    for count in CHARGES:
        began = time.process_time()
        members = Charges(case, CHARGE_MEMBERS, 1, THREADS, Tally())
        # middles of equal shares of one range, so that all numbers have the same mean
        for k in range(count):
            members.fire(members.present * (0.9 + 0.2 * (k + 0.5) / count))
        found.append(time.process_time() - began)
    return found


@dataclass(frozen=True)
class Ready:
    """A plan whose blocks cost next to nothing and have the size of the bench case's.

    Attributes
    ----------
    members, block_size, columns : int
        Of the plan, of a block, and floats of a member.
    """

    members: int
    block_size: int
    columns: int

    @property
    def identity(self) -> dict[str, Any]:
        """What decides the members."""
        return {"study": "growth"}

    def __call__(self, block: int) -> np.ndarray:
        """Return a block of random numbers, which no compression makes small."""
        plain = np.random.default_rng(block).random((self.block_size, self.columns))
        return plain.view([(f"c{k}", "f8") for k in range(self.columns)])[:, 0]


def cluster_here(block: str, columns: str) -> float:
    """Return the processor time of scheduler and client for a block [s].

    Both are in this process, the workers, which make the blocks, in two others.
    """
    import distributed

    from baypulse.members import blocks, cluster

    with (
        distributed.LocalCluster(
            n_workers=THREADS, threads_per_worker=1, dashboard_address=None, silence_logs="ERROR"
        ) as local,
        cluster.dask(local.scheduler_address) as (executor, workers),
        tempfile.TemporaryDirectory() as folder,
    ):
        began = 0.0
        for turn, count in enumerate((32, CLUSTER_BLOCKS)):  # the first only to warm up
            plan = Ready(count * int(block), int(block), int(columns))
            began = time.process_time()
            blocks.run(plan, Path(folder, str(turn)), executor, workers=workers)
        return (time.process_time() - began) / CLUSTER_BLOCKS


INSIDE: dict[str, Callable[..., Any]] = {
    "ensemble": ensemble_here,
    "charges": charges_here,
    "cluster": cluster_here,
}
"""What a process of this program measures, by the word that asks for it."""


def inside(*words: str) -> tuple[Any, Spent]:
    """Measure something in a process of its own."""
    took = spent((__file__, "--inside", *words), ROOT)
    return json.loads(took.said.splitlines()[-1]), took


# what is printed


def members(most: int) -> dict[str, Any]:
    """Print the cost of ever more members; return what a huge ensemble is reckoned from."""
    print(f"members of {BENCH.stem} on {THREADS} threads, written in parts")
    real = [size for size in SIZES if size <= most]
    found, peaks = [], []
    for size in real:
        numbers, took = inside("ensemble", str(size), str(THREADS))
        found.append(numbers)
        peaks.append(took.memory)
    series = {
        "processor": [each["processor"] for each in found],
        "wall": [each["wall"] for each in found],
        "memory": peaks,
    }
    powers = {name: exponent(real, values)[0] for name, values in series.items()}
    full = sum(size < THREADS * found[0]["block"] for size in real)
    full = full if len(real) - full > 1 else 0
    law = exponent(real[full:], series["processor"][full:])[1]
    last = found[-1]
    rows = []
    for k, size in enumerate(SIZES):
        ran = k < len(real)
        processor = series["processor"][k] if ran else law(size)
        wall = series["wall"][k] if ran else processor / (THREADS * last["busy"])
        peak = f"{peaks[k] / 1e6:.0f}" if ran else ""
        rows.append((f"{size:.0e}", f"{processor / size * 1e3:.3f}", f"{wall:,.0f}", peak,
                     "" if ran else "extrapolated"))  # fmt: skip
    table(("members", "processor ms a member", "wall s", "peak MB", ""), rows)
    for name, power in powers.items():
        print(f"  {name} grows with the power {power:.3f} of the members")
    size = real[-1]
    print(
        f"  parallel efficiency: threads are busy {last['busy']:.1%} of the time others leave them"
    )
    print(f"  on disk {last['disk'] / size:.0f} bytes a member, in memory {last['row']:.0f}; "
          f"the writer takes {last['runner'] / size * 1e6:.1f} us a member\n")  # fmt: skip
    return last | {"size": size, "member": last["processor"] / size}


def charges() -> None:
    """Print the cost of the same members with ever more charges."""
    print(f"charges: {CHARGE_MEMBERS} members, from 0.9 to 1.1 of the case's charge")
    found, _ = inside("charges")
    rows = [
        (str(count), f"{took:.2f}", f"{took / found[0]:.2f}")
        for count, took in zip(CHARGES, found, strict=True)
    ]
    table(("charges", "processor s", "of one"), rows)
    print(f"  grows with the power {exponent(CHARGES, found)[0]:.3f}\n")


def dask(known: dict[str, Any]) -> None:
    """Print what a huge ensemble takes on a cluster, on paper."""
    block = int(known["block"])
    member = known["member"]
    task = block * member / known["busy"]
    between = task / CORES
    writing = known["runner"] / known["size"] * block
    print(f"{HUGE:.0e} members on a Dask cluster, on paper, from the figures above")
    hours = HUGE * member / 3600.0
    print(f"  {hours:,.0f} core-hours; {hours / CORES / known['busy']:.2f} h of wall time on "
          f"{CORES:,} cores at the efficiency of {known['busy']:.2f}")  # fmt: skip
    print(f"  {HUGE * known['disk'] / known['size'] / 1e9:,.0f} GB on disk")
    print(f"  {-(-HUGE // block):,} tasks of a block each, {task:.1f} s; one ends every "
          f"{between * 1e3:.2f} ms")  # fmt: skip
    print(f"  by the documentation the scheduler takes {TASK * 1e3:.0f} ms a task: it is busy "
          f"{TASK / between:.0%} of the time, and bears {task / TASK:,.0f} cores")  # fmt: skip
    try:
        import distributed  # noqa: F401
    except ImportError:
        print("  scheduler and client were not measured: that needs the package distributed")
        both = writing
    else:
        both = inside("cluster", str(block), str(int(known["row"]) // 8))[0]
        print("  measured: scheduler, and the client that fetches and writes, take together")
        print(f"  {both * 1e3:.1f} ms a block")
    most = task / both
    print(f"  so the two bear {most:,.0f} cores, were they one process; through the scheduler go "
          f"{block * known['row'] / between / 1e6:,.0f} MB/s")  # fmt: skip
    print(f"  up to {4 * CORES:,} blocks under way: {4 * CORES * block * known['row'] / 1e9:.1f} "
          "GB with the client, should it fall behind")  # fmt: skip
    # a larger task has as many bytes: only the cost of a task itself becomes less
    print(f"  blocks {'must' if between < TASK else 'need not'} be grouped for the scheduler; "
          f"the client {'is' if both > between else 'is not'} the bottleneck")  # fmt: skip


PARTS = ("members", "charges", "bays", "memory", "dask")


def main() -> int:
    """Measure, and print."""
    if "--inside" in sys.argv[1:2]:
        print(json.dumps(INSIDE[sys.argv[2]](*sys.argv[3:])))
        return 0
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--only", action="append", choices=PARTS, help="a part, or several")
    parser.add_argument("--most", type=float, default=1e4, metavar="N",
                        help="members up to which an ensemble is run (default: 1e4)")  # fmt: skip
    parser.add_argument("--longest", type=int, default=120, metavar="S",
                        help="processor time of a command with many members")  # fmt: skip
    chosen = parser.parse_args()
    if chosen.most < SIZES[1]:
        parser.error(f"--most {chosen.most:g}: a law needs two sizes; give {SIZES[1]:g} or more")
    wanted = chosen.only or PARTS
    print(f"load before: {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores\n")
    known = members(int(chosen.most)) if {"members", "dask"} & set(wanted) else {}
    parts = {
        "charges": charges,
        "bays": bays,
        "memory": lambda: memory(chosen.longest),
        "dask": lambda: dask(known),
    }
    for name, act in parts.items():
        if name in wanted:
            act()
    print(f"load after: {os.getloadavg()[0]:.1f}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
