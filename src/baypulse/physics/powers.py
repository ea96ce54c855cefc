"""Powers, logarithms and exponentials of the gas, the same for one number as for several.

A library's function computes one number after the other, and each processor and system has its own:
with these a member's numbers do not depend on whether others are computed beside it
(:mod:`baypulse.physics.lanes`). Plain Python takes those of its library, which agree to some 1e-15.
"""

from __future__ import annotations

import math


def power(x: float, y: float) -> float:
    """Return x^y of a positive number, and 0 of 0."""
    return float(x**y)


def expm1(x: float) -> float:
    """Return e^x - 1, exact near 0."""
    return math.expm1(x)


def log(x: float) -> float:
    """Return the natural logarithm of a positive number."""
    return math.log(x)


def log1p(x: float) -> float:
    """Return the natural logarithm of 1 + x, exact near 0."""
    return math.log1p(x)
