"""Whether the page is still open: it holds one connection, and the server ends without it."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator, Callable

BEAT = 1.0
"""Seconds between two signs of life to the page; a closed page is noticed at the next."""

GRACE = 3.0
"""Seconds that a page may be away, such as while it is loaded again."""


class Presence:
    """Counts the pages that are open.

    Parameters
    ----------
    gone : callable
        Called when the last page has been away for :data:`GRACE`.
    """

    def __init__(self, gone: Callable[[], None]) -> None:
        self.open = 0
        self.ending = False
        self._gone = gone

    async def beats(self) -> AsyncIterator[str]:
        """Yield signs of life for as long as a page listens."""
        self.open += 1
        try:
            while not self.ending:
                yield ": here\n\n"
                await asyncio.sleep(BEAT)
        finally:
            self.open -= 1
            asyncio.get_running_loop().call_later(GRACE, self._look)

    def _look(self) -> None:
        if not self.open:
            self._gone()
