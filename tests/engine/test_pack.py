"""Gas through a pack of cloth, and the column of cloth that holds itself."""

from __future__ import annotations

import math

import fluids
import numpy as np
import pytest
from scipy.integrate import quad, solve_ivp

from baypulse.physics import gas, pack
from baypulse.physics.flow import mass_flux

R, T = gas.AIR_R, 293.0
MU = 1.81e-5
P = 101_325.0
CLOTH = {"voids": 0.7, "diameter": 1e-4, "length": 0.25}


def flux(p_up: float, p_down: float = P, **changes: float) -> float:
    """Return the flux of air through a pack of cloth; ``changes`` replace its numbers."""
    own = CLOTH | changes
    return pack.ergun_flux(p_up, p_down, R, T, MU, own["voids"], own["diameter"], own["length"])


@pytest.mark.parametrize("share", [1e-9, 1e-5, 1e-2, 0.5])
@pytest.mark.parametrize("voids", [0.4, 0.7, 0.85])
@pytest.mark.parametrize("diameter", [4e-5, 4e-4, 5e-3])
def test_ergun_against_the_fluids_library(share: float, voids: float, diameter: float) -> None:
    # fluids.packed_bed.Ergun of an incompressible fluid. At the mean density the compressible form
    # is the same equation: (p1^2 - p2^2)/(2 R T) = (p1 - p2) rho_mean
    high, length = P * (1.0 + share), 0.25
    rho = 0.5 * (high + P) / (R * T)
    ours = pack.ergun_flux(high, P, R, T, MU, voids, diameter, length)
    drop = fluids.packed_bed.Ergun(
        dp=diameter, voidage=voids, vs=ours / rho, rho=rho, mu=MU, L=length
    )
    assert drop == pytest.approx(high - P, rel=1e-12)


def test_ergun_against_the_integral_along_the_pack() -> None:
    # -dp/dx of Ergun (1952) with the density of the place, integrated by scipy from the hot side
    high, low = 3.0 * P, P
    G = flux(high, low)
    e, d, L = CLOTH["voids"], CLOTH["diameter"], CLOTH["length"]

    def slope(_: float, p: np.ndarray) -> np.ndarray:
        v = G * R * T / p
        viscous = 150.0 * MU * (1.0 - e) ** 2 / (e**3 * d**2) * v
        return -(viscous + 1.75 * (1.0 - e) / (e**3 * d) * p / (R * T) * v * v)

    end = solve_ivp(slope, (0.0, L), [high], rtol=1e-11, atol=1e-6).y[0, -1]
    assert end == pytest.approx(low, rel=1e-8)


def test_slow_gas_follows_kozeny_and_fast_gas_the_square_root() -> None:
    e, d, L = CLOTH["voids"], CLOTH["diameter"], CLOTH["length"]
    slow = e**3 * d**2 / (150.0 * MU * (1.0 - e) ** 2) * 1e-3 * P / (R * T * L)
    assert flux(P + 1e-3) == pytest.approx(slow, rel=1e-6)
    thick = {"diameter": 0.02, "length": 2.0}
    root = math.sqrt(e**3 * 0.02 * (4.0 - 1.0) * P**2 / (1.75 * (1.0 - e) * 2.0 * R * T * 2.0))
    assert flux(2.0 * P, **thick) == pytest.approx(root, rel=3e-3)


@pytest.mark.parametrize("drop", [1e-9, 1e-6, 1e-3])
def test_small_differences_keep_their_digits(drop: float) -> None:
    # exact in the numbers that the pressures really are
    high = P + drop
    assert flux(high) / (high - P) == pytest.approx(flux(P + 0.01) / (P + 0.01 - P), rel=1e-6)
    # and without friction the nozzle's own square root, sqrt(2 rho dp)
    free = pack.nozzle_flux(high, P, R, T)
    assert free == pytest.approx(math.sqrt(2.0 * (high - P) * P / (R * T)), rel=1e-6)


def test_no_flow_backwards() -> None:
    assert flux(P, P) == 0.0
    assert flux(P, 2.0 * P) == 0.0
    assert pack.nozzle_flux(P, P, R, T) == pack.nozzle_flux(P, 2.0 * P, R, T) == 0.0
    assert flux(2.0 * P, voids=0.0) == 0.0


def test_a_pack_without_length_is_a_nozzle_of_its_voids() -> None:
    high = 4.0 * P
    # Shapiro (1953), ch. 6: isothermal choking at r = exp(-1/2), G sqrt(R T)/p = exp(-1/2)
    choked = CLOTH["voids"] * high / math.sqrt(R * T) * math.exp(-0.5)
    assert flux(high, length=1e-9) == pytest.approx(choked, rel=1e-12)
    assert flux(high, 0.0, length=1e-9) == pytest.approx(choked, rel=1e-12)
    assert flux(high, length=0.25) < 0.05 * choked
    # the orifice equation with a ratio of heat capacities of nearly 1 is the isothermal nozzle
    for low in (0.1, 0.5, 0.7, 0.95):
        near = mass_flux(P, P / (R * T), low * P, 1.0 + 1e-6)
        assert pack.nozzle_flux(P, low * P, R, T) == pytest.approx(near, rel=1e-5)


def test_flux_grows_with_what_opens_the_pack_and_falls_with_what_closes_it() -> None:
    high = 2.0 * P
    for name, numbers, sign in (
        ("voids", np.linspace(0.05, 0.98, 40), 1.0),
        ("diameter", np.geomspace(1e-5, 1e-2, 40), 1.0),
        ("length", np.geomspace(1e-3, 1.0, 40), -1.0),
    ):
        found = [flux(high, **{name: float(number)}) for number in numbers]
        assert (sign * np.diff(found) > 0.0).all(), name
    rising = [flux(P * (1.0 + x)) for x in np.geomspace(1e-9, 10.0, 60)]
    assert (np.diff(rising) > 0.0).all()


