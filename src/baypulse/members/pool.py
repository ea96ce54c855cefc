"""Threads that are left alone with what they have begun, where somebody stops waiting for them."""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager

from baypulse.terminal import functions_compiled


@contextmanager
def pool_of(count: int) -> Iterator[ThreadPoolExecutor]:
    """Give threads; whatever ends the block early, they finish what they have begun and no more.

    An executor by itself does all that it was ever given before it lets go: whoever stops a study
    between two results would wait for the rest of them. One that compiles the core is not waited
    for.

    Parameters
    ----------
    count : int
        Of threads.
    """
    pool = ThreadPoolExecutor(count)
    try:
        yield pool
    except BaseException:
        pool.shutdown(wait=functions_compiled() is None, cancel_futures=True)
        raise
    pool.shutdown(cancel_futures=True)
