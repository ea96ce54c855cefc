"""The products burn in the bay's air: CO, H2, H2S, S and K2S, where it is hot enough."""

from __future__ import annotations

import math

from baypulse.physics.choice import anywhere, where
from baypulse.physics.compiled import compiled


@compiled
def burnt_rate(m_b: float, m_a: float, d_b: float, d_a: float, air: float) -> float:
    """Return the products that burn, d/dt of s = (m_b^-4 + (m_a/x)^-4)^(-1/4).

    s is the smaller of the products and of those that the zone's air can burn, rounded where both
    are alike, of which 16 % stay unburnt (the fourth power is our choice): mixed is burnt. What
    leaves the zone leaves as it is.

    In the 76 mm bench bay the peak is 114 kPa if nothing burns and 128 if all does, in place of
    113; with the joint held shut 7 % lower and 15 % higher, and the least charge that opens 0.61
    and 0.45 g in place of 0.54 g.

    Parameters
    ----------
    m_b, m_a : float
        Products and air in the hot zone [kg], above 0.
    d_b, d_a : float
        What comes in of both [kg/s], not negative.
    air : float
        x, air that burns a kilogram of products [kg].

    Returns
    -------
    float
        [kg/s].
    """
    fuel, oxygen = m_b, m_a / air
    both = (fuel > 0.0) & (oxygen > 0.0)
    if not anywhere(both):
        return 0.0 * fuel
    low = min(fuel, oxygen)
    ratio = low / max(fuel, oxygen)
    fourth = ratio * ratio * ratio * ratio
    # s over the smaller of the two is (1 + ratio^4)^(-1/4), from 2^(-1/4) to 1; this is its fifth
    # power, without a power law
    near = 1.0 / ((1.0 + fourth) * math.sqrt(math.sqrt(1.0 + fourth)))
    far = near * ratio * fourth
    lean = fuel <= oxygen
    burnt = where(lean, near, far) * d_b + where(lean, far, near) * d_a / air
    return where(both, burnt, 0.0)


@compiled
def gate(T: float, low: float, high: float) -> float:
    """Return the share that burns at a temperature: a cubic step from ``low`` to ``high`` [K].

    Parameters
    ----------
    T, low, high : float
        Of the hot zone, below which nothing burns, and above which all does [K].

    Returns
    -------
    float
        From 0 to 1, without a kink.
    """
    u = min(max((T - low) / (high - low), 0.0), 1.0)
    return u * u * (3.0 - 2.0 * u)
