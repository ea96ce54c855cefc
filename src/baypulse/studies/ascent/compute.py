"""What trapped air and drag do to a closed joint during the ascent."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from baypulse.case.casefile.joint_retention import hold
from baypulse.case.logs.air import altitudes
from baypulse.case.model import Case
from baypulse.engine.slow import Network
from baypulse.observed.climb import Climb, climb, joint_holds, pad_network
from baypulse.observed.flight_profile import Profile
from baypulse.observed.same_day import at_pad

SURE = 2.0
"""Standard deviations of a speed that a joint must bear for the log to say that it holds."""


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
    undecided : bool
        Whether a log's speed is so unsure that it tells neither that the joint holds nor that it
        comes apart.
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
    undecided: bool

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
    worst, low = with_openings.worst, float(np.quantile(held, 1.0 - wanted))
    unsure = _unsure(profile)
    drawn = 1.0 + unsure[worst] * draws_of_speed(seed, held.size)
    force = with_openings.force[worst] * np.maximum(drawn, 0.0) ** 2
    return AscentResult(
        case=case,
        wanted=wanted,
        seed=seed,
        climb=with_openings,
        sealed=climb(case, profile, sealed(network)),
        held=hold(at_pad(case)),
        low=low,
        parts=float((held < force).mean()),
        lag=_lag(with_openings),
        undecided=_undecided(with_openings, unsure, low),
    )


def draws_of_speed(seed: int, members: int) -> np.ndarray:
    """Return the error of a logged speed in so many members, in standard deviations.

    Parameters
    ----------
    seed : int
        The same seed gives the same errors.
    members : int
        How many.
    """
    return np.random.default_rng(seed).standard_normal(members)


def _unsure(profile: Profile) -> np.ndarray:
    """Return the standard deviation of the speed as a share of it, shape (n,)."""
    if profile.speed_error is None:
        return np.zeros(profile.time.size)
    least = 0.1 * float(profile.speed[profile.burnout])
    return np.asarray(profile.speed_error / np.maximum(np.abs(profile.speed), least))


def _undecided(climb: Climb, unsure: np.ndarray, low: float) -> bool:
    """Tell whether what a log leaves open decides.

    Drag goes with the square of the speed, and the air that is trapped with the speed, so that a
    square is on the safe side. Where the log is sure, what pulls there alone may decide already.
    """
    profile = climb.profile
    up = slice(0, profile.apogee + 1)
    doubtful, force = profile.doubtful[up], climb.force[up]
    if not doubtful.any():
        return False
    surely = float(force[~doubtful].max(initial=0.0))
    possibly = force[doubtful] * (1.0 + SURE * unsure[up][doubtful]) ** 2
    return surely < low <= float(possibly.max())


def _lag(climb: Climb) -> float | None:
    """Return by how much the electronics bay lags in altitude at most during the ascent [m]."""
    if climb.still.pressure.shape[1] < 2:
        return None
    up = slice(0, climb.profile.apogee + 1)
    inside = climb.still.pressure[up, 1]
    return float((altitudes(climb.profile.pressure[up]) - altitudes(inside)).max())
