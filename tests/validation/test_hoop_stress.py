"""Hoop stress of the tube: thin wall against thick wall, and against the balance of forces.

Lame's solution for a thick cylinder under internal pressure p, with inner and outer radius a, b:
sigma(r) = p a^2/(b^2 - a^2) (1 + b^2/r^2), greatest at r = a. Any text on strength of materials,
such as S. P. Timoshenko, Strength of Materials, part II, 1956, ch. VI (from memory).
"""

from __future__ import annotations

import warnings
from pathlib import Path

import numpy as np
import pytest
from scipy.integrate import quad

from baypulse.case import geometry
from baypulse.case.casefile import read
from baypulse.case.model import Bay, Case
from tools import case

CASES = sorted((Path(__file__).parents[2] / "cases").glob("*.toml"))
PSI, INCH = 6894.757293168361, 0.0254


def tube(bore: float, wall: float) -> Case:
    return case(bay=Bay(bore=bore, tube_length=0.34, wall="fibre glass", wall_thickness=wall))


def lame(bore: float, wall: float, pressure: float, radius: float) -> float:
    """Return the hoop stress of a thick wall at a radius [Pa]."""
    a, b = 0.5 * bore, 0.5 * bore + wall
    return pressure * a**2 / (b**2 - a**2) * (1.0 + b**2 / radius**2)


def test_a_tube_twenty_walls_wide_bears_ten_times_the_pressure() -> None:
    # by hand from sigma = p D/(2 t): 100 psi in a 10 in tube with a wall of 1/2 in is 1000 psi
    stress = geometry.hoop_stress(tube(10.0 * INCH, 0.5 * INCH), 100.0 * PSI)
    assert stress == pytest.approx(1000.0 * PSI, rel=1e-12)


@pytest.mark.parametrize("ratio", [0.3, 0.1, 0.02, 0.002])
def test_it_is_the_mean_over_a_wall_of_any_thickness(ratio: float) -> None:
    """Cut lengthwise, each half is pushed by p D and held by two walls, however thick."""
    bore = 0.098
    wall = ratio * bore
    a = 0.5 * bore
    total, _ = quad(lambda r: lame(bore, wall, 5e5, r), a, a + wall, epsrel=1e-12)
    assert geometry.hoop_stress(tube(bore, wall), 5e5) == pytest.approx(total / wall, rel=1e-9)


def test_the_thick_wall_comes_to_it_as_the_wall_gets_thin() -> None:
    """Lame at the inside is p (2 a^2 + 2 a t + t^2)/(2 a t + t^2) = p D/(2 t) (1 + t/D + ...)."""
    bore = 0.098
    ratios = np.array([1e-2, 1e-3, 1e-4])
    excess = np.array([
        lame(bore, k * bore, 1e5, 0.5 * bore) / geometry.hoop_stress(tube(bore, k * bore), 1e5)
        for k in ratios
    ]) - 1.0  # fmt: skip
    assert excess == pytest.approx(ratios, rel=2.0 * ratios.max())
    assert np.all(excess > 0.0)


@pytest.mark.parametrize("place", CASES, ids=lambda place: place.stem)
def test_the_walls_of_the_shipped_cases_are_thin(place: Path) -> None:
    """The inside of these walls bears at most 4 % more than the thin wall's formula says."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        shipped = read(place)
    bay = shipped.bay
    inside = lame(bay.bore, bay.wall_thickness, 1e5, 0.5 * bay.bore)
    assert 1.0 < inside / geometry.hoop_stress(shipped, 1e5) < 1.04


def test_members_have_a_stress_each() -> None:
    pressures = np.array([1e5, 2e5, np.nan])
    stress = geometry.hoop_stress(tube(0.1, 2e-3), pressures)
    assert stress[:2].tolist() == pytest.approx([2.5e6, 5.0e6])
    assert np.isnan(stress[2])
