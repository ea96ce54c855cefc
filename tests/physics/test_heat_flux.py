"""Heat from gas to a skin, and salts that settle on it, against printed figures."""

from __future__ import annotations

import math

import pytest

from baypulse.physics import heat, salts


@pytest.mark.parametrize(
    ("T", "power"),
    # sigma T^4 of a black body, sigma = 5.670374e-8 W/m^2/K^4 (CODATA 2018): 300 and 1000 K are the
    # worked figures of any text on heat transfer, 459 W/m^2 and 56.7 kW/m^2
    [(300.0, 459.3), (1000.0, 56_704.0), (2000.0, 907_260.0)],
)
def test_a_black_gas_radiates_by_stefan_and_boltzmann(T: float, power: float) -> None:
    assert heat.heat_flux(T, 0.0, 1.0, 0.0) == pytest.approx(power, rel=1e-4)
    assert heat.heat_flux(0.0, T, 0.8, 0.0) == pytest.approx(-0.8 * power, rel=1e-4)
    assert heat.heat_flux(T, T, 0.8, 50.0) == 0.0


def test_convection_is_newtons_law_of_cooling() -> None:
    # q = h dT: h = 80 W/m^2/K at 100 K is 8 kW/m^2, into the colder side
    assert heat.heat_flux(400.0, 300.0, 0.0, 80.0) == pytest.approx(8000.0)
    assert heat.heat_flux(300.0, 400.0, 0.0, 80.0) == pytest.approx(-8000.0)


def test_small_differences_radiate_by_the_linear_coefficient() -> None:
    # h_r = 4 eps sigma T^3: 6.1 W/m^2/K at 300 K (Incropera & DeWitt, eq. 1.9 in the limit of two
    # temperatures that are alike; from memory)
    slope = heat.radiation_slope(300.0, 1.0)
    assert slope == pytest.approx(6.12, rel=1e-3)
    flux = heat.heat_flux(300.0, 299.5, 1.0, 0.0) - heat.heat_flux(300.0, 300.5, 1.0, 0.0)
    assert flux == pytest.approx(slope, rel=1e-5)
    assert heat.radiation_slope(300.0, 0.4) == pytest.approx(0.4 * slope, rel=1e-12)


def test_salts_fall_out_of_a_stirred_box_at_the_velocity_over_its_height() -> None:
    # a box of height H that settles on its floor loses v/H a second (stirred settling: Friedlander,
    # ch. 3; from memory): 2 g at 0.3 m/s over 0.6 m lose 1 g/s
    assert salts.settling(2e-3, 0.3, 0.05, 0.05 * 0.6) == pytest.approx(1e-3, rel=1e-12)


@pytest.mark.parametrize(
    ("ratio", "coefficient"),
    # K = 2 C_s k/(1 + 2 k), C_s = 1.17: 0.78 for a particle that conducts as the gas does, C_s for
    # one that conducts nothing beside it, and 2 C_s k where it conducts far better
    [(1.0, 0.78), (1e9, 1.17), (1e-6, 2.34e-6)],
)
def test_thermophoresis_has_the_coefficient_of_the_formula(
    ratio: float, coefficient: float
) -> None:
    viscosity, density, T, gradient = 4.8e-5, 0.6, 1200.0, 1.7e6
    v = salts.thermophoretic_velocity(viscosity, density, T, gradient, ratio)
    assert v == pytest.approx(coefficient * viscosity / density * gradient / T, rel=1e-5)
    assert math.isclose(
        salts.thermophoretic_velocity(viscosity, density, T, -gradient, ratio), -v, rel_tol=1e-12
    )
