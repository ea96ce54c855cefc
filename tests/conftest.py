"""Marks the tests that still wait for inputs of their own under the slow burning of a bed."""

from __future__ import annotations

from pathlib import Path

import pytest

WAITING = Path(__file__).with_name("waiting.txt")


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Do not run the listed tests; each line of the list is the beginning of a test's name.

    Their invented bays were chosen so that a quick powder did something in them, and a slow one
    does something else. The list is to become empty: choose inputs that bring the situation back,
    see the test pass, and take its line out.
    """
    lines = (line.strip() for line in WAITING.read_text(encoding="utf-8").splitlines())
    names = tuple(line for line in lines if line and not line.startswith("#"))
    mark = pytest.mark.xfail(run=False, reason="waits for inputs under the slow burning")
    for item in items:
        if names and item.nodeid.startswith(names):
            item.add_marker(mark)
