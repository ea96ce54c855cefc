"""Scrambled Sobol' points.

SciPy makes the same, bit for bit, where it makes them right: of more columns than 160 its points of
so few digits are constant in all further ones. And it takes half a second to load, which every
study would wait for.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np

DIGITS = 10
"""Binary digits of the points of a block, which has as many as these tell apart."""

MOST = 1111
"""Columns that can be made."""

_DIRECTIONS = Path(__file__).with_name("sobol.txt")
"""The first twelve direction numbers of each column, a line each: those of S. Joe and F. Y. Kuo,
Constructing Sobol' sequences with better two-dimensional projections, SIAM J. Sci. Comput. 30
(2008) 2635, as SciPy ships them (BSD licence), with their recurrence done."""


def scrambled(
    dimensions: int, rng: np.random.Generator, members: int = 2**DIGITS, digits: int = DIGITS
) -> np.ndarray:
    """Return the first points, by a linear matrix scramble and a digital shift.

    Parameters
    ----------
    dimensions : int
        Columns, 1 to :data:`MOST`.
    rng : numpy.random.Generator
        Of the scramble.
    members : int
        How many, up to 4096.
    digits : int
        Binary digits of a point, 12 to 30, or fewer where they tell all points apart.

    Returns
    -------
    ndarray, shape (members, dimensions)
        Multiples of 2^-digits from 0 on, each once in a column.

    References
    ----------
    J. Matousek, On the L2-discrepancy for anchored boxes, J. Complexity 14 (1998) 527, for the
    scramble (from memory).
    """
    used = (members - 1).bit_length()
    odd = np.loadtxt(
        _DIRECTIONS, dtype=np.uint32, max_rows=dimensions, usecols=range(used), ndmin=2
    )
    weights = 2 ** np.arange(digits, dtype=np.uint32)
    shift = rng.integers(2, size=(dimensions, digits), dtype=np.uint32) @ weights
    scramble = np.tril(rng.integers(2, size=(dimensions, digits, digits), dtype=np.uint32))
    scramble[:, np.arange(digits), np.arange(digits)] = 1
    # the digits of direction k, the first in front, stand in column k
    halves = weights[::-1, None]
    directions = (scramble @ (odd[:, None, :] * halves[:used, 0] // halves % 2)) % 2
    moves = (directions * halves).sum(axis=1, dtype=np.uint32)
    number = np.arange(members, dtype=np.uint32)[:, None]
    gray = number ^ number // 2
    points = np.tile(shift, (members, 1))
    for k in range(used):
        points ^= gray // weights[k] % 2 * moves[:, k]
    return points / 2**digits
