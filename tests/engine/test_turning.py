"""A body that turns back within one step, and goes on before its end, is not missed."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.interpolate import CubicHermiteSpline

from baypulse.engine.summits import turn


@pytest.mark.parametrize("seed", range(200))
def test_a_turn_is_where_the_cubic_through_both_ends_is_least(seed: int) -> None:
    # scipy's Hermite spline is the same cubic, and its roots say where it is below nothing
    rng = np.random.default_rng(seed)
    h = 10.0 ** rng.uniform(-6, 0)
    v0, v1 = rng.uniform(0.0, 1.0, 2)
    a0, a1 = rng.uniform(-8.0, 2.0) / h, rng.uniform(-2.0, 8.0) / h
    share = turn(h, v0, a0, v1, a1)
    spline = CubicHermiteSpline([0.0, h], [v0, v1], [a0, a1])
    lows = [t for t in spline.derivative().roots(extrapolate=False) if spline(t) < 0.0]
    # a cubic that first rises turns back only after its first summit: the step's ends show less
    if a0 < 0.0 < a1 and lows:
        assert share == pytest.approx(min(lows, key=spline) / h, rel=1e-9)
    else:
        assert share == 1.0


def test_both_answers_occur() -> None:
    assert turn(1.0, 0.1, -2.0, 0.1, 2.0) == pytest.approx(0.5)
    assert turn(1.0, 1.0, -2.0, 1.0, 2.0) == 1.0
