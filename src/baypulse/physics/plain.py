"""The core as plain Python, while nothing of it is compiled and to compile it does not pay.

A shot takes one or two seconds in plain Python, and all that a first ``run`` asks for takes six; to
compile the core takes fifteen and more. So where no compiled code is kept on disk, functions begin
as they are written. Compiled ones take their place, everywhere at once, as soon as an ensemble asks
for them, or a run goes on for long. Both compute the same (a test holds them against each other).
"""

from __future__ import annotations

import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from types import FunctionType
from typing import Any

import numpy as np

from baypulse.physics import first_work
from baypulse.physics.core_folder import alone, config

WORTH_COMPILING = 40_000
"""Evaluations of the rates in plain Python, of a process in all, after which the core is compiled:
twelve seconds. A first ``run`` with its report takes 8,000 to 30,000."""

_WAITING: dict[FunctionType, Callable[[], Any]] = {}
"""Functions that are plain for now, and what compiles each."""

_TURN = threading.RLock()
"""Held by what runs in plain Python, so that nobody puts other functions under it meanwhile."""

_work = 0
"""Evaluations in plain Python so far."""

_compiles = False
"""Whether functions are compiled from the start."""

_in_queue = False
"""Whether another process is waited for, which compiles."""


def later(function: FunctionType, make: Callable[[], Any]) -> Any:
    """Return a function plain as it is, or compiled if the core has been since.

    Parameters
    ----------
    function : function
        As it is written.
    make : callable
        Returns the compiled one.
    """
    if _compiles:
        return make()
    _WAITING[function] = make
    return function


def is_plain() -> bool:
    """Say whether the core is plain Python now."""
    return waits() or bool(config.DISABLE_JIT)


@contextmanager
def plain_turn() -> Iterator[bool]:
    """Tell whether the core is plain Python, and keep it so meanwhile if it is.

    numpy is silent of numbers that are none, as compiled code is: the stepper looks for them.
    """
    if not is_plain():
        yield False
        return
    with _TURN:
        if _work > WORTH_COMPILING:
            compile_core()
        with np.errstate(all="ignore"):
            yield is_plain()


def add_work(evaluations: int) -> None:
    """Count evaluations of the rates in plain Python; they are why the core is compiled."""
    global _work
    _work += evaluations
    if waits():
        first_work.begin()


def never() -> None:
    """Let no function of the core begin plain; to be called before it is loaded."""
    global _compiles
    _compiles = True


def waits() -> bool:
    """Say whether the core is plain for now."""
    return bool(_WAITING)


def queued() -> int:
    """Return how many functions wait for another process that compiles them for all."""
    return len(_WAITING) if _in_queue else 0


def compile_core() -> None:
    """Put compiled functions in the place of plain ones, wherever these are known by a name.

    What each is compiled for, and when, is numba's affair: with its first call. What another
    process compiles just now is waited for, and found on the disk.
    """
    global _compiles, _in_queue
    with _TURN:
        if not waits():
            return
        _in_queue = True
        try:
            with alone():
                _compiles = True
        finally:
            _in_queue = False
        made = {function: make() for function, make in _WAITING.items()}
        for module in [each for name, each in sys.modules.items() if name.startswith("baypulse.")]:
            for name, held in list(vars(module).items()):
                if isinstance(held, FunctionType) and held in made:
                    setattr(module, name, made[held])
        _WAITING.clear()
