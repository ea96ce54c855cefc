"""Blocks on a real Dask cluster of three worker processes on this machine."""

import logging
import os
import subprocess
import sys
import time
from collections import Counter
from concurrent.futures import Executor, Future
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import distributed
import numpy as np
import psutil
import pytest
from distributed.comm import CommClosedError

import baypulse
from baypulse.case.casefile import reads
from baypulse.members import blocks, cluster, parts
from baypulse.members.ensemble import Ensemble
from baypulse.members.parts import StudyError
from baypulse.members.pool import pool_of
from members.fakes import Fake, contents, table
from report_cases import TEXTS

PLAN = Fake(members=3 * 2048 + 300, pause=0.01)
"""Four parts in 101 blocks."""


@pytest.fixture(scope="module")
def local():
    """A scheduler in this process, workers in three of their own, looked after by nannies."""
    with distributed.LocalCluster(
        n_workers=3,
        threads_per_worker=1,
        processes=True,
        dashboard_address=None,
        silence_logs="CRITICAL",
    ) as made:
        yield made


@pytest.fixture(scope="module")
def reference(tmp_path_factory):
    """Every file of a run on one thread of this process."""
    folder = tmp_path_factory.mktemp("reference") / "run"
    with pool_of(1) as pool:
        blocks.run(Fake(PLAN.members), folder, pool, workers=1)
    return contents(folder)


@dataclass(frozen=True)
class Waiting(Fake):
    """Members of which block 60, when it is begun for the first time, waits to be killed."""

    members: int = PLAN.members

    def __call__(self, block):
        rows = super().__call__(block)
        if block == 60 and len(starts_of(self.diary, 60)) == 1:
            time.sleep(60)
        return rows


def starts_of(diary, block):
    """Return the processes in which a block was begun."""
    return [int(entry.name.split("-")[1]) for entry in diary.glob(f"{block}-*")]


def test_a_killed_worker_loses_nothing_and_counts_nothing_twice(local, tmp_path, reference, capfd):
    place, diary = tmp_path / "run", tmp_path / "diary"
    diary.mkdir()
    plan = Waiting(diary=diary, pause=0.01)
    killed = []

    def kill_one(done, total):
        """Kill the process that waits in block 60."""
        begun = starts_of(diary, 60)
        if begun and not killed:
            killed.append(begun[0])
            psutil.Process(begun[0]).kill()

    with cluster.dask(local.scheduler_address) as (executor, workers):
        assert workers == 3
        blocks.run(plan, place, executor, workers=workers, progress=kill_one)
    starts = Counter(int(entry.name.split("-")[0]) for entry in diary.iterdir())
    by = Counter(int(entry.name.split("-")[1]) for entry in diary.iterdir())
    assert set(starts) == set(range(101)) and len(by) >= 3
    assert by[killed[0]] > 5 and starts[60] == 2 and set(starts_of(diary, 60)) > set(killed)
    # and yet every member is there once, in its place
    assert contents(place) == reference
    rows = table(plan)
    store = blocks.run(plan, place, Idle(), workers=1, resume=True)
    for name in store.columns:
        np.testing.assert_array_equal(store.column(name), rows[name])
    assert capfd.readouterr() == ("", "")


def test_members_of_a_case_are_the_same_bytes_on_threads_and_on_the_cluster(local, tmp_path):
    plan = Ensemble(reads(TEXTS["bare"], "bare"), 4 * 1024 + 100, seed=7)
    with pool_of(2) as pool:
        blocks.run(plan, tmp_path / "threads", pool, workers=2)
    with cluster.dask(local.scheduler_address) as (executor, workers):
        blocks.run(plan, tmp_path / "cluster", executor, workers=workers)
    assert contents(tmp_path / "cluster") == contents(tmp_path / "threads")


class Idle:
    """An executor that is not needed."""

    def submit(self, *given):
        raise AssertionError("a finished run has nothing to submit")


def test_stopped_on_the_cluster_and_finished_on_threads(local, tmp_path, reference, capfd):
    place = tmp_path / "run"

    def press(done, total):
        if done > total // 2:
            raise KeyboardInterrupt

    with (
        pytest.raises(KeyboardInterrupt),
        cluster.dask(local.scheduler_address) as (executor, workers),
    ):
        begun = time.perf_counter()
        blocks.run(PLAN, place, executor, workers=workers, progress=press)
    assert time.perf_counter() - begun < 10
    with pool_of(2) as pool:
        assert blocks.run(PLAN, place, pool, workers=2, resume=True).complete
    assert contents(place) == reference
    assert capfd.readouterr() == ("", "")


def test_a_block_that_fails_there_is_named_here(local, tmp_path):
    failing = Fake(PLAN.members, failing=70)
    with cluster.dask(local.scheduler_address) as (executor, workers):
        with pytest.raises(StudyError, match=r"block 70 .*ArithmeticError: no root.*--resume"):
            blocks.run(failing, tmp_path / "run", executor, workers=workers)
        # and the cluster is as good as before
        assert blocks.run(Fake(500), tmp_path / "next", executor, workers=workers).complete


@dataclass(frozen=True)
class Deadly(Fake):
    """Members of which block 50 ends its process, wherever it is begun."""

    members: int = PLAN.members

    def __call__(self, block):
        if block == 50:
            os._exit(3)
        return super().__call__(block)


