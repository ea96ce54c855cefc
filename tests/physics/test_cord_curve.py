"""The load of a cord that stretches and gives back: energies and peaks in closed form."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import quad, solve_ivp

from baypulse.physics import cord

LOAD, STRAIN = 6000.0, 0.25


@pytest.mark.parametrize("exponent", [1.0, 1.3, 2.0])
def test_the_curve_ends_at_the_break_and_stores_the_energy_of_a_power_law(exponent: float) -> None:
    # int F de = F_b e_b/(m+1) (e/e_b)^(m+1): elementary integral
    assert cord.loading_force(STRAIN, LOAD, STRAIN, exponent) == LOAD
    assert cord.loading_force(-0.1, LOAD, STRAIN, exponent) == 0.0
    half = cord.loading_force(0.5 * STRAIN, LOAD, STRAIN, exponent)
    assert half == pytest.approx(LOAD * 0.5**exponent, rel=1e-14)
    stored = quad(cord.loading_force, 0.0, 0.6 * STRAIN, args=(LOAD, STRAIN, exponent))[0]
    exact = LOAD * STRAIN / (exponent + 1.0) * 0.6 ** (exponent + 1.0)
    assert stored == pytest.approx(exact, rel=1e-9)


@pytest.mark.parametrize("exponent", [1.0, 1.3, 2.0])
@pytest.mark.parametrize("kept", [0.0, 0.1, 0.4])
def test_the_cord_gives_back_what_the_set_leaves(exponent: float, kept: float) -> None:
    # int of F_p ((e - k e_p)/(e_p (1 - k)))^m from k e_p to e_p = F_p e_p (1 - k)/(m + 1), which is
    # 1 - k of what the same power law stored
    peak, load = 0.6 * STRAIN, 1700.0
    numbers = (peak, load, kept, exponent)
    assert cord.unloading_force(peak, *numbers) == pytest.approx(load, rel=1e-14)
    assert cord.unloading_force(0.9 * kept * peak, *numbers) == 0.0
    middle = 0.5 * (1.0 + kept) * peak
    assert cord.unloading_force(middle, *numbers) == pytest.approx(load * 0.5**exponent, rel=1e-12)
    back = quad(cord.unloading_force, kept * peak, peak, args=numbers)[0]
    assert back == pytest.approx(load * peak * (1.0 - kept) / (exponent + 1.0), rel=1e-9)


@pytest.mark.parametrize("ratio", [0.01, 0.1, 0.5])
@pytest.mark.parametrize("exponent", [1.0, 1.3])
def test_a_damped_cord_stores_what_the_separated_equation_says(
    ratio: float, exponent: float
) -> None:
    # m w dw/dx = -F (1 + a w/w_t), a = 3 pi/2 zeta, separates: int_0^x_m F dx = m w_t^2
    # (1/a - ln(1 + a)/a^2), whatever the curve
    mass, w_taut, length = 0.5, 20.0, 4.0

    def motion(t: float, state: np.ndarray) -> list[float]:
        spring = cord.loading_force(state[0] / length, LOAD, STRAIN, exponent)
        return [state[1], -cord.damped_force(spring, state[1], w_taut, ratio) / mass]

    def turned(t: float, state: np.ndarray) -> float:
        return state[1]

    turned.terminal, turned.direction = True, -1  # type: ignore[attr-defined]
    way = solve_ivp(motion, (0.0, 1.0), [0.0, w_taut], events=turned, rtol=1e-10, atol=1e-12)
    peak = way.y_events[0][0, 0] / length
    stored = LOAD * STRAIN * length / (exponent + 1.0) * (peak / STRAIN) ** (exponent + 1.0)
    a = 1.5 * math.pi * ratio
    assert stored == pytest.approx(mass * w_taut**2 * (1.0 / a - math.log1p(a) / a**2), rel=1e-6)


def test_a_cord_that_shortens_is_not_damped() -> None:
    assert cord.damped_force(300.0, -5.0, 20.0, 0.3) == 300.0
