"""How fast grains burn and light: powers of the pressure, and ramps."""

from __future__ import annotations

import numpy as np
import pytest

from baypulse.engine import layout as at
from baypulse.physics import afterburning, powder
from tools import P_STANDARD, charged, go


def test_vieilles_law_doubles_by_its_exponent() -> None:
    # r = a (p/p_0)^n: a at p_0; n = 0.5 doubles it at four times the pressure, n = 1 makes it
    # proportional, n = 0 leaves it
    for exponent, at_four in ((0.0, 1.0), (0.5, 2.0), (1.0, 4.0)):
        assert powder.burning_rate(1e5, 12e-3, 1e5, exponent) == pytest.approx(12e-3)
        fourfold = powder.burning_rate(4e5, 12e-3, 1e5, exponent)
        assert fourfold == pytest.approx(at_four * 12e-3, rel=1e-12)
    assert powder.burning_rate(0.0, 12e-3, 1e5, 0.5) == 0.0


def test_the_flame_crosses_faster_by_a_power_of_the_pressure() -> None:
    # du/dt = (w_0/l) (p/p_0)^m
    for exponent, at_four in ((0.0, 1.0), (0.5, 2.0), (1.0, 4.0)):
        assert powder.flame_rate(1e5, 75.0, 1e5, exponent) == pytest.approx(75.0)
        fourfold = powder.flame_rate(4e5, 75.0, 1e5, exponent)
        assert fourfold == pytest.approx(at_four * 75.0, rel=1e-12)
    assert powder.flame_rate(0.0, 75.0, 1e5, 0.5) == 0.0


def test_thin_air_takes_a_share_in_proportion_to_the_pressure() -> None:
    # a straight line from nothing at 10 kPa to all at 30 kPa: 12, 20 and 25 kPa lie 0.1, 0.5 and
    # 0.75 of the way along
    shares = [powder.thin_air_share(p, 1e4, 3e4) for p in (0.0, 1e4, 1.2e4, 2e4, 2.5e4, 3e4, 1e5)]
    assert shares == pytest.approx([0.0, 0.0, 0.1, 0.5, 0.75, 1.0, 1.0], abs=1e-12)


def test_afterburning_begins_and_ends_without_a_kink() -> None:
    # the cubic with the values 0 and 1 and no slope at both ends: 5/32 a quarter of the way, 1/2 in
    # the middle (Hermite's basis; any text on interpolation)
    low, high = 900.0, 1080.0
    values = [afterburning.gate(T, low, high) for T in (800.0, 900.0, 945.0, 990.0, 1080.0, 2e3)]
    assert values == pytest.approx([0.0, 0.0, 5.0 / 32.0, 0.5, 1.0, 1.0], abs=1e-12)


def test_grains_lit_along_a_cubic_have_burnt_to_its_integral() -> None:
    # at a constant pressure the depth is r int_0^t (3 u^2 - 2 u^3) dt = r spread (u^3 - u^4/2), u =
    # t/spread: a straight ramp would give u^2/2, and the same at its end only
    spread, rate = 4e-3, 12e-3
    P = charged(1e-6, 1e3, rate=rate, flame_spread=spread)
    _, seen = go(P, spread)
    u = (seen.times - P.start_time) / spread
    inside = (u > 0.1) & (u < 1.0)
    assert inside.any()
    r = rate * (P_STANDARD / P.rate_pressure) ** P.rate_exponent
    exact = r * spread * (u**3 - 0.5 * u**4)
    np.testing.assert_allclose(seen.states[inside, at.DEPTH], exact[inside], rtol=1e-6)
