"""What the commands say: on any terminal, one line a warning, and a word to those who wait."""

from __future__ import annotations

import sys
import threading
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TextIO

from baypulse.spelling import unseen

PATIENCE = 3.0
"""Seconds of waiting after which we say what is going on."""

GLANCE = 0.2
"""Seconds from one look at the compiler to the next."""

STOPPED = 130
"""Exit code where the user stopped it."""

COMPILING = "compiling the physics once for this machine, 20 to 40 seconds..."

_PLAIN = str.maketrans(
    {
        "×": "x", "·": "*", "²": "^2", "³": "^3", "–": "-", "—": "-", "−": "-", "°": " deg ",
        "µ": "u", "μ": "u", "±": "+/-", "≤": "<=", "≥": ">=", "“": '"', "”": '"', "‘": "'",
        "’": "'", "…": "...",
    }
)  # fmt: skip
"""What stands in for a character that the terminal cannot print."""


class Refused(Exception):
    """A wrong command line; the text says why."""


@contextmanager
def compiling_notice() -> Iterator[None]:
    """Say so when the physics is being compiled, which happens once on a machine."""
    done = threading.Event()

    def watch() -> None:
        waiting = PATIENCE
        while not done.wait(waiting):
            waiting = GLANCE
            if functions_compiled() is not None:
                _tell_compiling(done)
                return

    watcher = threading.Thread(target=watch, daemon=True)
    watcher.start()
    try:
        yield
    finally:
        done.set()
        watcher.join()  # a bar goes before anything else is written


def _tell_compiling(done: threading.Event) -> None:
    """Say what is going on; on a terminal with a bar, as long as it does."""
    if not sys.stderr.isatty():
        say(COMPILING, sys.stderr)
        return
    from tqdm import tqdm

    look = "{desc} {bar} {n}/{total} parts, {elapsed}"
    with tqdm(desc=COMPILING, bar_format=look, leave=False, dynamic_ncols=True) as shown:
        while (found := functions_compiled()) is not None:
            shown.n, shown.total = found
            shown.refresh()
            if done.wait(GLANCE):
                return


def functions_compiled() -> tuple[int, int] | None:
    """Return how many functions of the core are compiled, and how many it has.

    None while nothing is being compiled, and where nothing of the core is loaded.
    """
    core = sys.modules.get("baypulse.physics.compiled")
    return None if core is None else core.compiling()


@contextmanager
def one_line_warnings() -> Iterator[None]:
    """Print warnings as one line each."""
    with warnings.catch_warnings(record=True) as caught:
        from baypulse.errors import RangeWarning

        warnings.simplefilter("always", RangeWarning)
        try:
            yield
        finally:
            for warning in caught:
                say(f"warning: {' '.join(str(warning.message).split())}", sys.stderr)


@contextmanager
def short_warnings() -> Iterator[None]:
    """Print a warning that nobody collects as its sentence, without a place in our sources."""
    before = warnings.formatwarning
    warnings.formatwarning = lambda message, *rest, **more: f"warning: {message}\n"
    try:
        yield
    finally:
        warnings.formatwarning = before


def say(text: str, stream: TextIO | None = None, end: str = "\n") -> None:
    """Print, with plain characters where the terminal knows no others, and none that steers it."""
    stream = sys.stdout if stream is None else stream
    if not text.replace("\n", "").isprintable():
        # a name or a note out of a file may hold anything
        text = "".join(ascii(c)[1:-1] if unseen(c) else c for c in text)
    encoding = getattr(stream, "encoding", None) or "utf-8"
    try:
        text.encode(encoding)
    except UnicodeEncodeError:
        text = "".join(_printable(letter, encoding) for letter in text)
    stream.write(text + end)


def _printable(letter: str, encoding: str) -> str:
    """Return a letter, or what stands in for it."""
    for attempt in (letter, letter.translate(_PLAIN)):
        try:
            attempt.encode(encoding)
        except UnicodeEncodeError:
            continue
        return attempt
    return "?"
