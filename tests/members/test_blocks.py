"""The runner: same bytes whatever runs it and however it was stopped; sentences when it cannot."""

import errno
import io
import json
import multiprocessing
import os
import re
import signal
import subprocess
import sys
import threading
import time
from concurrent.futures import Executor, Future, ProcessPoolExecutor
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import pyarrow
import pyarrow.dataset
import pytest
from pyarrow import parquet

from baypulse.members import blocks, parts
from baypulse.members.parts import StudyError
from baypulse.members.pool import pool_of
from baypulse.members.store import Store
from members.fakes import Fake, contents, table

LONG = Fake(members=5 * 2048 + 100)
"""Six parts, the last of two blocks, the last block cut."""


def threaded(plan, folder, workers=2, **settings):
    with pool_of(workers) as pool:
        return blocks.run(plan, folder, pool, workers=workers, **settings)


@pytest.fixture(scope="module")
def reference(tmp_path_factory):
    """Every file of an uninterrupted run on one thread."""
    folder = tmp_path_factory.mktemp("reference") / "run"
    store = threaded(LONG, folder, workers=1)
    for name in store.columns:
        np.testing.assert_array_equal(store.column(name), table(LONG)[name])
    return contents(folder)


class Backwards(Executor):
    """Runs the youngest of the blocks in flight, and counts how many there are."""

    def __init__(self):
        self.waiting, self.most, self.open = [], 0, True
        self.thread = threading.Thread(target=self.work)
        self.thread.start()

    def submit(self, function, /, *given):
        future = Future()
        self.waiting.append((future, function, given))
        self.most = max(self.most, len(self.waiting))
        return future

    def work(self):
        while self.open:
            time.sleep(0.002)  # long enough for the runner to hand over all it wants to
            if self.waiting:
                future, function, given = self.waiting.pop()
                future.set_result(function(*given))

    def shutdown(self, wait=True, *, cancel_futures=False):
        self.open = False
        self.thread.join()


class Stuck(Executor):
    """Runs the first blocks at once and the others never."""

    def __init__(self, count):
        self.count, self.waiting = count, []

    def submit(self, function, /, *given):
        future = Future()
        if self.count:
            self.count -= 1
            future.set_result(function(*given))
        else:
            self.waiting.append(future)
        return future


def test_same_bytes_on_two_threads(tmp_path, reference):
    assert threaded(LONG, tmp_path / "run").complete
    assert contents(tmp_path / "run") == reference


def test_same_bytes_on_processes(tmp_path, reference):
    # spawned, as on Windows and macOS: the plan travels as a pickle
    with ProcessPoolExecutor(2, mp_context=multiprocessing.get_context("spawn")) as pool:
        blocks.run(LONG, tmp_path / "run", pool, workers=2)
    assert contents(tmp_path / "run") == reference


def test_same_bytes_when_blocks_land_in_another_order_and_few_are_in_flight(tmp_path, reference):
    seen = []
    with Backwards() as backwards:
        blocks.run(
            LONG,
            tmp_path / "run",
            backwards,
            workers=2,
            progress=lambda done, total: seen.append(done),
        )
    assert contents(tmp_path / "run") == reference
    # two workers, four blocks each, of the 162 of the run
    assert backwards.most == 8
    assert seen[0] == 0 and seen[-1] == LONG.members and seen == sorted(seen)


def test_without_workers_nothing_begins(tmp_path):
    with pytest.raises(ValueError, match="workers must be at least 1"):
        blocks.run(LONG, tmp_path / "run", Stuck(0), workers=0)
    assert not (tmp_path / "run").exists()


def test_a_seed_makes_other_bytes(tmp_path, reference):
    threaded(replace(LONG, seed=2), tmp_path / "run")
    other = contents(tmp_path / "run")
    assert all(other[name] != reference[name] for name in reference)


def test_the_description_says_what_was_asked_and_no_date(tmp_path, reference):
    described = json.loads(reference[parts.RUN])
    assert described == {
        "format": 2,
        "asked": LONG.identity,
        "members": LONG.members,
        "block_size": 64,
        "blocks_per_part": 32,
        "written_by": f"pyarrow {pyarrow.__version__}",
    }


