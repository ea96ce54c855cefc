"""Choices that numbers make, in words that hold for one number and for several side by side.

A condition on numbers side by side (:mod:`baypulse.physics.lanes`) is one for each of them, so that
a branch cannot follow it: both values are computed, and each place takes its own. Whether anything
is to be computed at all, a branch may ask.
"""

from __future__ import annotations

from typing import Any


def where(chosen: Any, one: Any, other: Any) -> Any:
    """Return one value where a condition holds, and the other elsewhere."""
    return one if chosen else other


def anywhere(chosen: Any) -> bool:
    """Say whether a condition holds for any of several numbers side by side."""
    return bool(chosen)
