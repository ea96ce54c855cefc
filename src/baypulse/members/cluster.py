"""Executor on a Dask cluster that is already running; baypulse has no scheduler of its own."""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Callable, Iterator
from concurrent.futures import BrokenExecutor, CancelledError, Executor, Future, ThreadPoolExecutor
from contextlib import contextmanager
from typing import Any

from baypulse import __version__
from baypulse.members.parts import StudyError, cause

_PATIENCE = 10.0
"""How long a cluster may take to answer [s]."""


@contextmanager
def dask(address: str) -> Iterator[tuple[Executor, int]]:
    """Connect to a Dask cluster that is already running.

    A worker that dies loses nothing: the scheduler gives its blocks to another.

    Parameters
    ----------
    address : str
        Of its scheduler, such as ``tcp://192.168.0.5:8786``.

    Yields
    ------
    concurrent.futures.Executor
        To run blocks on.
    int
        How many blocks the cluster runs at once.

    Raises
    ------
    StudyError
        If the package or the cluster is missing, or its workers hold another baypulse.
    """
    try:
        import distributed
    except ImportError:
        raise StudyError(
            "a Dask cluster needs the package distributed: "
            "python -m pip install distributed, then try again"
        ) from None
    with _quiet():
        _look_for_scheduler(address)
        with distributed.Client(address, timeout=_PATIENCE, set_as_default=False) as client:
            yield _ClusterExecutor(client), _checked_workers(client, address)


class _ClusterExecutor(Executor):
    """Dask's futures as those of `concurrent.futures`.

    Dask's own executor looks at the state of a block after it has fetched the result; when the
    worker dies between the two, it takes the result for an error (seen with distributed 2026.8).
    """

    def __init__(self, client: Any) -> None:
        self._client = client

    def submit(self, function: Callable[..., Any], /, *given: Any, **named: Any) -> Future[Any]:
        """Hand a call to the cluster."""
        theirs = self._client.submit(function, *given, pure=False, **named)
        ours: Future[Any] = Future()

        def cancel(ended: Future[Any]) -> None:
            if ended.cancelled() and not theirs.done():
                theirs.cancel()

        ours.add_done_callback(cancel)
        self._client.loop.add_callback(self._hand_over, theirs, ours)
        return ours

    async def _hand_over(self, theirs: Any, ours: Future[Any]) -> None:
        """Wait for a result in Dask's event loop."""
        import distributed

        result: Any = None
        failure: Exception | None = None
        try:
            # waits again when a result is lost before it has been fetched
            result = await self._client.gather(theirs, asynchronous=True)
        except (distributed.KilledWorker, CancelledError, asyncio.CancelledError) as error:
            failure = BrokenExecutor(str(error))
        except Exception as error:
            failure = error
        if ours.set_running_or_notify_cancel():
            if failure is None:
                ours.set_result(result)
            else:
                ours.set_exception(failure)


def _look_for_scheduler(address: str) -> None:
    """Refuse an address at which no Dask scheduler answers.

    Before a client is made: one that does not get through tries to close itself until the end of
    the program, and complains there.
    """
    import distributed

    async def ask() -> Any:
        secure = distributed.Security().get_connection_args("client")
        async with distributed.rpc(address, timeout=_PATIENCE, connection_args=secure) as peer:
            return await asyncio.wait_for(peer.identity(), _PATIENCE)

    try:
        # in a thread of its own, since a notebook has a running event loop in this one
        with ThreadPoolExecutor(1) as aside:
            kind = aside.submit(asyncio.run, ask()).result()["type"]
    except Exception as error:  # whatever may listen at an address that somebody typed
        raise StudyError(
            f"no Dask scheduler answers at {address!r} ({cause(error)}); give its address, "
            "such as tcp://192.168.0.5:8786, as its log shows it when it starts"
        ) from None
    if kind != "Scheduler":
        raise StudyError(
            f"at {address} a Dask {kind.lower()} answers, not the scheduler; give the address "
            "that the scheduler's log shows when it starts"
        )


def _checked_workers(client: Any, address: str) -> int:
    """Return how many blocks a cluster runs at once; refuse one with another baypulse.

    The scheduler is looked at, too, since it unpacks what passes through it.
    """

    def version() -> str:
        # goes there by value, since nothing of this package need be there
        try:
            import baypulse
        except ImportError:
            return "no baypulse"
        return f"baypulse {baypulse.__version__}"

    workers = client.run(version)
    if not workers:
        raise StudyError(f"the Dask cluster at {address} has no workers; start some")
    found = {"its scheduler": client.run_on_scheduler(version)}
    found |= {f"its worker {worker}": holds for worker, holds in sorted(workers.items())}
    for member, holds in found.items():
        if holds != f"baypulse {__version__}":
            raise StudyError(
                f"the Dask cluster at {address} does not fit: {member} has {holds}, this is "
                f"baypulse {__version__}; install the same everywhere"
            )
    return int(sum(client.nthreads().values()))


@contextmanager
def _quiet() -> Iterator[None]:
    """Keep Dask's log off the terminal; what matters of it becomes an error with a sentence."""
    loggers = [logging.getLogger(name) for name in ("distributed", "distributed.client", "tornado")]
    loggers += [logging.getLogger("tornado.application")]
    before = [logger.level for logger in loggers]
    try:
        for logger in loggers:
            logger.setLevel(logging.CRITICAL + 1)
        yield
    finally:
        for logger, level in zip(loggers, before, strict=True):
            logger.setLevel(level)
