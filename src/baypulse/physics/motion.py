"""Geometry of a shoulder leaving its tube."""

from __future__ import annotations

import math

from baypulse.physics.compiled import compiled


@compiled
def bore_area(bore: float) -> float:
    """Return pi D^2/4 [m^2] of the inside diameter D [m]."""
    return 0.25 * math.pi * bore * bore


@compiled
def opened_share(s: float, stroke: float, bore: float) -> float:
    """Return the annulus pi D (s - L) over the bore area pi D^2/4, from 0 to 1.

    Parameters
    ----------
    s, stroke, bore : float
        Travel, length of shoulder, inside diameter of the tube [m].

    Returns
    -------
    float
        0 until the shoulder is clear, 1 from a quarter of a bore further on.
    """
    return min(max(4.0 * (s - stroke) / bore, 0.0), 1.0)


@compiled
def pushed_share(s: float, stroke: float, bore: float) -> float:
    """Return the share of the bore area on which the pressure still pushes.

    (1 - z)^2, z the opened share: the push dies as the annulus grows to the bore area. An
    estimate of the decay; it moves the velocity at most by a few per cent.

    Parameters
    ----------
    s, stroke, bore : float
        Travel, length of shoulder, inside diameter of the tube [m].

    Returns
    -------
    float
        1 while the shoulder is in the tube, 0 from a quarter of a bore outside.
    """
    z = opened_share(s, stroke, bore)
    return (1.0 - z) * (1.0 - z)


@compiled
def swept_length(s: float, stroke: float, bore: float) -> float:
    """Return the integral of :func:`pushed_share` from 0 to s.

    Bore area times this length is the volume opened so far, so that the work of the gas is
    exactly its pressure times the change of volume.

    Parameters
    ----------
    s, stroke, bore : float
        Travel, length of shoulder, inside diameter of the tube [m].

    Returns
    -------
    float
        Length [m].
    """
    shut = 1.0 - opened_share(s, stroke, bore)
    return min(s, stroke) + bore / 12.0 * (1.0 - shut * shut * shut)
