"""At most a few computations at once, and none that nobody waits for."""

from __future__ import annotations

import asyncio
import os
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from contextvars import copy_context
from typing import Any, TypeVar

MOST = 5
"""Computations at once: a page has five kinds of question, and asks each one at a time."""

PATIENCE = 5.0
"""Seconds that one more waits for its turn before it is refused."""

Found = TypeVar("Found")


class Busy(Exception):
    """Too many computations at once."""


class Turns:
    """Gives computations their turns, and tells the old from the new.

    A question has a kind (``"answer"``, ``"band"`` ...) and a number; a later number of the page
    makes earlier ones stale.
    """

    def __init__(self) -> None:
        self._free = asyncio.Semaphore(MOST)
        # more threads than cores would only share the time, and each holds on to memory
        self._threads = ThreadPoolExecutor(min(MOST, 1 + (os.cpu_count() or 1)))
        self._newest: dict[str, int] = {}

    def asked(self, page: str, number: int) -> Callable[[], bool]:
        """Note a question; return what says whether the page has asked a newer one since."""
        self._newest[page] = max(number, self._newest.get(page, number))
        if len(self._newest) > 64:
            self._newest.pop(next(iter(self._newest)))
        return lambda: self._newest.get(page, number) > number

    async def compute(self, work: Callable[..., Found], *given: Any) -> Found:
        """Run work in a thread when it is its turn.

        Raises
        ------
        Busy
            If its turn does not come within :data:`PATIENCE`.
        """
        try:
            await asyncio.wait_for(self._free.acquire(), PATIENCE)
        except TimeoutError:
            raise Busy from None
        loop, context = asyncio.get_running_loop(), copy_context()
        task = loop.run_in_executor(self._threads, lambda: context.run(work, *given))
        # the turn ends with the work, also where the page has gone away meanwhile
        task.add_done_callback(lambda _: self._free.release())
        return await asyncio.shield(task)
