"""A first shot is computed in plain Python; what pays is compiled, and computes the same."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import threading
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numba
import numpy as np
import pytest

from baypulse import compile as beforehand
from baypulse.case.casefile import read
from baypulse.cli import main
from baypulse.engine import ensemble
from baypulse.members import draws
from baypulse.members.factors import dimensions, factors
from baypulse.physics import core_folder, first_work, plain
from baypulse.physics.compiled import compiling
from baypulse.run.simulation import simulate

pytestmark = pytest.mark.skipif(numba.config.DISABLE_JIT, reason="nothing is compiled")

CASE = Path(__file__).parents[2] / "cases" / "bench-76.toml"

BEGIN = """
import json, sys
from types import FunctionType
from baypulse.physics import core_folder, plain
core_folder.is_kept = lambda *driver: False

from baypulse.case.casefile import read
from baypulse.cli import main
from baypulse.engine import ensemble, run, stepper
from baypulse.run.simulation import simulate
from test_plain import members, numbers

case = read(sys.argv[1])
begun = set(plain._WAITING)
"""
"""Begins plain, though all of the core is kept on the disk."""

IN_ORDER = """
first = numbers(simulate(case))
stages = [plain.waits()]
rows = members(case)
stages.append(plain.waits())
left = [f"{module}.{name}" for module, held in list(sys.modules.items())
        if module.startswith("baypulse.")
        for name, value in vars(held).items() if isinstance(value, FunctionType) and value in begun]
print(json.dumps({"first": first, "rows": rows, "stages": stages, "left": left,
                  "again": numbers(simulate(case))}))
"""

LONG = """
run.ROOM, plain.WORTH_COMPILING = 64, 1500
first = numbers(simulate(case))
print(json.dumps({"first": first, "waits": plain.waits(), "work": plain._work}))
"""

REFUSED = """
real, calls = stepper.advance, []

def advance(t, t_end, h, tolerance, P, w):
    calls.append(t)
    if len(calls) < 5:
        return real(t, t_end, h, tolerance, P, w)
    real(t, t_end, h, tolerance, P, w)
    raise ZeroDivisionError

stepper.advance = advance
first = numbers(simulate(case))
print(json.dumps({"first": first, "waits": plain.waits(), "calls": len(calls)}))
"""


def numbers(result: Any) -> dict[str, Any]:
    """Return what a shot gives, curves and events among it."""
    return {
        "end": {name: float(curve.values[-1]) for name, curve in result.curves.items()},
        "events": [[event.time, event.kind.name] for event in result.events],
        "peak": result.numbers.peak_pressure,
        "steps": result.steps,
    }


def members(case: Any) -> list[list[float]]:
    """Return the rows of four members."""
    every = factors(case)
    points = draws.unit_points(1, 0, dimensions(every), "sobol")[:4]
    drawn = draws.member_case(case, draws.values(case, every, points))
    records, _ = draws.records(drawn, {}, 4)
    return ensemble.run_members(records, case.run.end_time, 2e-5).tolist()


def told(program: str) -> dict[str, Any]:
    paths = [str(Path(__file__).parent), os.environ.get("PYTHONPATH", "")]
    done = subprocess.run(
        [sys.executable, "-c", BEGIN + program, str(CASE)], capture_output=True, text=True,
        check=False, env={**os.environ, "PYTHONPATH": os.pathsep.join(paths)},
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


def assert_same(found: dict[str, Any], expected: dict[str, Any]) -> None:
    assert found["steps"] == expected["steps"]
    assert [kind for _, kind in found["events"]] == [kind for _, kind in expected["events"]]
    times = [[time for time, _ in each["events"]] for each in (found, expected)]
    np.testing.assert_allclose(*times, rtol=1e-9)
    assert found["peak"] == pytest.approx(expected["peak"], rel=1e-9)
    for name, value in expected["end"].items():
        assert found["end"][name] == pytest.approx(value, rel=1e-7, abs=1e-9, nan_ok=True), name


def test_a_first_shot_is_plain_and_members_are_compiled() -> None:
    found, case = told(IN_ORDER), read(CASE)
    compiled = numbers(simulate(case))
    assert found["stages"] == [True, False]
    assert_same(found["first"], compiled)
    # whatever had been plain is compiled by now, and computes the same to the bit
    assert found["left"] == []
    assert json.dumps(found["again"]) == json.dumps(compiled)
    np.testing.assert_array_equal(found["rows"], members(case))


def test_a_run_that_takes_long_goes_on_compiled_where_it_was() -> None:
    found = told(LONG)
    assert found["waits"] is False
    # it had begun plain, and not ended so
    assert 1500 < found["work"] < 2500
    assert_same(found["first"], numbers(simulate(read(CASE))))


def test_what_python_refuses_is_computed_by_compiled_code() -> None:
    found = told(REFUSED)
    assert found["waits"] is False and found["calls"] == 5
    assert_same(found["first"], numbers(simulate(read(CASE))))


@pytest.fixture
def own_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setattr(core_folder, "FOLDER", str(tmp_path / "core"))
    return tmp_path / "core"


def test_who_compiles_is_alone_and_others_wait(own_folder: Path) -> None:
    order: list[str] = []

    def other() -> None:
        order.append("other asks")
        with core_folder.alone():
            order.append("other is alone")

    waiting = threading.Thread(target=other)
    with core_folder.alone():
        waiting.start()
        waiting.join(3 * core_folder.GLANCE)
        order.append("first ends")
    waiting.join()
    assert order == ["other asks", "first ends", "other is alone"]


HOLD = """
import sys, time
from baypulse.physics import core_folder
core_folder.FOLDER = sys.argv[1]
with core_folder.alone(*sys.argv[2:]):
    print("alone", flush=True)
    time.sleep(600)
