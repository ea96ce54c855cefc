"""Numbers side by side: each lane gets what it would get alone, and powers are what they are.

References: numpy's functions in the long double of the machine, or in double where it has none.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from baypulse.physics import powers
from baypulse.physics.choice import anywhere, where
from baypulse.physics.compiled import compiled
from baypulse.physics.lane_tables import table_of
from baypulse.physics.lanes import LANES
from baypulse.physics.powers import expm1, log, log1p, power

RNG = np.random.default_rng(7)


def test_plain_python_takes_the_functions_of_its_library() -> None:
    assert powers.power(2.0, 0.5) == 2.0**0.5
    assert powers.expm1(-0.3) == math.expm1(-0.3)
    assert powers.log(3.0) == math.log(3.0)
    assert powers.log1p(-0.2) == math.log1p(-0.2)
    assert where(True, 1.0, 2.0) == 1.0 and where(False, 1.0, 2.0) == 2.0
    assert anywhere(True) is True and anywhere(False) is False


@compiled
def powers_of_one(x: np.ndarray, y: np.ndarray, out: np.ndarray) -> None:
    for k in range(x.shape[0]):
        for q in range(x.shape[1]):
            out[0, k, q] = power(x[k, q], y[k, q])
            out[1, k, q] = expm1(-x[k, q])
            out[2, k, q] = log(x[k, q])
            out[3, k, q] = log1p(-0.4 * min(x[k, q], 1.0))


@compiled
def powers_of_several(x: np.ndarray, y: np.ndarray, out: np.ndarray) -> None:
    a, b = table_of(x), table_of(y)
    first, second, third, fourth = (
        table_of(out[0]), table_of(out[1]), table_of(out[2]), table_of(out[3])
    )  # fmt: skip
    for k in range(x.shape[0]):
        first[k] = power(a[k], b[k])
        second[k] = expm1(-a[k])
        third[k] = log(a[k])
        fourth[k] = log1p(-0.4 * min(a[k], 1.0))


def found(function: object, x: np.ndarray, y: np.ndarray) -> np.ndarray:
    out = np.empty((4, *x.shape))
    function(x, y, out)  # type: ignore[operator]
    return out


def test_powers_are_those_of_the_machine() -> None:
    x = np.exp(RNG.uniform(-7.0, 7.0, (400, LANES)))
    y = RNG.uniform(-2.0, 2.0, x.shape)
    held, exponent = x.astype(np.longdouble), y.astype(np.longdouble)
    expected = np.stack([
        held**exponent, np.expm1(-held), np.log(held), np.log1p(-0.4 * np.minimum(x, 1.0))
    ])  # fmt: skip
    alone = found(powers_of_one, x, y)
    assert np.abs(alone[0] / expected[0] - 1.0).max() < 5e-15
    assert np.abs(alone[1] / expected[1] - 1.0).max() < 1e-15
    # beside 1, where a logarithm is 0, what it is off by is that of 1 itself
    assert np.abs(alone[2] - expected[2]).max() < 1e-15 * 7.0
    assert np.abs(alone[3] / expected[3] - 1.0).max() < 1e-15


@pytest.mark.parametrize("x", [1.0, 1.0 + 1e-12, 2.0, 0.5, 1024.0])
def test_a_whole_power_of_two_is_exact(x: float) -> None:
    at = np.full((1, LANES), x)
    assert found(powers_of_one, at, np.ones_like(at))[0] == pytest.approx(x, rel=3e-16)


def test_several_are_the_same_to_the_bit_as_one() -> None:
    x = np.exp(RNG.uniform(-40.0, 40.0, (300, LANES)))
    y = RNG.uniform(-3.0, 3.0, x.shape)
    x[0], x[1, :4] = 0.0, np.nan
    alone, beside = (found(each, x, y) for each in (powers_of_one, powers_of_several))
    np.testing.assert_array_equal(alone, beside)


def test_what_is_no_number_stays_none() -> None:
    """A trial step may leave the physical set, and the stepper must see it."""
    x = np.full((1, LANES), np.nan)
    assert np.isnan(found(powers_of_several, x, x)).all()
    below = found(powers_of_several, np.full((1, LANES), -0.5), np.ones((1, LANES)))
    assert np.isnan(below[0]).all() and np.isnan(below[2]).all()
    nothing = found(powers_of_several, np.zeros((1, LANES)), np.full((1, LANES), 0.7))
    assert (nothing[0] == 0.0).all()


@compiled
def sums_of_one(x: np.ndarray, out: np.ndarray) -> None:
    for q in range(x.shape[1]):
        a, b, c = x[0, q], x[1, q], x[2, q]
        d = 0.0
        if anywhere(a > b):
            d += abs(a - b) / c
        d -= where((a >= b) & (c < 1.0), max(a, 0.5), min(b, c))
        out[0, q] = where(a <= c, d, -math.sqrt(d * d + 2.0))
        out[1, q] = where(a != b, 1.0, 2.0) * 3


@compiled
def sums_of_several(x: np.ndarray, out: np.ndarray) -> None:
    t, found = table_of(x), table_of(out)
    a, b, c = t[0], t[1], t[2]
    d = 0.0
    if anywhere(a > b):
        d += where(a > b, abs(a - b) / c, 0.0)
    d -= where((a >= b) & (c < 1.0), max(a, 0.5), min(b, c))
    found[0] = where(a <= c, d, -math.sqrt(d * d + 2.0))
    found[1] = where(a != b, 1.0, 2.0) * 3


def test_sums_choices_and_roots_of_several_are_those_of_one() -> None:
    for _ in range(50):
        x = RNG.normal(0.5, 1.0, (3, LANES))
        x[1, 0], x[0, 1] = x[0, 0], np.nan
        alone, beside = np.empty((2, LANES)), np.empty((2, LANES))
        sums_of_one(x, alone)
        sums_of_several(x, beside)
        np.testing.assert_array_equal(alone, beside)


@compiled
def shape_of(held: np.ndarray) -> tuple[int, int, float]:
    t = table_of(held)
    t[1, 2] = 3.5
    t[1, 0] = t[1, 2] + t[0, 1]
    return t.shape[0], t.shape[1], held[1, 0, 5]


def test_a_table_has_the_axes_before_the_lanes() -> None:
    held = RNG.normal(size=(2, 3, LANES))
    rows, columns, value = shape_of(held)
    assert (rows, columns) == (2, 3)
    assert value == 3.5 + held[0, 1, 5]
    assert (held[1, 2] == 3.5).all()
