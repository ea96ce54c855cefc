"""The one way in which a function of the core is compiled, and where the code is kept."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import numba
import platformdirs

from baypulse.physics.kept_code import check

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


CORE = _digest()
"""Which core this is: two that differ may differ in their results.

numba looks only at the age of the file in which a function stands, not at the functions it calls;
an edit or an upgrade elsewhere in the core would leave stale code in use. So the folder of the
compiled code carries this digest.
"""

_FOLDER = str(
    Path(config.CACHE_DIR or platformdirs.user_cache_path("baypulse", appauthor=False)) / CORE
)


def compiled(function: F) -> F:
    """Compile a function of floats and arrays; numpy's rules for division, cached on disk.

    No fast-math: trial steps may leave the physical set, and the stepper must see their NaN. No
    memory of its own: whatever a function works on it is given, and in return numba keeps no
    count of references to arrays, which took a third of the time of the right-hand side.
    """
    before = config.CACHE_DIR
    config.CACHE_DIR = _FOLDER
    try:
        options: Any = {"error_model": "numpy", "nogil": True, "_nrt": False}
        dispatcher: Any = numba.njit(**options)(function)
        if dispatcher is not function:  # as it is when numba is told to compile nothing
            check(dispatcher, _FOLDER)
        return dispatcher
    finally:
        config.CACHE_DIR = before
