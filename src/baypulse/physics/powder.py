"""Burning of a charge of grains: form function, burning law, flame spread."""

from __future__ import annotations

from baypulse.physics.choice import anywhere
from baypulse.physics.compiled import compiled
from baypulse.physics.powers import log, power


@compiled
def burnt_fraction(depth: float, r_low: float, r_high: float) -> float:
    """Return the share of a sieve window's mass that is burnt.

    Spheres of radius r, uniform by mass between r_low and r_high, all burnt to one depth e:
    a grain has lost 1 - (1 - e/r)^3; the mean over the window has a closed form.

    Parameters
    ----------
    depth : float
        Burnt depth e from the surface of each grain [m].
    r_low, r_high : float
        Smallest and largest grain radius [m], r_low below r_high.

    Returns
    -------
    float
        0 at depth 0, exactly 1 from depth r_high on.

    References
    ----------
    Corner, Theory of the Interior Ballistics of Guns (1950), ch. 2: form functions (from memory);
    the mean over the window is our own integral.
    """
    e = min(max(depth, 0.0), r_high)
    a = max(r_low, e)
    x, z = e / r_high, e / a
    # integral over r from a to r_high of 3e/r - 3e^2/r^2 + e^3/r^3
    part = e * (3.0 * log(r_high / a) + (x - z) * (3.0 - 0.5 * (x + z)))
    return (a - r_low + part) / (r_high - r_low)


@compiled
def burnt_slope(depth: float, r_low: float, r_high: float) -> float:
    """Return the derivative of :func:`burnt_fraction` by the depth.

    Parameters
    ----------
    depth : float
        Burnt depth [m].
    r_low, r_high : float
        Smallest and largest grain radius [m].

    Returns
    -------
    float
        Share of mass per metre of depth [1/m]; 0 from depth r_high on.
    """
    e = min(max(depth, 0.0), r_high)
    a = max(r_low, e)
    x, z = e / r_high, e / a
    part = 3.0 * log(r_high / a) + (x - z) * (6.0 - 1.5 * (x + z))
    return part / (r_high - r_low)


@compiled
def burning_rate(p: float, rate: float, p_reference: float, exponent: float) -> float:
    """Return the linear burning rate r = a (p/p0)^n (Vieille's law).

    In the 76 mm bench bay the law of a strand (n = 0.24) in place of the bed's (n = 0.66) raises
    the peak from 113 to 280 kPa, and lowers the least charge that opens it from 0.54 to 0.21 g.
    Powder at -40 degC costs 9 % of the pressure with the joint held shut, and asks for 11 % more.

    Parameters
    ----------
    p : float
        Absolute pressure at the grains [Pa].
    rate : float
        a, rate at the reference pressure [m/s].
    p_reference : float
        p0 [Pa].
    exponent : float
        n.

    Returns
    -------
    float
        Regression speed of a burning surface [m/s].
    """
    return rate * power(max(p, 0.0) / p_reference, exponent)


@compiled
def flame_rate(p: float, rate: float, p_reference: float, exponent: float) -> float:
    """Return how fast the flame crosses the bed, du/dt = (w_0/l) (p/p_0)^m.

    In the 76 mm bench bay the peak is 1 % higher with all grains alight within 2 ms.

    Parameters
    ----------
    p : float
        Absolute pressure at the bed [Pa].
    rate : float
        w_0/l, speed of the flame at p_0 over the length of the bed [1/s].
    p_reference : float
        p_0 [Pa].
    exponent : float
        m; 0 for a flame that takes a given time.

    Returns
    -------
    float
        Share of the bed a second [1/s].
    """
    if not anywhere(exponent != 0.0):
        return rate
    return rate * power(max(p, 0.0) / p_reference, exponent)


@compiled
def lit_share(u: float) -> float:
    """Return the share of the grain surface alight, u^2 (3 - 2u).

    Parameters
    ----------
    u : float
        Share of the bed that the flame has crossed; at most 1 counts.

    Returns
    -------
    float
        0 at 0, 1 from 1 on, with no kink between.
    """
    u = min(max(u, 0.0), 1.0)
    return u * u * (3.0 - 2.0 * u)


@compiled
def thin_air_share(p_ambient: float, p_none: float, p_full: float) -> float:
    """Return the share of its ceiling that a loose charge still burns in thin air.

    A straight line from 0 at p_none to 1 at p_full: an estimate, since no measurement could be
    read; the literature only agrees that loose powder fails somewhere near 0.1 bar.

    Parameters
    ----------
    p_ambient, p_none, p_full : float
        Absolute pressures [Pa].

    Returns
    -------
    float
        From 0 to 1.
    """
    return min(max((p_ambient - p_none) / (p_full - p_none), 0.0), 1.0)
