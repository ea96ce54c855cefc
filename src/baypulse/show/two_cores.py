"""Numbered pieces of work, in a second process too where the system can double one."""

from __future__ import annotations

import multiprocessing
import os
import signal
import sys
import threading
import warnings
from collections.abc import Callable, Iterator
from contextlib import suppress
from multiprocessing.connection import Connection
from typing import TypeVar

Made = TypeVar("Made")

TICKETS = 256
"""How many pieces a byte tells apart."""


def pieces(work: Callable[[int], Made], count: int) -> list[Made]:
    """Do pieces of work, and return what each gives, in order.

    The second process is a double of this one, so that the work may hold what cannot be sent, and
    has nothing to load. Whoever is free takes the next piece. Where a process cannot be doubled
    safely, or has one core only, this one does all of them.

    Parameters
    ----------
    work : callable
        From the number of a piece, from 0, to what it gives, which can be pickled. It must not
        run threads, and what it changes beside that is lost.
    count : int
        How many pieces there are.
    """
    if count < 2 or not _can_double():
        return [work(k) for k in range(count)]
    tickets, filled = os.pipe()
    os.write(filled, bytes(range(min(count, TICKETS))))
    os.close(filled)
    double = multiprocessing.get_context("fork")
    receiving, sending = double.Pipe(duplex=False)
    other = double.Process(target=_send, args=(work, count, tickets, sending), daemon=True)
    try:
        with warnings.catch_warnings():
            # of threads that may hold a lock for ever: those of this process are at rest by now
            warnings.simplefilter("ignore", DeprecationWarning)
            other.start()
        sending.close()
        done = {k: work(k) for k in _taken(count, tickets)}
        with suppress(EOFError, OSError):
            done |= receiving.recv()
    finally:
        if other.pid is not None:
            other.kill()
            other.join()
        os.close(tickets)
        receiving.close()
    # what a double that was ended from outside has left
    return [done[k] if k in done else work(k) for k in range(count)]


def _can_double() -> bool:
    """Say whether a double of this process helps, and works on when it is made."""
    return (
        sys.platform == "linux"
        and len(os.sched_getaffinity(0)) > 1
        # beside the threads of a server a double may wait for one that it has not
        and threading.current_thread() is threading.main_thread()
        and not multiprocessing.current_process().daemon
    )


def _send(work: Callable[[int], Made], count: int, tickets: int, sending: Connection) -> None:
    """Do pieces in the double, and send them when none is left."""
    # Ctrl-C is for the first process, which ends this one
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    signal.signal(signal.SIGTERM, signal.SIG_DFL)
    done = {}
    for k in _taken(count, tickets):
        with suppress(Exception):  # the first process meets it again, and says so
            done[k] = work(k)
    with suppress(OSError):  # nobody waits any more
        sending.send(done)


def _taken(count: int, tickets: int) -> Iterator[int]:
    """Yield the pieces whose tickets this process draws, until there is none."""
    while ticket := os.read(tickets, 1):
        yield from range(ticket[0], count, TICKETS)
