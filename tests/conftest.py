"""How several workers share a session: what one has made, the others do not make again.

The core is compiled once, while they look for their tests. From an empty cache it takes most of a
minute of one processor, and every worker would compile for itself. The controller starts a program
that compiles instead; a worker waits for it where it would begin to compile, and then finds the
code on the disk.

Tests of one study go to one worker, with its documents, since they look at the same findings.
"""

from __future__ import annotations

import os
import re
import shutil
import signal
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import suppress
from pathlib import Path
from typing import Any

import pytest
from hypothesis import settings

# as the program does (:func:`baypulse.cli.program`)
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

# how long an example takes says nothing on machines that are shared
settings.register_profile("untimed", deadline=None)
settings.load_profile("untimed")

PROGRAM = Path(__file__).with_name("compile_core.py")

MARK = "compiling"
"""Name of the file that lies there as long as the program runs, and of what tells workers of it."""

EARLY = (
    "tests/studies/scatter/test_rare.py", "tests/case/logs/test_conventions.py",
    "tests/members/test_blocks.py", "tests/case/logs/test_flight.py", "tests/docs/test_mutants.py",
    "tests/docs/test_words.py", "tests/members/test_chances.py", "tests/members/test_sobol.py",
    "tests/studies/sweep/test_figures.py", "tests/studies/scatter/test_figures.py",
    "tests/studies/window/test_figures.py",
)  # fmt: skip
"""Files that need no compiled code, a group each: begun while it is being made."""

LONG = (
    "fit", "why", "plan", "tests/docs/test_how_to.py", "aloft", "window", "cord", "joints",
    "scatter", "shots", "vents", "altimeter", "pins", "tests/validation/test_separations.py",
    "tests/validation/test_records.py", "tests/members/test_ensemble.py",
    "tests/engine/test_run_ends.py", "tests/members/test_dask.py", "tests/live/test_page.py",
)  # fmt: skip
"""Groups of tests that take longest: begun next, so that none is left alone at the end."""

STARTED = pytest.StashKey[tuple[subprocess.Popen[bytes], Path]]()


@pytest.fixture
def unsaved_figures(monkeypatch: pytest.MonkeyPatch) -> None:
    """Draw figures, and save next to nothing of them.

    For tests of reports that do not look at their figures: two thirds of what a figure takes.
    """
    from baypulse.show import figure_files

    def saved(made: Any, **how: Any) -> bytes:
        if how["format"] == "svg":
            return b'<svg viewBox="0 0 1 1"><g></g></svg>'
        return bytes(4 * int(made.get_figwidth() * how.get("dpi", 1)))  # a line of dots

    monkeypatch.setattr(figure_files, "_saved", saved)


@pytest.fixture
def start() -> Iterator[Callable[..., subprocess.Popen[str]]]:
    """Start programs whose compiler ends with the test, too: it would go on beside other tests."""
    started: list[subprocess.Popen[str]] = []

    def start(*words: str, **how: Any) -> subprocess.Popen[str]:
        made = subprocess.Popen(
            [sys.executable, *words], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
            start_new_session=True, **how,
        )  # fmt: skip
        started.append(made)
        return made

    yield start
    for each in started:
        if os.name == "nt":
            each.kill()
        else:
            with suppress(ProcessLookupError):
                os.killpg(each.pid, signal.SIGKILL)
        each.communicate()


def pytest_configure(config: pytest.Config) -> None:
    """Begin to compile in the controller of several workers; let a worker wait for it."""
    from baypulse.physics import plain

    plain.never()  # tests run more than a first shot
    told = getattr(config, "workerinput", None)
    if told is not None:
        if MARK in told:
            wait_before_compiling(Path(told[MARK]))
    elif config.getoption("numprocesses", None) and os.environ.get("NUMBA_DISABLE_JIT", "0") == "0":
        mark = Path(tempfile.mkdtemp(prefix="baypulse-tests-")) / MARK
        mark.touch()
        process = subprocess.Popen([sys.executable, str(PROGRAM)])
        threading.Thread(target=unmark, args=(process, mark), daemon=True).start()
        config.stash[STARTED] = process, mark


@pytest.hookimpl(optionalhook=True)
def pytest_configure_node(node: Any) -> None:
    """Tell a worker where the mark lies."""
    if STARTED in node.config.stash:
        node.workerinput[MARK] = str(node.config.stash[STARTED][1])


def pytest_unconfigure(config: pytest.Config) -> None:
    """End what nobody waits for any more."""
    if STARTED in config.stash:
        process, mark = config.stash[STARTED]
        process.terminate()
        unmark(process, mark)


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Put the early groups first, and then the long ones."""
    order = {group: place for place, group in enumerate(EARLY + LONG)}
    items.sort(key=lambda item: order.get(group_of(item.nodeid), len(order)))


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config: pytest.Config, log: Any) -> Any:
    """Give whole groups to the workers, where whole files are asked for."""
    if config.getvalue("dist") != "loadfile":
        return None
    from xdist.scheduler import LoadScopeScheduling

    class ByGroup(LoadScopeScheduling):
        def _split_scope(self, nodeid: str) -> str:
            return group_of(nodeid)

    return ByGroup(config, log)


def group_of(nodeid: str) -> str:
    """Return the study whose findings a test looks at, or its file."""
    file = nodeid.partition("::")[0]
    study = re.match(r"tests/(?:studies/(\w+)/|show/test_documents\.py::\w+\[(\w+))", nodeid)
    return (study[1] or study[2]) if study and file not in EARLY else file


def unmark(process: subprocess.Popen[bytes], mark: Path) -> None:
    """Take the mark away when the program has ended, however it ended."""
    process.wait()
    shutil.rmtree(mark.parent, ignore_errors=True)


def wait_before_compiling(mark: Path) -> None:
    """Let this process wait, before it takes up numba's compiler, until a mark is gone."""
    from numba.core import event
    from numba.core.registry import cpu_target

    class Patient(event.Listener):
        def on_start(self, event: Any) -> None:
            while mark.exists():
                time.sleep(0.1)

        def on_end(self, event: Any) -> None:
            pass

    _ = cpu_target.target_context  # made by the first import of the core, under the same lock
    # told before a function is looked for on the disk, and so before it is compiled
    event.register("numba:compiler_lock", Patient())
