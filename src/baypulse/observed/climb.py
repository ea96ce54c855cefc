"""The pressure that trapped air puts on a closed joint during boost and coast."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from baypulse.case import geometry, params
from baypulse.case.model import Case
from baypulse.engine.slow import Network, Still, follow
from baypulse.members import draws
from baypulse.members.factors import dimensions, factors
from baypulse.members.retention import holds
from baypulse.observed.flight_profile import Profile
from baypulse.observed.same_day import at_pad

Array = np.ndarray

MEMBERS = 4096
"""Joints drawn to find the low side of what holds one."""


@dataclass(frozen=True)
class Climb:
    """The air of a bay, and the force on its joint, along a flight.

    Attributes
    ----------
    profile : Profile
        The flight.
    still : baypulse.engine.slow.Still
        The air of the bay, and of the electronics bay where there is one.
    difference : ndarray, shape (n,)
        Pressure of the bay above that outside [Pa].
    force : ndarray, shape (n,)
        What pulls the joint apart: pressure on the bore, and drag where it is known [N].
    worst : int
        Point during the ascent at which that is most.
    """

    profile: Profile
    still: Still
    difference: Array
    force: Array
    worst: int


def climb(case: Case, profile: Profile, network: Network | None = None) -> Climb:
    """Follow a bay's air along a flight, with the joint closed.

    The air begins in balance with the pad's, and at its temperature, which the walls keep.

    Parameters
    ----------
    case : Case
        The bay.
    profile : Profile
        The flight.
    network : Network, optional
        The bay's volumes and openings, where they are not those of the case.

    Returns
    -------
    Climb
    """
    still = follow(
        profile.time, profile.pressure, profile.temperature, network or pad_network(case)
    )
    difference = still.pressure[:, 0] - profile.pressure
    force = difference * geometry.bore_area(case)
    if profile.pull is not None:
        force = force + profile.pull
    return Climb(profile, still, difference, force, int(force[: profile.apogee + 1].argmax()))


def pad_network(case: Case) -> Network:
    """Return the bay's volumes and openings as they stand on the pad."""
    return params.slow_network(at_pad(case))


def joint_holds(case: Case, seed: int, members: int = MEMBERS) -> Array:
    """Return what holds the joint of so many members on the pad [N], shape (members,).

    The pins are as warm as the pad's air: later they are colder and stronger.

    Parameters
    ----------
    case : Case
        With its spreads.
    seed : int
        The same seed gives the same members.
    members : int
        How many, a multiple of a block.
    """
    here = at_pad(case)
    drawn = factors(here)
    u = draws.many_points(seed, members, dimensions(drawn))
    return holds(here, draws.values(here, drawn, u), members)


def low_hold(case: Case, wanted: float = 0.99, seed: int = 1) -> float:
    """Return what the joint holds on its low side [N]: so much or more in the wanted share.

    Parameters
    ----------
    case : Case
        With its spreads.
    wanted : float
        Share of the joints that hold at least so much.
    seed : int
        Of the members.
    """
    return float(np.quantile(joint_holds(case, seed), 1.0 - wanted))
