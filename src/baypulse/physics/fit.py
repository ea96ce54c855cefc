"""What holds the joint: friction that falls with engagement, and shear pins."""

from __future__ import annotations

from baypulse.physics.compiled import compiled

SLACK = 0
"""State of a pin that is not yet touched."""
LOADED = 1
"""State of a pin that bears."""
FAILING = 2
"""State of a pin past its strength."""
GONE = 3
"""State of a pin that is sheared off."""

RECOVERY = 0.5
"""Share of its force with which a pin pushes back when the joint returns; estimate: a plastic
pin has set by then. Without it the nose would swing on its pins for seconds."""


@compiled
def engaged_share(s: float, stroke: float) -> float:
    """Return the share of the shoulder still inside the tube.

    Parameters
    ----------
    s : float
        Travel [m].
    stroke : float
        Length of shoulder in the closed joint [m].

    Returns
    -------
    float
        1 closed, 0 from the stroke on.
    """
    return min(max(1.0 - s / stroke, 0.0), 1.0)


@compiled
def pin_force(s: float, state: int, strength: float, gap: float, rise: float, fail: float) -> float:
    """Return the force of one pin against opening.

    Nothing across the gap, then F (2u - u^2) over the rise (stiff first, level at its
    strength F, like a plastic yielding), then a straight fall to nothing.

    In the 76 mm bench bay the pins set the peak: F of a slow pull, without the gain of a shot
    (:func:`baypulse.case.geometry.rate_gain`), lowers it from 113 to 108 kPa.

    Parameters
    ----------
    s : float
        Travel [m].
    state : int
        SLACK, LOADED, FAILING or GONE.
    strength : float
        F [N].
    gap, rise, fail : float
        Travels of the three parts [m].

    Returns
    -------
    float
        Force [N], never negative.
    """
    if state == LOADED:
        u = min(max((s - gap) / rise, 0.0), 1.0)
        return strength * u * (2.0 - u)
    if state == FAILING:
        w = min(max((s - gap - rise) / fail, 0.0), 1.0)
        return strength * (1.0 - w)
    return 0.0
