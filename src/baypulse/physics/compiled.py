"""The one way in which a function of the core is compiled, and where the code is kept."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

import numba
import platformdirs

F = TypeVar("F", bound=Callable[..., object])


def _cache_folder() -> str:
    """Return a folder of this very source's compiled code.

    numba looks only at the age of the file in which a function stands, not at the functions it
    calls; an edit or an upgrade elsewhere in the core would leave stale code in use. So the
    folder carries a digest of all of the core.
    """
    root = Path(__file__).parents[1]
    digest = hashlib.sha256()
    for folder in ("physics", "engine"):
        for source in sorted((root / folder).glob("*.py")):
            digest.update(source.read_bytes())
    digest.update((root / "constants.py").read_bytes())
    base = numba.config.CACHE_DIR or platformdirs.user_cache_path("baypulse", appauthor=False)
    return str(Path(base) / digest.hexdigest()[:16])


_FOLDER = _cache_folder()


def _compile(function: F, **options: bool) -> F:
    before = numba.config.CACHE_DIR
    numba.config.CACHE_DIR = _FOLDER
    try:
        return numba.njit(cache=True, error_model="numpy", nogil=True, **options)(function)
    finally:
        numba.config.CACHE_DIR = before


def compiled(function: F) -> F:
    """Compile a function of floats and arrays; numpy's rules for division, cached on disk.

    Inlined wherever it is called: the parameters of a shot are some two hundred words, which a
    call would copy. No fast-math: trial steps may leave the physical set, and the stepper must
    see their NaN.
    """
    return _compile(function, forceinline=True)


def compiled_entry(function: F) -> F:
    """Compile a function that is called from several places or from Python: not inlined."""
    return _compile(function)
