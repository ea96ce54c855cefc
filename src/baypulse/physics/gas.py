"""State of a mixture whose species have c_v linear in temperature.

u(T) = c0 T + c1 T^2 / 2 per kilogram, counted from 0 K; p V = G T with G the sum of m R.
"""

from __future__ import annotations

import math

from baypulse.constants import AIR_GAS_CONSTANT
from baypulse.physics.compiled import compiled

AIR_R = AIR_GAS_CONSTANT
"""Specific gas constant of air [J/kg/K]; ISO 2533:1975."""

AIR_C0 = 677.1
"""Constant part of air's c_v [J/kg/K]; line through the c_v of Cantera's ``air.yaml``
(NASA polynomials) from 250 to 1800 K, within 2 % there."""

AIR_C1 = 0.1617
"""Slope of air's c_v [J/kg/K^2]; as for :data:`AIR_C0`."""

SUTHERLAND_BETA = 1.458e-6
"""beta_s of Sutherland's law for air [kg/m/s/K^0.5]; ISO 2533:1975 (from memory)."""

SUTHERLAND_S = 110.4
"""Sutherland's temperature of air [K]; ISO 2533:1975 (from memory)."""


@compiled
def specific_energy(T: float, c0: float, c1: float) -> float:
    """Return the internal energy u = c0 T + c1 T^2/2 of one kilogram.

    Parameters
    ----------
    T : float
        Temperature [K], above 0.
    c0, c1 : float
        c_v = c0 + c1 T [J/kg/K], [J/kg/K^2].

    Returns
    -------
    float
        Internal energy above 0 K [J/kg].
    """
    return T * (c0 + 0.5 * c1 * T)


@compiled
def temperature(U: float, C0: float, C1: float) -> float:
    """Return the temperature at which a mixture holds the energy U.

    The root of U = C0 T + C1 T^2/2, in the form that stays exact for C1 = 0.

    Parameters
    ----------
    U : float
        Internal energy [J]; negative energies give a temperature of 0.
    C0, C1 : float
        Sums of m c0 [J/K] and of m c1 [J/K^2].

    Returns
    -------
    float
        Temperature [K].
    """
    U = max(U, 0.0)
    return 2.0 * U / (C0 + math.sqrt(C0 * C0 + 2.0 * C1 * U))


@compiled
def viscosity(T: float) -> float:
    """Return the viscosity of air by Sutherland's law, mu = beta_s T^(3/2)/(T + S).

    Parameters
    ----------
    T : float
        Temperature [K], above 0. Within 1 % of CoolProp's air from 200 to 400 K, then low: by 4 %
        at 1000 K and by a tenth at 2000 K.

    Returns
    -------
    float
        Dynamic viscosity [Pa s].

    References
    ----------
    W. Sutherland, Phil. Mag. 36 (1893) 507; constants of ISO 2533:1975, eq. 22 (from memory).
    """
    return SUTHERLAND_BETA * T * math.sqrt(T) / (T + SUTHERLAND_S)
