"""How the benchmarks take the time."""

from __future__ import annotations

import time
from collections.abc import Callable


def best(action: Callable[[], object], repeats: int) -> float:
    """Return the shortest of some timings [s]."""
    found = []
    for _ in range(repeats):
        begin = time.perf_counter()
        action()
        found.append(time.perf_counter() - begin)
    return min(found)
