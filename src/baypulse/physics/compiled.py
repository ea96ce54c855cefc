"""The one way in which a function of the core is compiled."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

import numba

F = TypeVar("F", bound=Callable[..., object])


def compiled(function: F) -> F:
    """Compile a function of floats and arrays; numpy's rules for division, cached on disk.

    No fast-math: trial steps may leave the physical set, and the stepper must see their NaN.
    """
    return numba.njit(cache=True, error_model="numpy", nogil=True)(function)
