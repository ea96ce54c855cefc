"""Compute whether a charge opens a recovery bay, cleanly and without breaking anything.

>>> import baypulse
>>> case = baypulse.load("cases/bench-76.toml")
>>> result = baypulse.simulate(case)
>>> print(result.verdict)
separates
"""

from __future__ import annotations

import importlib
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from baypulse.case.casefile import read as load
    from baypulse.run.simulation import simulate
    from baypulse.studies.scatter.compute import scatter
    from baypulse.studies.sweep.compute import sweep
    from baypulse.studies.window.compute import window

__version__ = "0.1.0"
__all__ = ["__version__", "load", "scatter", "simulate", "sweep", "window"]

_PLACES = {
    "load": ("baypulse.case.casefile", "read"),
    "simulate": ("baypulse.run.simulation", "simulate"),
    "scatter": ("baypulse.studies.scatter.compute", "scatter"),
    "sweep": ("baypulse.studies.sweep.compute", "sweep"),
    "window": ("baypulse.studies.window.compute", "window"),
}


def __getattr__(name: str) -> Any:
    """Import the heavy parts only when they are asked for."""
    if name in _PLACES:
        # whoever uses the package from Python may show results in a notebook
        importlib.import_module("baypulse.studies.run.notebook").register()
        module, attribute = _PLACES[name]
        return getattr(importlib.import_module(module), attribute)
    raise AttributeError(f"module 'baypulse' has no attribute {name!r}")