def test_the_gas_own_acceleration_is_small_in_a_pack() -> None:
    # the term left out, G^2/e^2 ln(p_up/p_down), beside the inertial one at 300 diameters, e = 0.85
    e, d = 0.85, 1e-4
    inertial = 1.75 * (1.0 - e) / (e**3 * d) * 300.0 * d
    assert math.log(3.0) / e**2 / inertial < 0.013


def test_equivalent_diameters_and_voids() -> None:
    # a sphere has 6/d; sheets 2/t; round fibres 4/f
    assert pack.equivalent_diameter(6.0 / 3e-4) == pytest.approx(3e-4)
    assert pack.equivalent_diameter(2.0 / 35e-6) == pytest.approx(105e-6)
    assert pack.equivalent_diameter(4.0 / 20e-6) == pytest.approx(30e-6)
    assert pack.voids(350.0, 1140.0) == pytest.approx(0.693, abs=5e-4)
    assert pack.voids(1200.0, 1140.0) == 0.0


@pytest.mark.parametrize(
    ("temperature", "low", "high"),
    [(200.0, -0.01, 0.01), (250.0, -0.01, 0.01), (288.15, -0.01, 0.01), (400.0, -0.01, 0.01),
     (600.0, -0.02, 0.0), (1000.0, -0.05, -0.01), (2000.0, -0.12, -0.03)],
)  # fmt: skip
def test_viscosity_of_air(temperature: float, low: float, high: float) -> None:
    from CoolProp.CoolProp import PropsSI  # loads for two seconds, which only one worker spends

    # CoolProp: Lemmon & Jacobsen (2004); Sutherland's law runs low in hot air
    theirs = PropsSI("V", "T", temperature, "P", P, "Air")
    assert low < gas.viscosity(temperature) / theirs - 1.0 < high


def test_viscosity_of_the_standard_atmosphere() -> None:
    # fluids: US Standard Atmosphere 1976; ISO 2533 prints 1.7894e-5 Pa s at sea level (from memory)
    assert gas.viscosity(288.15) == pytest.approx(1.7894e-5, rel=1e-4)
    assert gas.viscosity(216.65) == pytest.approx(fluids.ATMOSPHERE_1976(12e3).mu, rel=2e-4)


PULL, LENGTH, BORE, GRIP = 35.0, 0.25, 0.098, 0.1


def pushed(engaged: float = LENGTH, grip: float = GRIP, front: float = 0.0) -> float:
    return pack.janssen_force(PULL, LENGTH, engaged, BORE, grip, front)


@pytest.mark.parametrize("grip", [1e-9, 1e-4, 0.1, 0.4])
@pytest.mark.parametrize("engaged", [0.02, 0.25])
@pytest.mark.parametrize("front", [0.0, 50.0])
def test_janssen_against_the_balance_of_slices(grip: float, engaged: float, front: float) -> None:
    # Janssen (1895): A dsigma/dx = -mu (p_0 + K sigma) pi D, here with mu = 0.3, from the front
    # back to where it is pushed
    mu = 0.3
    K = grip / mu
    p_0 = PULL / (mu * math.pi * BORE * LENGTH)
    area = 0.25 * math.pi * BORE**2

    def slope(_: float, sigma: np.ndarray) -> np.ndarray:
        return mu * (p_0 + K * sigma) * math.pi * BORE / area

    found = solve_ivp(slope, (0.0, engaged), [front / area], rtol=1e-11, atol=1e-9).y[0, -1]
    assert pushed(engaged, grip, front) == pytest.approx(area * found, rel=1e-8)


def test_a_column_that_does_not_hold_itself_takes_its_pull() -> None:
    assert pushed(grip=0.0) == pytest.approx(PULL, rel=1e-15)
    assert pushed(grip=0.0, engaged=0.1, front=7.0) == pytest.approx(0.4 * PULL + 7.0)
    assert pushed(engaged=0.0) == 0.0
    assert pushed(engaged=0.0, front=7.0) == 7.0


def test_both_forms_of_the_growth_meet() -> None:
    grip = pack.SHORT * BORE / (4.0 * LENGTH)
    below, above = pushed(grip=0.999 * grip), pushed(grip=1.001 * grip)
    assert above / below == pytest.approx(1.0 + 0.001 * pack.SHORT, abs=1e-12)


def test_the_holding_of_a_long_pack_by_hand() -> None:
    # a = 4 x 0.1 x 0.25/0.098 = 1.0204; (e^a - 1)/a = 1.7389
    assert pushed() == pytest.approx(1.7389 * PULL, rel=1e-4)
    # a pack of the same p_0 and K that draws itself in takes F_0 (1 - e^-a)/a in tension, sigma
    # falling off from where it is pulled; pushed it takes e^a times that, as the docstring says
    a = 4.0 * GRIP * LENGTH / BORE
    drawn = PULL * quad(lambda u: math.exp(-a * u), 0.0, 1.0)[0]
    assert pushed() / drawn == pytest.approx(math.exp(a), rel=1e-12)


def test_the_force_falls_as_the_front_leaves_the_tube() -> None:
    engaged = np.linspace(0.0, LENGTH, 50)
    found = np.array([pushed(float(left)) for left in engaged])
    assert (np.diff(found) > 0.0).all()
    assert (found[1:-1] < PULL * 1.7389 * engaged[1:-1] / LENGTH).all()
    grips = [pushed(grip=float(g)) for g in np.linspace(0.0, 0.5, 50)]
    assert (np.diff(grips) > 0.0).all()
