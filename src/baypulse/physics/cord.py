"""The shock cord: a spring-damper with a measured load-elongation curve and a set."""

from __future__ import annotations

import math

from baypulse.physics.compiled import compiled

SLACK = 0
"""State of a cord that does not pull."""
LOADING = 1
"""State of a taut cord that stretches."""
UNLOADING = 2
"""State of a taut cord that gives back."""


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
def damped_force(spring: float, w: float, w_taut: float, ratio: float) -> float:
    """Return F = F_s (1 + 3 pi/2 zeta w/w_t) while the cord stretches.

    A dashpot beside the spring would give a load from nothing the moment the cord is taut. Here
    the loss grows with the load, and for a linear cord and a small zeta the whole stretch loses
    what a dashpot of that ratio loses, pi/2 zeta k x_m^2.

    Parameters
    ----------
    spring : float
        F_s, force of the curve [N].
    w, w_taut : float
        Speed now, and when the cord became taut [m/s].
    ratio : float
        zeta, share of critical damping.

    Returns
    -------
    float
        Force [N].

    References
    ----------
    Hunt & Crossley, J. Appl. Mech. 42 (1975) 440: damping in proportion to the force (from
    memory); the factor is our own integral.
    """
    return spring * (1.0 + 1.5 * math.pi * ratio * max(w, 0.0) / max(w_taut, 1e-9))
