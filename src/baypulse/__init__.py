"""Compute whether a charge opens a recovery bay, cleanly and without breaking anything.

>>> import baypulse
>>> case = baypulse.load("cases/bench-76.toml")
>>> result = baypulse.simulate(case)
>>> print(result.verdict)
opens
"""

from __future__ import annotations

import importlib
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from baypulse.casefile import read as load
    from baypulse.simulation import simulate
    from baypulse.study.scatter import scatter
    from baypulse.study.sweep import sweep
    from baypulse.study.window import window

__version__ = "0.1.0"
__all__ = ["__version__", "load", "scatter", "simulate", "sweep", "window"]

_PLACES = {
    "load": ("baypulse.casefile", "read"),
    "simulate": ("baypulse.simulation", "simulate"),
    "scatter": ("baypulse.study.scatter", "scatter"),
    "sweep": ("baypulse.study.sweep", "sweep"),
    "window": ("baypulse.study.window", "window"),
}


def __getattr__(name: str) -> Any:
    """Import the heavy parts only when they are asked for."""
    if name in _PLACES:
        module, attribute = _PLACES[name]
        return getattr(importlib.import_module(module), attribute)
    raise AttributeError(f"module 'baypulse' has no attribute {name!r}")
