"""A column of packed cloth that gas pushes along its tube, and that pushes a nose before it.

The cloth presses on the wall with p_0 from having been stuffed in, and with K sigma where it is
squeezed along the tube by sigma (:func:`baypulse.physics.pack.janssen_force`). A column of mass m,
pushed at its rear by R, that moves with the acceleration a against gravity g, has the balance

    (pi D^2/4) d(sigma)/dx = -mu (p_0 + K sigma) pi D - m (a + g)/L,

x counted from its rear. Inertia acts as p_0 does, evenly over the length, so that with
z = 4 mu K L/D, J = (e^z - 1)/z, the force E that draws it out by its front, and C on what it pushes

    R = J (E + m (a + g)) + C e^z.

Nothing before it (C = 0): m (a + g) = R/J - E; it starts at R = J E, Janssen's column. What the
wall takes is R - C - m (a + g). At z = 0 the column does not hold itself: J = 1.

References
----------
H. A. Janssen, Z. Ver. dt. Ing. 39 (1895) 1045 (from memory); with inertia derived here.
"""

from __future__ import annotations

import math

from baypulse.physics.compiled import compiled

SHORT = 1e-6
"""Exponent below which (e^z - 1)/z is 1 + z/2, exact there to 2e-13."""


@compiled
def growth(z: float) -> float:
    """Return J = (e^z - 1)/z, by how much more it takes to push a column than to draw it.

    Parameters
    ----------
    z : float
        4 mu K L/D over the length that is in the tube, at least 0.
    """
    return math.expm1(z) / z if z > SHORT else 1.0 + 0.5 * z


@compiled
def engaged_share(u: float, out: float, length: float) -> float:
    """Return the share of a pack's length that is still in the tube, from 1 to 0.

    Parameters
    ----------
    u, out, length : float
        Travel of the pack, travel at which its rear passes the lip, packed length [m].
    """
    return min(max((out - u) / length, 0.0), 1.0)


@compiled
def contact_force(R: float, E: float, z: float, J: float, inertia: float) -> float:
    """Return what a pushed column passes on to what it pushes, C = e^-z (R - J (E + m (a + g))).

    In the 76 mm bench bay a tight pack raises the peak by 21 % and makes the nose 6 % slower; loose
    or snug change the peak by 1 %. That the column holds itself (z) does not change the peak.

    Parameters
    ----------
    R, E : float
        Push of the gas on its rear less that on its front, force that draws it out [N].
    z, J : float
        As of :func:`growth`.
    inertia : float
        m (a + g) [N].

    Returns
    -------
    float
        C [N]; negative where the column falls behind.
    """
    return math.exp(-z) * (R - J * (E + inertia))