class TestStopped:
    """Whatever stops a run, its finished parts stay, and resuming gives the same bytes."""

    def finish(self, folder, reference):
        """Check what is left, resume, and compare every byte; return the parts that were left."""
        left = contents(folder)
        kept = {name for name in left if name.startswith("part-")}
        assert all(left[name] == reference[name] for name in kept)
        opened = pyarrow.dataset.dataset(folder, format="parquet")
        assert opened.count_rows() == Store(folder).members
        assert not Store(folder).complete
        seen, spare = [], parts.read_spare(folder, Store(folder).layout)
        threaded(LONG, folder, resume=True, progress=lambda done, total: seen.append(done))
        assert seen[0] == opened.count_rows() + sum(rows.size for rows in spare.values())
        assert contents(folder) == reference
        return kept

    def test_by_a_block_that_fails(self, tmp_path, reference):
        place = tmp_path / "run"
        failing = replace(LONG, failing=100)
        with pytest.raises(StudyError) as told:
            threaded(failing, place, workers=1)
        assert str(told.value) == (
            "block 100 (simulated shots 6400 to 6463) failed: ArithmeticError: no root between "
            "3 and 4; "
            f"6400 simulated shots are finished and kept in {place}; go on with --resume"
        )
        assert isinstance(told.value.__cause__, ArithmeticError)
        assert len(self.finish(place, reference)) == 3

    def test_by_the_keyboard(self, tmp_path, reference):
        place, stuck = tmp_path / "run", Stuck(70)

        def press(done, total):
            if done == 70 * 64:
                raise KeyboardInterrupt

        with pytest.raises(KeyboardInterrupt):
            blocks.run(LONG, place, stuck, workers=2, progress=press)
        assert stuck.waiting and all(future.cancelled() for future in stuck.waiting)
        assert len(parts.read_spare(place, Store(place).layout)) == 70 - 64
        assert len(self.finish(place, reference)) == 2

    def test_by_a_full_disk(self, tmp_path, reference, monkeypatch):
        place, calls = tmp_path / "run", []

        def full(number):
            calls.append(number)
            if len(calls) == 4:  # the description and two parts fit
                raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

        with monkeypatch.context() as patched:
            patched.setattr(os, "fsync", full)
            with pytest.raises(StudyError) as told:
                threaded(LONG, place, workers=1)
        assert str(told.value) == (
            f"{place / 'part-000002.parquet'} cannot be written: {os.strerror(errno.ENOSPC)}; "
            f"6144 simulated shots are finished and kept in {place}; go on with --resume"
        )
        left = {parts.RUN, parts.name(0), parts.name(1), parts.SPARE_BLOCKS}
        assert set(contents(place)) == left
        assert len(self.finish(place, reference)) == 2

    def test_by_a_process_that_dies(self, tmp_path):
        place = tmp_path / "run"
        with ProcessPoolExecutor(1, mp_context=multiprocessing.get_context("spawn")) as pool:
            with pytest.raises(StudyError) as told:
                blocks.run(Deadly(), place, pool, workers=1)
            with pytest.raises(StudyError, match=r"the workers or their scheduler were lost"):
                blocks.run(Deadly(), tmp_path / "again", pool, workers=1)
        assert str(told.value).startswith("the workers or their scheduler were lost while block ")
        kept = re.search(r"(\d+) simulated shots are finished and kept", str(told.value))
        assert kept and 32 * 64 <= int(kept[1]) <= 50 * 64
        finished = threaded(Fake(Deadly.members), tmp_path / "whole").folder
        assert contents(place)[parts.name(0)] == contents(finished)[parts.name(0)]

    def test_by_kills_one_after_the_other(self, tmp_path, reference):
        place = tmp_path / "run"
        for blocks_seen in (1, 33, 45):  # of 162
            with begun_elsewhere(place) as child:
                for _ in range(blocks_seen):
                    child.stdout.readline()
                child.kill()
        assert 0 < len(self.finish(place, reference)) < 6

    @pytest.mark.parametrize("written", [0, 1, 3])
    def test_by_a_kill_while_a_file_is_written(self, tmp_path, reference, written):
        place = tmp_path / "run"
        with begun_elsewhere(place, dies_after=written) as child:
            assert child.wait(30) == 9
        assert len(list(place.glob("_*.writing"))) == 1
        if written:
            assert len(self.finish(place, reference)) == written - 1
        else:  # not even the description was there
            threaded(LONG, place, resume=True)
            assert contents(place) == reference

    @pytest.mark.skipif(os.name == "nt", reason="Windows sends no SIGINT to one process")
    def test_by_ctrl_c(self, tmp_path, reference):
        place = tmp_path / "run"
        with begun_elsewhere(place) as child:
            while not parts.numbers(place):
                time.sleep(0.01)
            pressed = time.perf_counter()
            child.send_signal(signal.SIGINT)
            assert child.wait(10) == 130
            assert time.perf_counter() - pressed < 2.0
        assert not list(place.glob("_*.writing"))
        assert self.finish(place, reference)


