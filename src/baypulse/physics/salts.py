"""Salts that settle: half of the heat of black powder is in condensed droplets."""

from __future__ import annotations

from baypulse.physics.compiled import compiled


@compiled
def settling(m_c: float, velocity: float, area: float, volume: float) -> float:
    """Return the salts that settle on a surface, dm_c/dt = v_d A m_c/V.

    The salts are spread over the hot zone, which touches its share of the surface: the zone's
    volume cancels.

    In the 76 mm bench bay the peak is the same if none settle, and so it is with the joint held
    shut.

    Parameters
    ----------
    m_c : float
        Suspended salts [kg].
    velocity : float
        v_d, deposition velocity [m/s]: 0.1 to 0.5 for droplets of a micron in hot gas before a
        cold wall (:func:`thermophoretic_velocity`, and turbulence).
    area, volume : float
        Of the surface [m^2], and of the whole gas [m^3].

    Returns
    -------
    float
        [kg/s].

    References
    ----------
    Friedlander, Smoke, Dust and Haze (1977), ch. 3: deposition velocity (from memory).
    """
    return velocity * area * m_c / volume


@compiled
def thermophoretic_velocity(
    viscosity: float, density: float, T: float, gradient: float, conductivity_ratio: float
) -> float:
    """Return the speed of a large droplet down a gradient of temperature, v = K mu/(rho T) dT/dx.

    K = 2 C_s k/(1 + 2 k), k = k_gas/k_particle: Talbot's formula where the droplet is
    large against the free path.

    Parameters
    ----------
    viscosity, density, T : float
        Of the gas [Pa s], [kg/m^3], [K].
    gradient : float
        dT/dx [K/m].
    conductivity_ratio : float
        k, from 0.01 to 1.

    Returns
    -------
    float
        [m/s].

    References
    ----------
    Talbot, Cheng, Schefer & Willis, J. Fluid Mech. 101 (1980) 737-758, eq. 37 without slip, with
    C_s = 1.17 (from memory).
    """
    k = conductivity_ratio
    return 2.0 * 1.17 * k / (1.0 + 2.0 * k) * viscosity / (density * T) * gradient
