"""The atmosphere for arrays, against the exact one and against the library ``fluids``."""

from __future__ import annotations

import numpy as np
import pytest
from fluids.atmosphere import ATMOSPHERE_1976

from baypulse.case.logs import air
from baypulse.physics.atmosphere import standard_atmosphere


def test_the_error_is_within_the_stated_bound() -> None:
    rng = np.random.default_rng(3)
    heights = rng.uniform(air.LOWEST, air.HIGHEST, 20_000)
    exact = np.array([standard_atmosphere(float(height))[0] for height in heights])
    assert np.max(np.abs(air.pressures(heights) / exact - 1.0)) < 8e-8
    assert np.max(np.abs(air.altitudes(exact) - heights)) < 7e-4


@pytest.mark.parametrize("height", [-1000.0, 0.0, 366.0, 3000.0, 11_000.0, 15_000.0, 30_000.0])
def test_pressures_equal_those_of_fluids(height) -> None:
    # fluids 1.x, US Standard Atmosphere 1976, equal to ISO 2533 here but for rounded constants
    theirs = ATMOSPHERE_1976(height).P
    assert air.pressures(np.array([height]))[0] == pytest.approx(theirs, rel=2e-5)
    assert air.altitudes(np.array([theirs]))[0] == pytest.approx(height, abs=0.2)


def test_what_has_no_altitude_is_nan() -> None:
    wrong = np.array([0.0, -5.0, np.nan, 0.5, 2e5])
    assert np.isnan(air.altitudes(wrong)).all()
