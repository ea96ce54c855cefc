"""Runs numbered blocks of members on any executor, and keeps what is finished on disk.

A block can be made alone, in any order and anywhere, with the same members. So nothing has to be
remembered but which parts are finished: those that stand in the folder under their own names.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Generator, Iterator
from concurrent.futures import BrokenExecutor, CancelledError, Executor, Future
from contextlib import closing, contextmanager, suppress
from itertools import islice
from pathlib import Path
from queue import Empty, SimpleQueue
from typing import Any, Protocol, TextIO

import numpy as np

from baypulse.members import parts
from baypulse.members.parts import PartLayout, StudyError
from baypulse.members.store import Store

Progress = Callable[[int, int], object]
"""Told the number of members that are done, and of all."""

_PER_WORKER = 4
"""Blocks in flight for each worker: it never waits for the next, and memory stays flat."""

_GLANCE = 0.2
"""Longest wait for a block [s]. Windows delivers Ctrl-C only between two waits."""


class BlockPlan(Protocol):
    """What to run; can be pickled, and so sent to other processes and machines.

    Attributes
    ----------
    members : int
        How many there are, at least 1.
    block_size : int
        Members of a block.
    identity : dict
        All that decides the members, such as case, seed and versions; goes into JSON.
    """

    @property
    def members(self) -> int: ...  # noqa: D102

    @property
    def block_size(self) -> int: ...  # noqa: D102

    @property
    def identity(self) -> dict[str, Any]: ...  # noqa: D102

    def __call__(self, block: int) -> np.ndarray:
        """Return the members of a block, a structured array of shape (members of the block,)."""
        ...


def run(
    plan: BlockPlan,
    folder: str | Path,
    executor: Executor,
    *,
    workers: int,
    resume: bool = False,
    progress: Progress | None = None,
) -> Store:
    """Run every block of a plan and write its members in parts.

    Stopped at any moment, by an error, Ctrl-C or a kill, it leaves the finished parts and, unless
    it was killed, the finished blocks of others; resumed, it makes what is missing. A finished
    folder holds the same bytes, whatever the executor and however often it was stopped. A part that
    does not open is made again, too: that costs less
    than to have somebody look for the file to delete.

    Parameters
    ----------
    plan : Plan
        What to run.
    folder : str or pathlib.Path
        Made if missing.
    executor : concurrent.futures.Executor
        What the blocks run on; left open.
    workers : int
        How many blocks it runs at once, at least 1; executors do not tell.
    resume : bool
        Go on with the run that stands in the folder; if it is empty, begin.
    progress : callable, optional
        Called after every block, and once before the first.

    Returns
    -------
    Store
        The finished run.

    Raises
    ------
    StudyError
        If the folder holds something else, a block fails, the workers are lost, or the folder
        cannot be written.
    """
    if workers < 1:
        raise ValueError("workers must be at least 1")
    place, layout = Path(folder), PartLayout(plan.members, plan.block_size)
    try:
        kept, schema = _begin(place, layout, plan.identity, resume)
    except OSError as error:
        raise StudyError(
            f"{place} cannot be written: {parts.cause(error)}; choose another folder"
        ) from None
    done = sum(layout.rows(part) for part in kept)
    missing = [part for part in range(layout.parts) if part not in kept]
    # finished blocks of parts that are not
    spare = {
        block: rows
        for block, rows in parts.read_spare(place, layout).items()
        if block // parts.BLOCKS_PER_PART in missing
    }
    done += sum(rows.size for rows in spare.values())
    tell = progress or (lambda done, total: None)
    blocks = (block for part in missing for block in layout.blocks_of(part) if block not in spare)
    try:
        tell(done, layout.members)
        for part in missing:  # the disk may have been full when it was to be written
            if all(block in spare for block in layout.blocks_of(part)):
                schema = _written(place, layout.blocks_of(part), spare, schema)
        with closing(_made(plan, layout, blocks, executor, _PER_WORKER * workers)) as made:
            for block, rows in made:
                spare[block] = rows
                own = layout.blocks_of(block // parts.BLOCKS_PER_PART)
                if all(each in spare for each in own):
                    schema = _written(place, own, spare, schema)
                done += rows.size
                tell(done, layout.members)
    except BaseException as error:
        finished = _keep_spare(place, spare)
        if isinstance(error, _StoppedError):
            raise StudyError(f"{error}; {finished}") from error.__cause__
        raise
    parts.remove_spare(place)
    return Store(place)


@contextmanager
def bar(stream: TextIO, *, always: bool = False) -> Iterator[Progress | None]:
    """Show a bar with members a second and time left.

    Parameters
    ----------
    stream : text stream
        Where to; unless it is a terminal nothing is shown.
    always : bool
        Show it on anything.

    Yields
    ------
    callable or None
        To be told the progress.
    """
    if not (always or stream.isatty()):
        yield None
        return
    from tqdm import tqdm

    shown: Any = None

    def tell(done: int, total: int) -> None:
        nonlocal shown
        if shown is None:
            # what an earlier run did counts as done, but not as speed
            look = {"unit": " bays", "unit_scale": True, "miniters": 1, "dynamic_ncols": True}
            shown = tqdm(total=total, initial=done, file=stream, **look)
        else:
            shown.update(done - shown.n)

    try:
        yield tell
    finally:
        if shown is not None:
            shown.close()


class _StoppedError(Exception):
    """A block that was not made, or a part that could not be written.

    The text says which and why, the cause is the error behind.
    """


def _begin(
    folder: Path, layout: PartLayout, identity: dict[str, Any], resume: bool
) -> tuple[set[int], Any]:
    """Prepare a folder; return the parts that are finished and their schema."""
    # through JSON, so that what is asked compares with what was read
    asked = json.loads(json.dumps(parts.description(layout, identity)))
    if resume and not folder.is_dir():
        raise StudyError(f"there is no run in {folder} to resume; leave out --resume to begin one")
    if folder.exists() and not folder.is_dir():
        raise StudyError(f"{folder} is a file; choose another folder")
    folder.mkdir(parents=True, exist_ok=True)
    others = parts.others(folder)
    if others and parts.RUN not in others:
        raise StudyError(
            f"{folder} holds {others[0]}, which is no part of a run; choose another folder"
        )
    store = Store(folder) if others else None
    if store is None or not (resume or store.parts):
        # empty, or stopped before its first part: there are seconds to lose, and none for the same
        parts.remove_unfinished(folder)
        if store is None or parts.read_description(folder) != asked:
            parts.remove_spare(folder)
            parts.write_description(folder, asked)
        return set(), None
    if not resume:
        state = (
            "a finished run"
            if store.complete
            else f"a run with {store.members} simulated shots done"
        )
        raise StudyError(
            f"{folder} holds {state}, which is not replaced; go on with it (--resume) or choose "
            "another folder"
        )
    _same(folder, parts.read_description(folder), asked)
    parts.remove_unfinished(folder)
    return _finished(folder, layout)


def _same(folder: Path, found: dict[str, Any], asked: dict[str, Any]) -> None:
    """Refuse to go on with a run that is not the one asked for."""
    # what the plan says of itself stands beside how the run is cut
    there, here = (_flat(each | each["asked"] | {"asked": None}) for each in (found, asked))
    other = [
        f"{key} is {there.get(key, 'missing')} there and {here.get(key, 'missing')} here"
        for key in sorted(there.keys() | here.keys())
        if there.get(key) != here.get(key)
    ]
    if other:
        more = f", and {len(other) - 3} more" if len(other) > 3 else ""
        raise StudyError(
            f"{folder} holds another run: {'; '.join(other[:3])}{more}; ask for the same, or "
            "choose another folder"
        )


def _flat(described: dict[str, Any], path: str = "") -> dict[str, str]:
    """Return the leaves of a description as text, by their dotted path."""
    found: dict[str, str] = {}
    for key, value in described.items():
        if isinstance(value, dict) and value:
            found |= _flat(value, f"{path}{key}.")
        else:
            found[f"{path}{key}"] = json.dumps(value, ensure_ascii=False)
    return found


def _finished(folder: Path, layout: PartLayout) -> tuple[set[int], Any]:
    """Return the parts that open and hold the right number of members, and their schema."""
    kept, schema = set(), None
    store = Store(folder)  # refuses parts that the run cannot have
    for part in store.parts:
        seen = parts.schema_of(folder, part, layout.rows(part))
        if seen is None:
            continue
        if schema is not None and not seen.equals(schema):
            raise StudyError(
                f"the columns of {folder / parts.name(part)} are not those of the parts before; "
                "begin again in another folder"
            )
        kept.add(part)
        schema = seen
    return kept, schema


def _made(
    plan: BlockPlan, layout: PartLayout, blocks: Iterator[int], executor: Executor, most: int
) -> Generator[tuple[int, np.ndarray]]:
    """Run blocks, some at once; give each with its rows as it lands; cancel the rest at the end."""
    landed: SimpleQueue[Future[np.ndarray]] = SimpleQueue()
    flying: dict[Future[np.ndarray], int] = {}
    kind: np.dtype | None = None
    try:
        while True:
            for block in islice(blocks, most - len(flying)):
                try:
                    future = executor.submit(_make, plan, block)
                except RuntimeError as error:  # closed or broken
                    raise _failed(layout, block, error) from error
                flying[future] = block
                future.add_done_callback(landed.put)
            if not flying:
                return
            try:
                future = landed.get(timeout=_GLANCE)
            except Empty:
                continue
            block = flying.pop(future)
            try:
                rows = future.result()
            except Exception as error:
                raise _failed(layout, block, error) from error
            kind, size = kind or rows.dtype, len(layout.members_of(block))
            if rows.shape != (size,) or rows.dtype != kind or not kind.names:
                raise _StoppedError(
                    f"block {block} gave shape {rows.shape} of {rows.dtype}, not ({size},) of the "
                    f"structured type of the others, {kind}"
                )
            yield block, rows
    finally:
        for future in flying:
            future.cancel()


def _make(plan: BlockPlan, block: int) -> np.ndarray:
    """Make a block; a function of a module, so that pickle finds it."""
    return plan(block)


def _failed(layout: PartLayout, block: int, error: Exception) -> _StoppedError:
    """Return the error for a block that was not made."""
    span = layout.members_of(block)
    place = f"block {block} (simulated shots {span[0]} to {span[-1]})"
    # a connection may close while a finished block is fetched; the class is of a library that is
    # not everywhere
    closed = type(error).__name__ == "CommClosedError"
    if closed or isinstance(error, BrokenExecutor | CancelledError):
        return _StoppedError(
            f"the workers or their scheduler were lost while {place} was with them; they may have "
            "been stopped or run out of memory"
        )
    return _StoppedError(f"{place} failed: {type(error).__name__}: {parts.cause(error)}")


def _written(folder: Path, own: range, spare: dict[int, np.ndarray], schema: Any) -> Any:
    """Write the part of some blocks, and take them from those that wait; return its schema."""
    part = own[0] // parts.BLOCKS_PER_PART
    try:
        schema = parts.write_part(folder, part, [spare[block] for block in own], schema)
    except OSError as error:
        place = folder / parts.name(part)
        raise _StoppedError(f"{place} cannot be written: {parts.cause(error)}") from None
    for block in own:
        del spare[block]
    return schema


def _keep_spare(folder: Path, spare: dict[int, np.ndarray]) -> str:
    """Keep the finished blocks of unfinished parts, if that can be; say what is left."""
    members = 0
    with suppress(OSError):
        parts.write_spare(folder, spare)
        members = sum(rows.size for rows in spare.values())
    try:
        members += Store(folder).members
    except StudyError:
        return "nothing was finished"
    return f"{members} simulated shots are finished and kept in {folder}; go on with --resume"
