"""The static rule: what builders divide and multiply today. Common practice, no source."""

from __future__ import annotations

from baypulse.constants import STANDARD_GRAVITY

FOOT_POUND_PER_POUND_RANKINE = 0.3048 * STANDARD_GRAVITY * 1.8
"""1 ft lbf/(lbm R) in J/(kg K), from the exact definitions."""

R = 22.16 * FOOT_POUND_PER_POUND_RANKINE
"""Gas constant of the rule [J/kg/K], 22.16 ft lbf/(lbm R); common practice, no source."""

T = 3307.0 / 1.8
"""Gas temperature of the rule [K], 3307 degrees Rankine; common practice, no source."""


def charge_mass(pressure: float, volume: float) -> float:
    """Return m = p V / (R T).

    Parameters
    ----------
    pressure : float
        Gauge pressure wanted [Pa].
    volume : float
        Free volume [m^3].

    Returns
    -------
    float
        Powder [kg].
    """
    return pressure * volume / (R * T)


def pressure(mass: float, volume: float) -> float:
    """Return p = m R T / V, the gauge pressure the rule promises.

    Parameters
    ----------
    mass : float
        Powder [kg].
    volume : float
        Free volume [m^3].

    Returns
    -------
    float
        Gauge pressure [Pa].
    """
    return mass * R * T / volume


def gas_pressure(fill: float, reservoir: float, volume: float) -> float:
    """Return p = p_f V_r / (V_r + V): a reservoir let into a bay at one temperature (Boyle).

    Parameters
    ----------
    fill : float
        Gauge pressure of the reservoir [Pa].
    reservoir, volume : float
        Volumes of reservoir and bay [m^3].

    Returns
    -------
    float
        Gauge pressure [Pa].
    """
    return fill * reservoir / (reservoir + volume)


def force(pressure: float, area: float) -> float:
    """Return F = p A.

    Parameters
    ----------
    pressure : float
        Gauge pressure [Pa].
    area : float
        Bore area [m^2].

    Returns
    -------
    float
        [N].
    """
    return pressure * area