def stop_early(plan, place):
    """Stop a run after its third block, before its first part."""

    def press(done, total):
        if done == 3 * 64:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        blocks.run(plan, place, Stuck(3), workers=2, progress=press)
    assert contents(place).keys() == {parts.RUN, parts.SPARE_BLOCKS}


def test_a_run_stopped_before_its_first_part_goes_on_when_asked_for_again(tmp_path, reference):
    place, seen = tmp_path / "run", []
    stop_early(LONG, place)
    threaded(LONG, place, progress=lambda done, total: seen.append(done))
    assert seen[0] == 3 * 64
    assert contents(place) == reference


def test_another_run_takes_the_place_of_one_stopped_before_its_first_part(tmp_path, reference):
    place, seen = tmp_path / "run", []
    stop_early(replace(LONG, seed=LONG.seed + 1), place)
    threaded(LONG, place, progress=lambda done, total: seen.append(done))
    assert seen[0] == 0
    assert contents(place) == reference


@pytest.mark.parametrize("harm", ["cut", "turned", "no archive"])
def test_kept_blocks_that_are_damaged_are_made_again(tmp_path, reference, harm):
    place = tmp_path / "run"
    stop_early(LONG, place)
    file = place / parts.SPARE_BLOCKS
    data = bytearray(file.read_bytes())
    if harm == "cut":
        del data[len(data) // 2 :]
    elif harm == "turned":
        data[len(data) // 2] ^= 1
    else:
        data[:] = b"not an archive"
    file.write_bytes(data)
    threaded(LONG, place)
    assert contents(place) == reference


@dataclass(frozen=True)
class Deadly(Fake):
    """Members of which block 50 ends its process."""

    members: int = 60 * 64

    def __call__(self, block):
        if block == 50:
            os._exit(3)
        return super().__call__(block)


CHILD = """
import os
import sys
import time
from pathlib import Path
from baypulse.members import blocks
from baypulse.members.pool import pool_of
from members.fakes import Fake

place, left, synced = Path(sys.argv[1]), int(sys.argv[2]), os.fsync

def fsync(number):
    global left
    if left == 0:
        os._exit(9)  # no clean-up, as after a kill
    left -= 1
    synced(number)

os.fsync = fsync

def progress(done, total):
    print(done, flush=True)
    if done > 10_000:  # never finishes, however late the kill comes
        time.sleep(60)

try:
    with pool_of(2) as pool:
        blocks.run(Fake(members=5 * 2048 + 100, pause=0.004), place, pool, workers=2,
                   resume=place.exists(), progress=progress)
except KeyboardInterrupt:
    sys.exit(130)
"""


def begun_elsewhere(place, dies_after=-1):
    """Begin the long run, or go on with it, in a process of its own; return when it is under way.

    It waits 4 ms in each of 162 blocks, on two threads, and stops for good in the last ones; it
    may die while it writes a file.
    """
    child = subprocess.Popen(
        [sys.executable, "-c", CHILD, str(place), str(dies_after)],
        stdout=subprocess.PIPE,
        env={**os.environ, "PYTHONPATH": str(Path(__file__).parents[1])},
    )
    child.stdout.readline()
    return child


class TestResume:
    def test_makes_missing_and_damaged_parts_only(self, tmp_path, reference):
        place, diary = tmp_path / "run", tmp_path / "diary"
        diary.mkdir()
        threaded(LONG, place)
        cut = place / parts.name(1)
        cut.write_bytes(cut.read_bytes()[:-9])
        (place / parts.name(3)).unlink()
        # opens, but holds too few members
        short = parquet.read_table(place / parts.name(4)).slice(0, 70)
        parquet.write_table(short, place / parts.name(4))
        (place / "_part-000003.parquet.0a1b2c3d.writing").write_bytes(b"half")
        threaded(replace(LONG, diary=diary), place, resume=True)
        assert contents(place) == reference
        made = sorted(int(entry.name.split("-")[0]) for entry in diary.iterdir())
        assert made == [*range(32, 64), *range(96, 160)]

    def test_of_a_finished_run_makes_nothing(self, tmp_path):
        threaded(LONG, tmp_path / "run")
        seen = []
        store = threaded(
            replace(LONG, failing=0),
            tmp_path / "run",
            resume=True,
            progress=lambda done, total: seen.append((done, total)),
        )
        assert store.complete and seen == [(LONG.members, LONG.members)]

    def test_refuses_another_run_and_says_what_differs(self, tmp_path):
        begun = Fake(more={"sampling": "sobol", "case": {"name": "bench"}})
        threaded(begun, tmp_path / "run")
        other = replace(begun, seed=2, more={"case": {"name": "main"}})
        before = contents(tmp_path / "run")
        with pytest.raises(StudyError) as told:
            threaded(other, tmp_path / "run", resume=True)
        assert str(told.value) == (
            f'{tmp_path / "run"} holds another run: more.case.name is "bench" there and "main" '
            'here; more.sampling is "sobol" there and missing here; seed is 1 there and 2 here; '
            "ask for the same, or choose another folder"
        )
        with pytest.raises(StudyError, match=r"block_size is 64 there and 32 here"):
            threaded(replace(begun, block_size=32), tmp_path / "run", resume=True)
        assert contents(tmp_path / "run") == before

    def test_refuses_parts_that_other_code_made(self, tmp_path):
        threaded(LONG, tmp_path / "run")
        for part in (0, 1):
            (tmp_path / "run" / parts.name(part)).unlink()
        place = tmp_path / "run" / parts.name(3)
        table = parquet.read_table(place).rename_columns(["verdict", "peak", "fall"])
        parquet.write_table(table, place)
        with pytest.raises(StudyError, match=r"the columns of .*part-000003\.parquet are not"):
            threaded(LONG, tmp_path / "run", resume=True)
        for part in (2, 4, 5):
            (tmp_path / "run" / parts.name(part)).unlink()
        with pytest.raises(StudyError, match=r"the columns of part-00000\d\.parquet are not"):
            threaded(LONG, tmp_path / "run", resume=True)

    def test_begins_in_an_empty_folder_and_not_where_there_is_none(self, tmp_path, reference):
        with pytest.raises(StudyError, match=r"no run in .* to resume; leave out --resume"):
            threaded(LONG, tmp_path / "typo", resume=True)
        assert not (tmp_path / "typo").exists()
        # killed while it wrote the description
        place = tmp_path / "run"
        place.mkdir()
        (place / "__run.json.0a1b2c3d.writing").write_bytes(b"{")
        threaded(LONG, place, resume=True)
        assert contents(place) == reference


class TestFolder:
    @pytest.mark.parametrize("stop", [3000, None])
    def test_of_a_run_is_not_replaced(self, tmp_path, stop):
        def press(done, total):
            if stop and done > stop:
                raise KeyboardInterrupt

        try:
            threaded(LONG, tmp_path / "run", workers=1, progress=press)
        except KeyboardInterrupt:
            assert stop
        before = contents(tmp_path / "run")
        state = "a run with 2048 simulated shots done" if stop else "a finished run"
        with pytest.raises(StudyError, match=rf"holds {state}.*\(--resume\) or choose another"):
            threaded(LONG, tmp_path / "run")
        assert contents(tmp_path / "run") == before

    @pytest.mark.parametrize("resume", [True, False])
    def test_with_something_else_is_left_alone(self, tmp_path, resume):
        (tmp_path / "letters.txt").write_text("dear", "utf-8")
        with pytest.raises(StudyError, match=r"holds letters\.txt, which is no part of a run"):
            threaded(LONG, tmp_path, resume=resume)
        assert [entry.name for entry in tmp_path.iterdir()] == ["letters.txt"]

    def test_may_hold_what_file_managers_hide_there(self, tmp_path):
        (tmp_path / ".DS_Store").write_bytes(b"x")
        assert threaded(Fake(), tmp_path).complete

    def test_that_is_a_file(self, tmp_path):
        place = tmp_path / "run"
        place.write_text("text", "utf-8")
        with pytest.raises(StudyError, match=r"run is a file; choose another folder"):
            threaded(LONG, place)
        with pytest.raises(StudyError, match=r"cannot be written: .*; choose another folder"):
            threaded(LONG, place / "inside")

    def test_that_may_not_be_written(self, tmp_path, monkeypatch):
        def denied(*given, **named):
            raise PermissionError(errno.EACCES, os.strerror(errno.EACCES))

        monkeypatch.setattr(Path, "open", denied)
        with pytest.raises(StudyError, match=r"cannot be written: Permission denied; choose"):
            threaded(LONG, tmp_path / "run")


@dataclass(frozen=True)
class Uneven(Fake):
    """Members that change their columns, or their number, in block 3."""

    how: str = ""

    def __call__(self, block):
        rows = super().__call__(block)
        if block != 3:
            return rows
        return rows[:-1] if self.how == "short" else rows[["verdict", "peak"]]


@pytest.mark.parametrize("how", ["short", "columns"])
def test_blocks_that_do_not_fit_together_are_an_error(tmp_path, how):
    with pytest.raises(StudyError, match=r"block 3 gave shape \(6[34],\) of .* not \(64,\)"):
        threaded(Uneven(how=how), tmp_path / "run")
    assert parts.numbers(tmp_path / "run") == []


class Terminal(io.StringIO):
    encoding = "utf-8"

    def isatty(self):
        return True


class Plain(Terminal):
    encoding = "ascii"


def test_the_bar_shows_rate_and_time_left():
    stream = Terminal()
    with blocks.bar(stream) as progress:
        progress(500_000, 2_000_000)
        time.sleep(0.15)
        progress(520_000, 2_000_000)
        progress(2_000_000, 2_000_000)
    shown = stream.getvalue()
    assert "500k/2.00M" in shown and "bays/s" in shown
    # 20,000 in 0.15 s and more, so at most 133,000 a second: the first half million does not count
    second = shown.split("\r")[2]
    rate = float(second.split("k bays/s")[0].split(" ")[-1])
    assert 0 < rate <= 134
    assert shown.endswith("\n") and "100%" in shown


def test_the_bar_is_plain_where_the_encoding_needs_it():
    for stream in (Terminal(), Plain()):
        with blocks.bar(stream) as progress:
            progress(0, 10)
            progress(10, 10)
        assert stream.getvalue().isascii() == isinstance(stream, Plain)


def test_the_bar_is_for_terminals_unless_asked():
    stream = io.StringIO()
    with blocks.bar(stream) as progress:
        assert progress is None
    assert stream.getvalue() == ""
    with blocks.bar(stream, always=True) as progress:
        progress(1, 10)
    assert "1.00/10.0" in stream.getvalue()
