"""One run: phase after phase, from the spark to the taut cord."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from baypulse.engine import gasside
from baypulse.engine import layout as at
from baypulse.engine.ensemble import GAS_STEP, run_phase
from baypulse.engine.event import EventCode
from baypulse.engine.observe import SEEN, observe_points
from baypulse.engine.parameters import Parameters, pack, unpacked
from baypulse.engine.phases import apply_event
from baypulse.engine.rates import FORCES
from baypulse.engine.status import MOST_EVENTS, Status
from baypulse.engine.stepper import Outcome, workspace
from baypulse.engine.workspace import WORK
from baypulse.physics.plain import add_work, plain_turn

STATUS_OF = {
    Outcome.DONE: Status.TIME_END,
    Outcome.STALLED: Status.STALLED,
    Outcome.LOST: Status.LOST,
}
"""Status of a run whose last phase did not end at an event."""

GAS_FLOWS = (EventCode.START, EventCode.BURST, EventCode.MERGE)
"""Events at which gas begins to flow through an opening."""

EVENT_WORK = 30
"""Evaluations of the rates that take as long as to hand an event over."""

ROOM = 4096
"""Points that are kept before they are taken away."""

FIRST_STEP = 1e-6
"""First step to try [s]."""

NEXT_STEP = 5e-5
"""Longest first step of a later phase [s], which may be faster than the one before."""


@dataclass
class Phase:
    """A stretch of time with one set of modes: its points and where it ended."""

    times: np.ndarray
    states: np.ndarray
    modes: np.ndarray
    memory: np.ndarray


@dataclass
class Track:
    """Everything a run has computed.

    Attributes
    ----------
    status : Status
        How it ended.
    phases : list of Phase
        In order; each begins with the point at which the last one ended.
    events : list of (float, int)
        Time [s] and index of every event, in order.
    steps : int
        Steps tried.
    """

    status: Status = Status.TIME_END
    phases: list[Phase] = field(default_factory=list)
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


Advance = Callable[..., tuple[int, int, float, float, int, int]]


def integrate(
    P: Parameters, end_time: float, tolerance: float, advance: Advance = run_phase
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
    advance : callable
        Driver within a phase; the compiled one unless a test brings another.

    Returns
    -------
    Track
        Always, whatever went wrong: ``status`` says.
    """
    record = pack(P)
    w = workspace(record, P.state_size, ROOM)
    at.begin(record, w.state, w.modes)
    at.state_scale(record, w.scale)
    track = Track()
    t, h = 0.0, FIRST_STEP
    while True:
        start, begun = t, w.state.copy()
        outcome, event, t, h, kept, steps = advance(t, end_time, h, tolerance, record, w)
        track.steps += steps
        track.phases.append(
            Phase(
                np.concatenate(([start], w.times[:kept])),
                np.concatenate((begun[None], w.states[:kept])),
                w.modes.copy(),
                w.memory.copy(),
            )
        )
        if outcome == Outcome.FULL:
            continue
        if outcome != Outcome.EVENT:
            track.status = STATUS_OF[Outcome(outcome)]
            return track
        track.events.append((t, event))
        w.method[WORK] += EVENT_WORK
        if len(track.events) > MOST_EVENTS:
            track.status = Status.RESTLESS
            return track
        if apply_event(event, w.state, w.modes, w.memory, record, w.force):
            track.status = Status.FINISHED
            return track
        h = min(h, GAS_STEP if event in GAS_FLOWS else NEXT_STEP)


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
