"""The packed cloth as a porous plug that gas seeps through, and as a column that holds itself."""

from __future__ import annotations

import math

from baypulse.physics.choice import anywhere, where
from baypulse.physics.compiled import compiled
from baypulse.physics.powers import log1p

LAMINAR_CONSTANT = 150.0
"""Ergun's constant of the viscous loss."""

INERTIAL_CONSTANT = 1.75
"""Ergun's constant of the inertial loss."""

SHORT = 1e-6
"""Exponent below which (e^a - 1)/a is 1 + a/2, exact there to 2e-13."""


@compiled
def equivalent_diameter(specific_surface: float) -> float:
    """Return the diameter of spheres with the same surface per solid volume, d = 6/a_v.

    Sheets of solid thickness t have a_v = 2/t and so d = 3 t; round fibres of diameter f have
    a_v = 4/f and d = 1.5 f.

    Parameters
    ----------
    specific_surface : float
        Surface that the gas wets, per volume of solid a_v [1/m], above 0.

    Returns
    -------
    float
        d [m].

    References
    ----------
    S. Ergun, Fluid flow through packed columns, Chem. Eng. Progress 48 (1952) 89 (from memory).
    """
    return 6.0 / specific_surface


@compiled
def voids(packed_density: float, fibre_density: float) -> float:
    """Return the share of a pack's volume that is not fibre, 1 - packed/fibre density.

    Parameters
    ----------
    packed_density, fibre_density : float
        [kg/m^3]; the second above 0.

    Returns
    -------
    float
        From 0 (as dense as the fibre, or a slip in the input) to 1.
    """
    return min(max(1.0 - packed_density / fibre_density, 0.0), 1.0)


@compiled
def nozzle_flux(p_up: float, p_down: float, R: float, T: float) -> float:
    """Return the greatest mass flux of a gas that is kept at one temperature.

    G = p_up/sqrt(R T) r sqrt(2 ln(1/r)), r = p_down/p_up, choked from r = exp(-1/2) down: the
    isothermal nozzle, from rest and without any friction.

    Parameters
    ----------
    p_up, p_down : float
        Absolute pressures [Pa], p_up above 0.
    R, T : float
        Gas constant [J/kg/K] and temperature [K].

    Returns
    -------
    float
        Mass flow per open area [kg/m^2/s]; 0 where p_down is not the lower pressure.

    References
    ----------
    Shapiro, The Dynamics and Thermodynamics of Compressible Fluid Flow, vol. 1 (1953), ch. 6
    (isothermal flow; from memory): Bernoulli's integral for p = rho R T.
    """
    drop = min(max((p_up - p_down) / p_up, 0.0), 1.0 - math.exp(-0.5))
    # log1p keeps small differences exact
    return p_up / math.sqrt(R * T) * (1.0 - drop) * math.sqrt(-2.0 * log1p(-drop))


