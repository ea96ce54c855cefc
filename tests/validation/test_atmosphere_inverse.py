"""The altitude of a pressure against the printed standard and a library of its own."""

import fluids
import numpy as np
import pytest

from baypulse.physics.atmosphere import pressure_altitude, standard_atmosphere


@pytest.mark.parametrize(
    # altitude [m, geometric] and pressure [Pa] as ISO 2533:1975 and US Standard Atmosphere 1976
    # print them
    ("altitude", "pressure"),
    [(0, 101_325.0), (1000, 8.9876e4), (3000, 7.0121e4), (5000, 5.4048e4), (10_000, 2.6500e4),
     (20_000, 5.5293e3)],
)  # fmt: skip
def test_printed_table(altitude, pressure):
    # the last printed digit is half a metre at sea level and two metres at 20 km
    assert pressure_altitude(pressure) == pytest.approx(altitude, abs=1.0)


def test_independent_library():
    # fluids, US Standard Atmosphere 1976, to 80 km
    for altitude in np.linspace(0.0, 79e3, 80):
        p = fluids.atmosphere.ATMOSPHERE_1976(float(altitude)).P
        assert pressure_altitude(p) == pytest.approx(altitude, abs=0.5)


def test_inverse_at_both_ends_and_at_the_seams_of_the_layers():
    for altitude in (-2000.0, -1.0, 0.0, 11_019.07, 20_063.12, 32_161.9, 47_350.1, 80_000.0):
        assert pressure_altitude(standard_atmosphere(altitude)[0]) == pytest.approx(
            altitude, abs=1e-6
        )


@pytest.mark.parametrize("pressure", [1.0, 127_790.0, -5.0])
def test_outside_the_range(pressure):
    with pytest.raises(ValueError, match="outside"):
        pressure_altitude(pressure)
