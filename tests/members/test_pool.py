"""Who stops a study waits for what is under way, and not for all that was to come."""

from __future__ import annotations

import threading
import time
from typing import Any

import numpy as np
import pytest

from baypulse.engine.ensemble import COLUMNS
from baypulse.members import ensemble, pool
from baypulse.members.outcomes import Outcomes
from baypulse.members.pool import pool_of
from tools import case

HANDS = 100


def test_what_is_not_begun_is_not_done_once_somebody_stops() -> None:
    begun = []

    def slow(k: int) -> int:
        begun.append(k)
        time.sleep(0.02)
        return k

    with pytest.raises(KeyboardInterrupt), pool_of(2) as threads:
        found = threads.map(slow, range(HANDS))
        for k in found:
            if k == 1:
                raise KeyboardInterrupt
    # two threads: what they have begun while the second was waited for
    assert len(begun) <= 6


def test_all_is_done_where_nobody_stops() -> None:
    with pool_of(3) as threads:
        assert list(threads.map(lambda k: k * k, range(HANDS))) == [k * k for k in range(HANDS)]


def test_members_are_run_no_further_once_the_progress_stops_them(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    ran = []

    def counted(held: Any, values: Any, members: int, *others: Any, **more: Any) -> Outcomes:
        ran.append(members)
        time.sleep(0.02)
        none = np.zeros(members)
        return Outcomes({}, np.zeros((members, len(COLUMNS))), none, none, none[:, None] > 0.0)

    def stop(members: int) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(ensemble, "run_members", counted)
    points = np.zeros(HANDS * ensemble.MOST_BATCH)
    with pytest.raises(KeyboardInterrupt):
        ensemble.run_values(case(), points, lambda part: {}, 2, stop)
    assert len(ran) <= 6


def test_what_compiles_is_not_waited_for(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(pool, "functions_compiled", lambda: (3, 191))
    compiled = threading.Event()
    with pytest.raises(KeyboardInterrupt), pool_of(1) as threads:
        threads.submit(compiled.wait)
        raise KeyboardInterrupt
    compiled.set()  # waited for, it would not have come to this
