"""How several workers share a session: what one has made, the others do not make again.

The core is compiled once, while they look for their tests. From an empty cache it takes most of a
minute of one processor, and every worker would compile for itself. The controller starts a program
that compiles instead; a worker waits for it where it would begin to compile, and then finds the
code on the disk.

Tests of one study go to one worker, with its documents, since they look at the same findings.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
import threading
import time
from pathlib import Path
from typing import Any

import pytest

PROGRAM = Path(__file__).with_name("compile_core.py")

MARK = "compiling"
"""Name of the file that lies there as long as the program runs, and of what tells workers of it."""

LONG = (
    "fit", "why", "plan", "docs/test_how_to.py", "aloft", "window", "cord", "joints", "scatter",
    "shots", "vents", "altimeter", "pins", "validation/test_separations.py",
    "validation/test_records.py", "members/test_ensemble.py", "engine/test_run_ends.py",
    "members/test_dask.py", "live/test_page.py",
)  # fmt: skip
"""Groups of tests that take longest: begun first, so that none is left alone at the end."""

STARTED = pytest.StashKey[tuple[subprocess.Popen[bytes], Path]]()


def pytest_configure(config: pytest.Config) -> None:
    """Begin to compile in the controller of several workers; let a worker wait for it."""
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


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Put each test into its group, and the long groups first."""
    groups = {item: group_of(item) for item in items}
    for item, group in groups.items():
        item.add_marker(pytest.mark.xdist_group(group))
    order = {group: place for place, group in enumerate(LONG)}
    items.sort(key=lambda item: order.get(groups[item], len(LONG)))


def group_of(item: pytest.Item) -> str:
    """Return the study whose findings a test looks at, or its file."""
    place = item.path.relative_to(PROGRAM.parent)
    if place.parts[0] == "studies" and len(place.parts) > 2:
        return place.parts[1]
    if place.name == "test_documents.py" and hasattr(item, "callspec"):
        return str(item.callspec.params["document"]).split()[0]
    return place.as_posix()


def unmark(process: subprocess.Popen[bytes], mark: Path) -> None:
    """Take the mark away when the program has ended, however it ended."""
    process.wait()
    shutil.rmtree(mark.parent, ignore_errors=True)


def wait_before_compiling(mark: Path) -> None:
    """Let this process wait, before it takes up numba's compiler, until a mark is gone."""
    from numba.core import event

    class Patient(event.Listener):
        def on_start(self, event: Any) -> None:
            while mark.exists():
                time.sleep(0.1)

        def on_end(self, event: Any) -> None:
            pass

    # told before a function is looked for on the disk, and so before it is compiled
    event.register("numba:compiler_lock", Patient())
