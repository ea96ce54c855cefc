"""The shock cord: a spring-damper with a measured load-elongation curve and a set."""

from __future__ import annotations

import math

from baypulse.physics.compiled import compiled

SLACK, LOADING, UNLOADING = 0, 1, 2
"""States of the cord."""


@compiled
def loading_force(strain: float, break_load: float, break_strain: float, exponent: float) -> float:
    """Return F = F_b (strain / strain_b)^m.

    Parameters
    ----------
    strain : float
        Elongation over length; 0 and below gives no force.
    break_load : float
        F_b [N].
    break_strain : float
        Strain at break.
    exponent : float
        m, 1 for a linear cord.

    Returns
    -------
    float
        Force [N].
    """
    return break_load * (max(strain, 0.0) / break_strain) ** exponent


@compiled
def unloading_force(
    strain: float, peak_strain: float, peak_load: float, permanent_set: float, exponent: float
) -> float:
    """Return the force while the cord shortens from its peak to its permanent set.

    F = F_p ((strain - set strain_p)/(strain_p - set strain_p))^m.

    Parameters
    ----------
    strain, peak_strain : float
        Now, and at the peak.
    peak_load : float
        F_p [N].
    permanent_set : float
        Strain kept, as a share of the peak strain, below 1.
    exponent : float
        m.

    Returns
    -------
    float
        Force [N], 0 from the permanent set on.
    """
    kept = permanent_set * peak_strain
    return peak_load * (max(strain - kept, 0.0) / (peak_strain - kept)) ** exponent


@compiled
def damping_coefficient(ratio: float, stiffness: float, mass: float) -> float:
    """Return c = 2 zeta sqrt(k m).

    Parameters
    ----------
    ratio : float
        zeta.
    stiffness : float
        Secant stiffness k [N/m].
    mass : float
        Reduced mass m of the two sections [kg].

    Returns
    -------
    float
        c [N s/m].
    """
    return 2.0 * ratio * math.sqrt(stiffness * mass)
