"""At most a few computations at once, and none that nobody waits for."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from contextvars import copy_context
from typing import Any, TypeVar

MOST = 3
"""Computations at once: more than there are cores would only share the time, and hold memory."""

WAITING = 8
"""More that may wait for a turn: a page has five kinds of question, and asks each one at a time."""

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
        self._threads = ThreadPoolExecutor(MOST)
        self._waiting = 0
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
            If more than :data:`WAITING` others wait already.
        """
        if self._waiting >= WAITING:
            raise Busy
        self._waiting += 1
        try:
            await self._free.acquire()
        finally:
            self._waiting -= 1
        loop, context = asyncio.get_running_loop(), copy_context()
        task = loop.run_in_executor(self._threads, lambda: context.run(work, *given))
        # the turn ends with the work, also where the page has gone away meanwhile
        task.add_done_callback(lambda _: self._free.release())
        return await asyncio.shield(task)
