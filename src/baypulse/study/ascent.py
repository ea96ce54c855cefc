"""What trapped air and drag do to a closed joint during the ascent."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from baypulse import geometry, params
from baypulse.casefile.holds import hold
from baypulse.engine.slow import Network, Still, follow
from baypulse.logs.air import altitudes
from baypulse.model import Case
from baypulse.study import draws
from baypulse.study.factors import dimensions, factors
from baypulse.study.joints import holds
from baypulse.study.profiles import Profile, at_pad

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


def sealed(network: Network) -> Network:
    """Return a network without any opening."""
    none = np.zeros(0, dtype=np.int64)
    return network._replace(
        opening_from=none, opening_to=none, opening_area=np.zeros(0), opening_slot=np.zeros((0, 3))
    )


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


@dataclass(frozen=True)
class Ascent:
    """A bay in its ascent.

    Attributes
    ----------
    case : Case
        The bay.
    wanted : float
        Share of the joints that hold at least the low side of the hold.
    seed : int
        Of the members behind it.
    climb : Climb
        With the openings of the case.
    sealed : Climb
        The same bay without any opening.
    held, low : float
        What holds the joint, nominal and low side [N].
    parts : float
        Share of the joints that come apart.
    lag : float or None
        By how much an altimeter in the electronics bay shows too low an altitude at most [m];
        None without an electronics bay.
    """

    case: Case
    wanted: float
    seed: int
    climb: Climb
    sealed: Climb
    held: float
    low: float
    parts: float
    lag: float | None

    @property
    def name(self) -> str:
        """Of the case."""
        return self.case.name

    @property
    def force(self) -> float:
        """Greatest force that pulls the joint apart during the ascent [N]."""
        return float(self.climb.force[self.climb.worst])

    @property
    def margin(self) -> float:
        """Low side of the hold over the greatest force; infinite where nothing pulls."""
        return self.low / self.force if self.force > 0.0 else float("inf")


def ascent(case: Case, profile: Profile, *, wanted: float = 0.99, seed: int = 1) -> Ascent:
    """Hold trapped air and drag against what holds a joint during the ascent.

    Parameters
    ----------
    case : Case
        The bay, with its spreads.
    profile : Profile
        The flight.
    wanted : float
        Share of the joints that hold at least the low side of the hold.
    seed : int
        Of the members behind it.
    """
    network = pad_network(case)
    with_openings = climb(case, profile, network)
    held = joint_holds(case, seed)
    force = with_openings.force[with_openings.worst]
    return Ascent(
        case=case,
        wanted=wanted,
        seed=seed,
        climb=with_openings,
        sealed=climb(case, profile, sealed(network)),
        held=hold(at_pad(case)),
        low=float(np.quantile(held, 1.0 - wanted)),
        parts=float((held < force).mean()),
        lag=_lag(with_openings),
    )


def _lag(climb: Climb) -> float | None:
    """Return by how much the electronics bay lags in altitude at most during the ascent [m]."""
    if climb.still.pressure.shape[1] < 2:
        return None
    up = slice(0, climb.profile.apogee + 1)
    inside = climb.still.pressure[up, 1]
    return float((altitudes(climb.profile.pressure[up]) - altitudes(inside)).max())
