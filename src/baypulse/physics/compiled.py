"""The one way in which a function of the core is compiled."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import Any, TypeVar, cast

import numba

from baypulse.physics import lane_powers, lane_tables  # noqa: F401  numba has to know of them
from baypulse.physics.core_folder import FOLDER, config, is_kept
from baypulse.physics.core_passes import CorePasses
from baypulse.physics.kept_code import check
from baypulse.physics.late_code import join_calls
from baypulse.physics.plain import later, never, queued

F = TypeVar("F", bound=Callable[..., object])

OPTIONS: Any = {
    "error_model": "numpy", "nogil": True, "_nrt": False, "no_cfunc_wrapper": True,
    "pipeline_class": CorePasses,
}  # fmt: skip
"""How numba compiles the core."""

if is_kept():
    never()

_FUNCTIONS: list[tuple[Any, Any]] = []
"""Every function of the core, as Python calls it and as compiled code does."""


def compiled(function: F, *, inline: bool = False) -> F:
    """Compile a function of floats and arrays; numpy's rules for division, cached on disk.

    No fast-math: trial steps may leave the physical set, and the stepper must see their NaN. No
    memory of its own: whatever a function works on it is given, and in return numba keeps no
    count of references to arrays, which took a third of the time of the right-hand side.

    Where nothing of this core is kept, the function is plain for now
    (:mod:`baypulse.physics.plain`).
    """
    made: Any = function
    if not config.DISABLE_JIT:
        made = later(made, partial(_dispatcher, function, inline))
    return cast("F", made)


def _dispatcher(function: Callable[..., object], inline: bool) -> Any:
    """Return what compiles a function, by the types it is called with."""
    before = config.CACHE_DIR
    config.CACHE_DIR = FOLDER
    try:
        compiler: Any = numba.njit
        dispatcher = compiler(**OPTIONS)(function)
        within = compiler(**OPTIONS, no_cpython_wrapper=True, forceinline=inline)(function)
        check(dispatcher, FOLDER)
        join_calls(dispatcher, within)
        _FUNCTIONS.append((dispatcher, within))
        return dispatcher
    finally:
        config.CACHE_DIR = before


def inlined(function: F) -> F:
    """Compile a function, and put it whole into those that call it.

    For what is called at every opening and in few places: of so many arguments the call itself
    takes a good part of the time.
    """
    return compiled(function, inline=True)


def compiling() -> tuple[int, int] | None:
    """Return how many functions are compiled, and how many there are; None while none is."""
    if queued():
        return 0, queued()
    made = sum(bool(within.signatures) for _, within in _FUNCTIONS)
    # what is loaded asks for none of them
    busy = made and any(dispatcher.is_compiling for dispatcher, _ in _FUNCTIONS)
    return (made, len(_FUNCTIONS)) if busy else None
