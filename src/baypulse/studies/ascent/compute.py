"""What trapped air and drag do to a closed joint during the ascent."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from baypulse.case.casefile.joint_retention import hold
from baypulse.case.logs.air import altitudes
from baypulse.case.model import Case
from baypulse.engine.slow import Network
from baypulse.observed.climb import Climb, climb, joint_holds, pad_network
from baypulse.observed.flight_profile import Profile, at_pad


def sealed(network: Network) -> Network:
    """Return a network without any opening."""
    none = np.zeros(0, dtype=np.int64)
    return network._replace(
        opening_from=none, opening_to=none, opening_area=np.zeros(0), opening_slot=np.zeros((0, 3))
    )


@dataclass(frozen=True)
class AscentResult:
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


def ascent(case: Case, profile: Profile, *, wanted: float = 0.99, seed: int = 1) -> AscentResult:
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
    return AscentResult(
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
