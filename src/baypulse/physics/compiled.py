"""The one way in which a function of the core is compiled, and where the code is kept."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar, cast

import numba
import platformdirs

from baypulse.physics.kept_code import check
from baypulse.physics.late_code import join_calls

config: Any = numba.config  # its attributes are made at run time

F = TypeVar("F", bound=Callable[..., object])


def _digest() -> str:
    """Return the digest of all sources of the core."""
    root = Path(__file__).parents[1]
    digest = hashlib.sha256()
    for folder in ("physics", "engine"):
        for source in sorted((root / folder).glob("*.py")):
            digest.update(source.read_bytes())
    digest.update((root / "constants.py").read_bytes())
    return digest.hexdigest()[:16]


OPTIONS: Any = {
    "error_model": "numpy", "nogil": True, "_nrt": False, "no_cfunc_wrapper": True,
}  # fmt: skip
"""How numba compiles the core."""

CORE = _digest()
"""Which core this is: two that differ may differ in their results.

numba looks only at the age of the file in which a function stands, not at the functions it calls;
an edit or an upgrade elsewhere in the core would leave stale code in use. So the folder of the
compiled code carries this digest.
"""

FOLDER = str(
    Path(config.CACHE_DIR or platformdirs.user_cache_path("baypulse", appauthor=False)) / CORE
)


_FUNCTIONS: list[tuple[Any, Any]] = []
"""Every function of the core, as Python calls it and as compiled code does."""


def compiled(function: F, *, inline: bool = False) -> F:
    """Compile a function of floats and arrays; numpy's rules for division, cached on disk.

    No fast-math: trial steps may leave the physical set, and the stepper must see their NaN. No
    memory of its own: whatever a function works on it is given, and in return numba keeps no
    count of references to arrays, which took a third of the time of the right-hand side.
    """
    before = config.CACHE_DIR
    config.CACHE_DIR = FOLDER
    try:
        compiler: Any = numba.njit
        dispatcher = compiler(**OPTIONS)(function)
        if dispatcher is not function:  # as it is when numba is told to compile nothing
            within = compiler(**OPTIONS, no_cpython_wrapper=True, forceinline=inline)(function)
            check(dispatcher, FOLDER)
            join_calls(dispatcher, within)
            _FUNCTIONS.append((dispatcher, within))
        return cast("F", dispatcher)
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
    made = sum(bool(within.signatures) for _, within in _FUNCTIONS)
    # what is loaded asks for none of them
    busy = made and any(dispatcher.is_compiling for dispatcher, _ in _FUNCTIONS)
    return (made, len(_FUNCTIONS)) if busy else None