@compiled
def ergun_flux(
    p_up: float,
    p_down: float,
    R: float,
    T: float,
    mu: float,
    voids: float,
    diameter: float,
    length: float,
) -> float:
    """Return the mass flux through a pack, per area of bore.

    Ergun's equation with rho = p/(R T), integrated along a pack that keeps the gas at its own
    temperature:

        (p_up^2 - p_down^2)/(2 R T) = L (150 mu (1-e)^2/(e^3 d^2) G + 1.75 (1-e)/(e^3 d) G^2),

    solved for G in the form 2 c/(b + sqrt(b^2 + 4 a c)), which loses no digits where the pressures
    are nearly equal. A pack too short for friction to count passes no more than its voids would
    as a nozzle (:func:`nozzle_flux`).

    In the 76 mm bench bay the peak is 171 kPa in place of 113 kPa if the pack has no voids, and
    twice as high with the joint held shut.

    Parameters
    ----------
    p_up, p_down : float
        Absolute pressures [Pa].
    R, T : float
        Gas constant [J/kg/K] and temperature [K] of the gas in the pack.
    mu : float
        Viscosity [Pa s].
    voids : float
        Share e of the volume that is not fibre, 0 to 1.
    diameter : float
        Equivalent diameter d of the cloth [m] (:func:`equivalent_diameter`).
    length : float
        L along the flow [m], above 0.

    Returns
    -------
    float
        G [kg/m^2/s], at least 0; 0 where p_down is not the lower pressure.

    Notes
    -----
    Range: measured on granular beds of e = 0.35 to 0.6 and Re = rho v d/(mu (1-e)) up to some
    thousand. Cloth in folds has e = 0.6 to 0.85, and channels between its folds: the equivalent
    diameter is an effective one, with a wide spread. The gas's own acceleration in the pack,
    G^2/e^2 ln(p_up/p_down), is left out beside the friction; it is one per cent of it where L is
    300 diameters, 30 mm of a cloth of 0.1 mm.

    References
    ----------
    S. Ergun, Fluid flow through packed columns, Chem. Eng. Progress 48 (1952) 89 (from memory);
    the compressible form as in Bird, Stewart & Lightfoot, Transport Phenomena, sec. 6.4 (from
    memory).
    """
    squares = 0.5 * (p_up - p_down) * (p_up + p_down) / (R * T)
    if not anywhere(squares > 0.0):
        return 0.0 * squares
    cube = voids * voids * voids
    solid = (1.0 - voids) / diameter
    b = LAMINAR_CONSTANT * mu * solid * solid * length
    c = cube * squares
    root = math.sqrt(b * b + 4.0 * INERTIAL_CONSTANT * solid * length * c)
    flux = min(2.0 * c / (b + root), voids * nozzle_flux(p_up, p_down, R, T))
    return where(squares <= 0.0, 0.0, flux)


@compiled
def janssen_force(
    pull: float, length: float, engaged: float, diameter: float, grip: float, front: float
) -> float:
    """Return the force that pushes a column of cloth along its tube, from behind.

    The cloth presses on the wall with p_w = p_0 + K sigma: p_0 from having been stuffed in, K sigma
    because it is squeezed along the tube by sigma. At the point of sliding a slice holds back

        (pi D^2/4) d(sigma)/dx = -mu p_w pi D,

    x counted from where it is pushed. With sigma = 4 N/(pi D^2) at the front and
    a = 4 mu K l/D over the length l that is still in the tube, this gives

        F = F_0 (l/L) (e^a - 1)/a + N e^a,    F_0 = mu p_0 pi D L.

    F_0 is what draws the whole pack of length L out by its front, where nothing squeezes it. As the
    front leaves the tube, l falls, and the force faster than l.

    Parameters
    ----------
    pull : float
        F_0, the force that pulls the whole pack out [N].
    length : float
        L, the packed length to which it belongs [m], above 0.
    engaged : float
        l, the length of pack still in the tube [m], from 0 to L.
    diameter : float
        D, bore of the tube [m].
    grip : float
        mu K: coefficient of friction on the wall times the ratio of the pressure across the tube
        to that along it. At 0 the column does not hold itself and F is F_0 l/L + N.
    front : float
        N, force that the front must overcome beside the wall's, as from a nose that it pushes [N].

    Returns
    -------
    float
        F [N].

    Notes
    -----
    Range: cloth in folds that keeps its shape; K of cloth was not found in the literature. In
    tension a pack may draw itself in, K sigma being negative: then the measured pull is less than
    mu p_0 pi D L, in the ratio (1 - e^-a)/a, and pushing takes e^a times the pull. The spread of
    `grip` must cover that too.

    References
    ----------
    H. A. Janssen, Versuche ueber Getreidedruck in Silozellen, Z. Ver. dt. Ing. 39 (1895) 1045;
    translated by M. Sperl, Granular Matter 8 (2006) 59 (both from memory). Derived here for a
    column pushed from below.
    """
    a = 4.0 * grip * engaged / diameter
    growth = math.expm1(a) / a if a > SHORT else 1.0 + 0.5 * a
    return pull * engaged / length * growth + front * math.exp(a)