def test_a_block_that_kills_every_worker_is_given_up(
    local, tmp_path, reference, monkeypatch, capfd
):
    monkeypatch.setattr(local.scheduler, "allowed_failures", 0)  # in place of three
    with (
        pytest.raises(StudyError, match=r"were lost while block \d+ .* kept in .*--resume"),
        cluster.dask(local.scheduler_address) as (executor, workers),
    ):
        blocks.run(Deadly(), tmp_path / "run", executor, workers=workers)
    left = contents(tmp_path / "run")
    left.pop(parts.SPARE_BLOCKS, None)
    assert parts.name(1) not in left  # the part of block 50
    assert left == {name: reference[name] for name in left}
    assert capfd.readouterr() == ("", "")


def test_the_log_of_dask_stays_off_the_terminal_while_it_is_in_use(local):
    loggers = [logging.getLogger(name) for name in ("distributed", "distributed.client")]
    loggers += [logging.getLogger(name) for name in ("distributed.core", "tornado.application")]
    before = [logger.level for logger in loggers]
    with cluster.dask(local.scheduler_address):
        assert not any(logger.isEnabledFor(logging.CRITICAL) for logger in loggers)
    assert [logger.level for logger in loggers] == before


ELSEWHERE = """
import asyncio
import sys
from distributed import Scheduler, Worker

if sys.argv[2] == "without":
    sys.modules["baypulse"] = None  # as if it were not installed

async def main():
    async with Scheduler(host="127.0.0.1", port=0, dashboard=False) as scheduler:
        for _ in range(int(sys.argv[1])):
            await Worker(scheduler.address, nthreads=1, dashboard=False)
        print(scheduler.address, flush=True)
        await scheduler.finished()

asyncio.run(main())
"""


@contextmanager
def elsewhere(workers=1, baypulse="with"):
    """Run a small cluster in one other process."""
    with subprocess.Popen(
        [sys.executable, "-c", ELSEWHERE, str(workers), baypulse],
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
        env={**os.environ, "PYTHONPATH": str(Path(__file__).parents[1])},
    ) as process:
        try:
            yield process.stdout.readline().strip(), process
        finally:
            process.kill()


def test_a_scheduler_that_dies_is_a_sentence(tmp_path, capfd):
    with elsewhere() as (address, process):

        def kill(done, total):
            if done > total // 2:
                process.kill()

        with (
            pytest.raises(StudyError, match=r"the workers or their scheduler were lost while"),
            cluster.dask(address) as (executor, workers),
        ):
            blocks.run(PLAN, tmp_path / "run", executor, workers=workers, progress=kill)
    assert blocks.Store(tmp_path / "run").members == 2048
    assert capfd.readouterr() == ("", "")


class Closing(Executor):
    """Workers whose connection closes while what they made is fetched."""

    def submit(self, function, /, *arguments, **named):
        future = Future()
        future.set_exception(CommClosedError("in <TCP (closed)>"))
        return future


def test_a_connection_that_closes_is_workers_that_are_lost(tmp_path):
    with pytest.raises(StudyError, match=r"the workers or their scheduler were lost while"):
        blocks.run(PLAN, tmp_path / "run", Closing(), workers=1)


@pytest.fixture
def impatient(monkeypatch):
    monkeypatch.setattr(cluster, "_PATIENCE", 1.0)


@pytest.mark.parametrize("address", ["tcp://127.0.0.1:9", "nonsense", "gopher://here:1", ""])
def test_an_address_where_nothing_answers(impatient, capfd, address):
    begun = time.perf_counter()
    with (
        pytest.raises(StudyError, match=rf"^no Dask scheduler answers at '{address}' \(.+\); give"),
        cluster.dask(address),
    ):
        pass
    assert time.perf_counter() - begun < 5
    assert capfd.readouterr() == ("", "")


def test_the_address_of_a_worker(local, impatient):
    address = next(iter(local.scheduler_info["workers"]))
    told = r"a Dask worker answers, not the scheduler"
    with pytest.raises(StudyError, match=told), cluster.dask(address):
        pass


def test_a_cluster_with_another_version(local, monkeypatch):
    monkeypatch.setattr(cluster, "__version__", "99.1")
    held = f"its scheduler has baypulse {baypulse.__version__}, this is baypulse 99.1"
    with (
        pytest.raises(StudyError, match=rf"does not fit: {held}; install the same everywhere"),
        cluster.dask(local.scheduler_address),
    ):
        pass


def test_a_cluster_without_baypulse():
    told = r"its scheduler has no baypulse, this is baypulse"
    with (
        elsewhere(baypulse="without") as (address, _),
        pytest.raises(StudyError, match=told),
        cluster.dask(address),
    ):
        pass


def test_a_cluster_without_workers():
    with (
        elsewhere(workers=0) as (address, _),
        pytest.raises(StudyError, match=r"the Dask cluster at tcp.* has no workers; start some"),
        cluster.dask(address),
    ):
        pass


def test_without_the_package(monkeypatch):
    monkeypatch.setitem(sys.modules, "distributed", None)
    told = "needs the package distributed: python -m pip install distributed, then"
    with pytest.raises(StudyError, match=told), cluster.dask("tcp://127.0.0.1:8786"):
        pass