"""


def test_nobody_waits_for_a_process_that_was_ended(own_folder: Path) -> None:
    with subprocess.Popen(
        [sys.executable, "-c", HOLD, str(own_folder)], stdout=subprocess.PIPE, text=True
    ) as other:
        assert other.stdout is not None and other.stdout.readline() == "alone\n"
        other.kill()
    with core_folder.alone():
        pass


def test_nobody_waits_for_ever(own_folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(core_folder, "PATIENCE", 0.0)
    with core_folder.alone(), core_folder.alone():
        pass


def test_where_nothing_can_be_written_nobody_waits(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "file").touch()
    monkeypatch.setattr(core_folder, "FOLDER", str(tmp_path / "file" / "core"))
    with core_folder.alone(), core_folder.alone():
        pass


class Child:
    """Stands for a process."""

    pid, returncode = 1, None

    def __init__(self, words: list[str], **how: Any) -> None:
        begun.append(words[1:])

    def poll(self) -> int | None:
        return self.returncode


begun: list[list[str]] = []


@pytest.fixture
def beside(own_folder: Path, monkeypatch: pytest.MonkeyPatch) -> beforehand.Beside:
    begun.clear()
    monkeypatch.setattr(subprocess, "Popen", Child)
    monkeypatch.setattr(beforehand.os, "setpriority", lambda *priority: None, raising=False)
    made = beforehand.Beside()
    monkeypatch.setattr(first_work, "_action", made.begin)
    monkeypatch.setattr(plain, "_work", 0)
    return made


def test_while_a_first_shot_is_plain_one_process_compiles(
    beside: beforehand.Beside, monkeypatch: pytest.MonkeyPatch
) -> None:
    plain.add_work(100)  # of a core that is compiled, or cannot be
    assert not beside.leave() and not begun
    monkeypatch.setattr(plain, "_WAITING", {simulate: simulate})
    plain.add_work(100)
    plain.add_work(100)
    assert beside.leave() and begun == [["-m", "baypulse.compile"]]
    assert not beside.leave()


def test_nothing_is_compiled_beside_where_it_could_not_be_kept(
    beside: beforehand.Beside, own_folder: Path
) -> None:
    own_folder.touch()
    beside.begin()
    assert not beside.leave() and not begun


def test_one_process_that_compiles_is_enough(
    own_folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    begun.clear()
    monkeypatch.delattr(beforehand.os, "setpriority", raising=False)
    with subprocess.Popen(
        [sys.executable, "-c", HOLD, str(own_folder), core_folder.LONG_LOCK],
        stdout=subprocess.PIPE, text=True,
    ) as other:  # fmt: skip
        assert other.stdout is not None and other.stdout.readline() == "alone\n"
        monkeypatch.setattr(subprocess, "Popen", Child)
        beforehand.Beside().begin()
        assert not begun
        other.kill()
    beforehand.Beside().begin()
    assert begun == [["-m", "baypulse.compile"]]


def test_who_waits_for_the_other_process_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    assert compiling() is None
    monkeypatch.setattr(plain, "_WAITING", {simulate: simulate})
    monkeypatch.setattr(plain, "_in_queue", True)
    assert compiling() == (0, 1)


def test_a_command_line_tells_of_it_once_its_report_stands(
    tmp_path: Path, start: Callable[..., subprocess.Popen[str]]
) -> None:
    program = (
        "import sys; from baypulse.physics import core_folder; "
        "core_folder.is_kept = lambda *driver: False; "
        "from baypulse.cli import program; sys.exit(program())"
    )
    with core_folder.alone():  # all is kept, and would be found at once
        done = start("-c", program, "run", str(CASE), "--out", str(tmp_path))
        told, warned = done.communicate()
    assert done.returncode == 0, warned
    assert "report: " in told
    assert warned == f"{beforehand.BESIDE}\n"


def test_who_begins_a_case_finds_all_compiled_when_it_is_run(
    beside: beforehand.Beside, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(core_folder, "is_kept", lambda *driver: True)
    assert main(["new", str(tmp_path / "one.toml")]) == 0
    assert not begun
    monkeypatch.setattr(core_folder, "is_kept", lambda *driver: False)
    monkeypatch.setattr(first_work, "_action", beside.begin)
    assert main(["new", str(tmp_path / "another.toml")]) == 0
    assert begun == [["-m", "baypulse.compile"]]
