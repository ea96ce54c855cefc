"""Threads that are left alone with what they have begun, where somebody stops waiting for them."""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager


@contextmanager
def pool_of(count: int) -> Iterator[ThreadPoolExecutor]:
    """Give threads; whatever ends the block early, they finish what they have begun and no more.

    An executor by itself does all that it was ever given before it lets go: whoever stops a study
    between two results would wait for the rest of them.

    Parameters
    ----------
    count : int
        Of threads.
    """
    pool = ThreadPoolExecutor(count)
    try:
        yield pool
    finally:
        pool.shutdown(cancel_futures=True)
