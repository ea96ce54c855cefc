"""The server: on this machine only, on a free port, for as long as its page is open."""

from __future__ import annotations

import ctypes
import secrets
import socket
import threading
import warnings
import webbrowser
from collections.abc import Callable
from contextlib import suppress
from typing import Any

import uvicorn

from baypulse.errors import BaypulseError, RangeWarning, cause
from baypulse.live.app import Service
from baypulse.live.draft import NAME, Draft
from baypulse.live.guard import LOOPBACK, Guard
from baypulse.live.workplace import Workplace
from baypulse.terminal import Refused, say

SECRET_BYTES = 24
"""Of the secret in the address."""

HEAPS = (-8, 2)
"""glibc's M_ARENA_MAX (malloc.h), and in how many heaps threads put their memory: by itself eight
for each core, and each keeps what its threads free: a hundred MB after ten minutes of sliders."""

LEAVE = 1
"""Seconds that open connections get when the server ends."""


def serve(
    workplace: Workplace, start: list[dict[str, Any]], *, port: int = 0, browser: bool = True
) -> None:
    """Serve the page until it is closed, or the program is stopped.

    Parameters
    ----------
    workplace : Workplace
        Where cases are opened and written.
    start : list of dict
        Bays that the page begins with.
    port : int
        0 for a free one.
    browser : bool
        Whether to open the page.

    Raises
    ------
    Refused
        If the port is taken.
    """
    listening = _listening(port)
    secret = secrets.token_urlsafe(SECRET_BYTES)
    number = listening.getsockname()[1]
    address = f"http://{LOOPBACK}:{number}/{secret}/"
    # a doubt about a case stands beside its field; threads cannot collect warnings
    warnings.simplefilter("ignore", RangeWarning)
    _few_heaps()

    def gone() -> None:
        server.should_exit = True

    service = Service(workplace, start, gone)
    server = _Server(
        uvicorn.Config(
            Guard(service.app(), secret, number), log_level="critical", access_log=False,
            timeout_graceful_shutdown=LEAVE, lifespan="off", server_header=False,
        ),
        lambda: _ready(address, start, browser, lambda: server.should_exit),
        service.end,
    )  # fmt: skip
    with listening:
        server.run(sockets=[listening])


class _Server(uvicorn.Server):
    """A server that says when it listens, and lets the page go when it ends."""

    def __init__(
        self, config: uvicorn.Config, ready: Callable[[], None], ending: Callable[[], None]
    ) -> None:
        super().__init__(config)
        self._ready, self._ending = ready, ending

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        """Begin, then say so."""
        await super().startup(sockets=sockets)
        self._ready()

    async def shutdown(self, sockets: list[socket.socket] | None = None) -> None:
        """End; what the page holds open must not delay it."""
        self._ending()
        await super().shutdown(sockets=sockets)


def _listening(port: int) -> socket.socket:
    found = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    try:
        found.bind((LOOPBACK, port))
    except OSError as error:
        found.close()
        raise Refused(f"--port {port}: {cause(error)}; leave it out for a free one") from None
    return found


def _few_heaps() -> None:
    """Let threads share their heaps, where the C library is glibc."""
    with suppress(OSError, AttributeError):
        ctypes.CDLL("libc.so.6").mallopt(*HEAPS)


def _ready(
    address: str, start: list[dict[str, Any]], browser: bool, ends: Callable[[], bool]
) -> None:
    """Say where the page is, open it, and load the compiled code before the first slider."""
    say(f"the page: {address}")
    say("It is for this machine only. Close it, or press Ctrl-C, to end.")
    threading.Thread(target=_warm_up, args=(start, ends), daemon=True).start()
    if browser:
        threading.Thread(target=webbrowser.open, args=(address,), daemon=True).start()


def _warm_up(start: list[dict[str, Any]], ends: Callable[[], bool]) -> None:
    """Run the first case once, so that no slider waits for the compiler."""
    from baypulse.live import questions

    first = start[0] if start else {}
    draft = Draft(first.get("name", NAME), first.get("text"), {})
    # what is wrong with the case the page says itself
    with suppress(BaypulseError):
        try:
            for kind in ("answer", "strip"):
                questions.answered(kind, draft, ends)
        except RuntimeError:  # no thread is begun any more in a program that ends
            if not ends():
                raise
