"""One run: phase after phase, from the spark to the taut cord."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np

from baypulse.engine import gasside
from baypulse.engine import layout as at
from baypulse.engine.ensemble import Advance, PhasePart, one_phase, run_phases
from baypulse.engine.member import OVER, WAITS
from baypulse.engine.observe import SEEN, observe_points
from baypulse.engine.one_by_one import take_event
from baypulse.engine.parameters import Parameters, pack, unpacked
from baypulse.engine.rates import FORCES
from baypulse.engine.status import MOST_EVENTS, Status
from baypulse.engine.stepper import Outcome, workspace
from baypulse.physics.plain import add_work, plain_turn

STATUS_OF = {
    Outcome.DONE: Status.TIME_END,
    Outcome.STALLED: Status.STALLED,
    Outcome.LOST: Status.LOST,
}
"""Status of a run whose last phase did not end at an event."""

ROOM = 4096
"""Points of a phase that are kept before they are taken away."""

FIRST_STEP = 1e-6
"""First step to try [s]."""


@dataclass
class Track:
    """Everything a run has computed.

    Attributes
    ----------
    status : Status
        How it ended.
    phases : list of PhasePart
        In order; each begins with the point at which the last one ended.
    events : list of (float, int)
        Time [s] and index of every event, in order.
    steps : int
        Steps tried.
    """

    status: Status = Status.TIME_END
    phases: list[PhasePart] = field(default_factory=list)
    events: list[tuple[float, int]] = field(default_factory=list)
    steps: int = 0


@dataclass
class Observed:
    """Tables of a run, one row a point of time; both sides of a jump are kept.

    Attributes
    ----------
    times : ndarray, shape (n,)
        [s].
    states : ndarray, shape (n, n_state)
        :mod:`baypulse.engine.layout`.
    volumes : ndarray, shape (n, n_volumes, 6)
        p [Pa], dp/dt [Pa/s], T1, T2 [K], V2, gas volume [m^3].
    forces : ndarray, shape (n, 11)
        [N], in the order of :mod:`baypulse.engine.rates`.
    flows : ndarray, shape (n, n_openings)
        Mass flow [kg/s].
    skins : ndarray, shape (n, n_surfaces)
        Skin temperatures [K].
    """

    times: np.ndarray
    states: np.ndarray
    volumes: np.ndarray
    forces: np.ndarray
    flows: np.ndarray
    skins: np.ndarray


def integrate(
    P: Parameters, end_time: float, tolerance: float, advance: Advance | None = None
) -> Track:
    """Run one shot.

    Parameters
    ----------
    P : Parameters
        The shot.
    end_time : float
        Longest time [s].
    tolerance : float
        Relative tolerance of a step, 1e-11 to 1e-3.
    advance : callable, optional
        Driver within a phase that a test brings; compiled code goes over several.

    Returns
    -------
    Track
        Always, whatever went wrong: ``status`` says.
    """
    record = pack(P)
    w = workspace(record, P.state_size, 2 * ROOM)
    at.begin(record, w.state, w.modes)
    at.state_scale(record, w.scale)
    track = Track()
    clock = np.array([0.0, FIRST_STEP])
    while True:
        if advance is None:
            parts = run_phases(clock, end_time, tolerance, record, w)
        else:
            parts = [one_phase(advance, clock, end_time, tolerance, record, w)]
        for part in parts:
            track.steps += part.steps
            track.phases.append(part)
            if part.outcome == Outcome.FULL:
                break
            if part.outcome != Outcome.EVENT:
                track.status = STATUS_OF[Outcome(part.outcome)]
                return track
            track.events.append((float(part.times[-1]), part.event))
            if len(track.events) > MOST_EVENTS:
                track.status = Status.RESTLESS
                return track
            stands = part.stands
            if stands == WAITS:
                stands = take_event(
                    part.event, clock, w.state, w.modes, w.memory, record, w.force, w.method
                )
            if stands == OVER:
                track.status = Status.FINISHED
                return track


def observe(track: Track, P: Parameters) -> Observed:
    """Compute what can be seen at every point of a run.

    Parameters
    ----------
    track : Track
        A run, finished or not.
    P : Parameters
        The shot it was made from.

    Returns
    -------
    Observed
        One row a point.
    """
    sizes = [phase.times.size for phase in track.phases]
    n = sum(sizes)
    seen = Observed(
        np.concatenate([phase.times for phase in track.phases]),
        np.concatenate([phase.states for phase in track.phases]),
        np.empty((n, P.volume.size, SEEN)),
        np.empty((n, FORCES)),
        np.empty((n, P.opening_area.size)),
        np.empty((n, P.surface_area.size)),
    )
    record = pack(P)
    with plain_turn() as plain:
        shot: Any = unpacked(record) if plain else record
        observe_points(
            seen.times, seen.states, np.repeat(np.arange(len(sizes)), sizes),
            np.stack([phase.modes for phase in track.phases]),
            np.stack([phase.memory for phase in track.phases]), shot, seen.volumes, seen.forces,
            seen.flows, seen.skins, np.empty((P.volume.size, gasside.WORK)), np.empty(P.state_size),
        )  # fmt: skip
        add_work(n if plain else 0)
    return seen
