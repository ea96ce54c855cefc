"""Whether the holes of a bay let out all that its charge can still give."""

from __future__ import annotations

import numpy as np

from baypulse.engine import burning, gasside
from baypulse.engine import layout as at
from baypulse.engine.parameters import ALWAYS, OUTSIDE
from baypulse.physics import flow, powder
from baypulse.physics.compiled import compiled


@compiled
def open_area(P: np.record) -> float:
    """Return the effective area of all holes from the charge's space to the outside [m^2]."""
    area = 0.0
    for j in range(P.n_openings):
        one, two = P.opening_from[j], P.opening_to[j]
        outward = (one == P.chamber and two == OUTSIDE) or (one == OUTSIDE and two == P.chamber)
        if outward and P.opening_kind[j] == ALWAYS:
            area += P.opening_area[j]
    return area


@compiled
def given_over_let_out(p: float, y: np.ndarray, P: np.record) -> float:
    """Return what a charge that is all alight can give at most at a pressure, over what leaves.

    Where this is below 1 the pressure cannot rise past p: with the power W that burning and
    afterburning can bring,

        V dp/dt <= (g - 1) W - g p Cd A Phi/rho,

    g - 1 of cold air, the highest there is, and Phi the flux of the coldest gas, which leaves
    slowest; the g before the outflow is left out, and so is what goes through slots, into the
    contents and to the walls. Grains that are all alight give less and less at the same pressure:
    W = m N eta psi'(e) r(p) (u + q) of now is the greatest to come.

    Parameters
    ----------
    p : float
        Pressure in the space of the charge, above that outside [Pa].
    y : ndarray
        State, with no grains in a holder of their own.
    P : np.record
        The shot.
    """
    slope = powder.burnt_slope(y[at.DEPTH], P.r_low, P.r_high)
    grains = P.charge_mass * P.burnt_ceiling * burning.grains_inside(y, P) * slope
    rate = powder.burning_rate(p, P.rate, P.rate_pressure, P.rate_exponent)
    power = grains * rate * (P.powder_energy + P.afterburning_heat)
    rho = p / (P.R_a * P.T_ambient)
    g = 1.0 + P.R_a / P.c0_a
    leaves = p * open_area(P) * flow.mass_flux(p, rho, P.p_ambient, g) / rho
    return (g - 1.0) * power / leaves


@compiled
def spare_outflow(
    spare: float, area: float, y: np.ndarray, modes: np.ndarray, P: np.record, work: np.ndarray
) -> float:
    """Return what the holes could let out beyond all that is still given, from -1 to 1.

    Above 0 the charge can raise the pressure by no more than half of what would use up a force
    that is to spare; the other half is left to what is hot already and may still mix.

    Parameters
    ----------
    spare : float
        By how much a push may grow until something moves [N].
    area : float
        On which the pressure acts [m^2].
    y, modes : ndarray
        State and phase, of a charge that is all alight.
    P : np.record
        The shot.
    work : ndarray
        Table of the volumes.
    """
    sealed = P.source >= 0 and modes[at.SOURCE] != at.MERGED
    if sealed or spare <= 0.0 or open_area(P) <= 0.0:
        return -1.0
    p = work[P.chamber, gasside.P_] + 0.5 * spare / area
    if p <= P.p_ambient:
        return -1.0
    share = given_over_let_out(p, y, P)
    return (1.0 - share) / (1.0 + share)
