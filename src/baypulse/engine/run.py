"""One run: phase after phase, from the spark to the taut cord."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np

from baypulse.engine import gasside, stepper, summits
from baypulse.engine import layout as at
from baypulse.engine.event import EventCode
from baypulse.engine.observe import SEEN, observe_phase
from baypulse.engine.parameters import Parameters, pack
from baypulse.engine.phases import apply_event
from baypulse.engine.rates import FORCES

FINISHED, TIME_END, STALLED, LOST, RESTLESS = (
    "finished", "end time", "step too small", "not a number", "too many events",
)  # fmt: skip
"""Statuses of a run; the first two are good ends."""

MESSAGES = {
    FINISHED: "The run came to its end: nothing of interest can follow.",
    TIME_END: "The run reached its end time; raise run.end_time to see what follows.",
    STALLED: "The solver had to stop early because its step became too small; what it has is "
    "kept. Look at the last event, and try a looser run.tolerance.",
    LOST: "The solver had to stop early because the state became impossible; what it has is "
    "kept. Check the volumes and the charge.",
    RESTLESS: "The solver had to stop early because the joint kept starting and stopping; "
    "what it has is kept. Check the friction.",
}
"""Each status as a sentence."""

MOST_EVENTS = 20_000
"""A nose that creeps against its pins slips and stops a thousand times a second."""
MOST_STEPS = 300_000
"""Steps after which a run is given up, before it fills the memory with its points."""
GAS_FLOWS = (EventCode.START, EventCode.BURST, EventCode.MERGE)
"""Events at which gas begins to flow through an opening."""
FIRST_STEP, GAS_STEP, NEXT_STEP = 1e-6, 1e-5, 5e-5
"""First step to try, and longest to begin a later phase with [s], which may be faster; shorter
where gas begins to flow, whose first layer is too thin for the estimate of an error."""


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
    status : str
        One of the five statuses.
    phases : list of Phase
        In order; each begins with the point at which the last one ended.
    events : list of (float, int)
        Time [s] and index of every event, in order.
    steps : int
        Steps tried.
    """

    status: str = TIME_END
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
    P: Parameters, end_time: float, tolerance: float, advance: Advance = stepper.advance
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
        Driver within a phase; the compiled stepper unless a test brings another.

    Returns
    -------
    Track
        Always, whatever went wrong: ``status`` says.
    """
    record = pack(P)
    y, scale = np.empty(P.state_size), np.empty(P.state_size)
    modes = np.empty(at.PINS + P.pin_strength.size, dtype=np.int64)
    memory = np.zeros(at.MEMORY)
    at.begin(record, y, modes)
    at.state_scale(record, scale)
    work = np.empty((P.volume.size, gasside.WORK))
    force = np.empty(FORCES)
    times = np.empty(4096)
    states = np.empty((times.size, y.size))
    desk, gs = np.empty((stepper.DESK, y.size)), np.empty((stepper.G_ROWS, P.event_count))
    highs = np.zeros(summits.HIGHS)
    track = Track()
    t, h = 0.0, FIRST_STEP
    while True:
        start, begun = t, y.copy()
        outcome, event, t, h, kept, steps = advance(
            t, end_time, h, y, modes, memory, record, tolerance, scale, work, force, times, states,
            desk, gs, highs,
        )  # fmt: skip
        track.steps += steps
        track.phases.append(
            Phase(
                np.concatenate(([start], times[:kept])),
                np.concatenate((begun[None], states[:kept])),
                modes.copy(),
                memory.copy(),
            )
        )
        if track.steps > MOST_STEPS:
            track.status = STALLED
            return track
        if outcome == stepper.FULL:
            continue
        if outcome != stepper.EVENT:
            track.status = {
                stepper.DONE: TIME_END, stepper.STALLED: STALLED, stepper.LOST: LOST
            }[outcome]  # fmt: skip
            return track
        track.events.append((t, event))
        if len(track.events) > MOST_EVENTS:
            track.status = RESTLESS
            return track
        if apply_event(event, y, modes, memory, record, force):
            track.status = FINISHED
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
    n = sum(phase.times.size for phase in track.phases)
    seen = Observed(
        np.concatenate([phase.times for phase in track.phases]),
        np.concatenate([phase.states for phase in track.phases]),
        np.empty((n, P.volume.size, SEEN)),
        np.empty((n, FORCES)),
        np.empty((n, P.opening_area.size)),
        np.empty((n, P.surface_area.size)),
    )
    record = pack(P)
    work, dy = np.empty((P.volume.size, gasside.WORK)), np.empty(P.state_size)
    first = 0
    for phase in track.phases:
        part = slice(first, first + phase.times.size)
        observe_phase(
            phase.times, phase.states, phase.modes, phase.memory, record, seen.volumes[part],
            seen.forces[part], seen.flows[part], seen.skins[part], work, dy,
        )  # fmt: skip
        first = part.stop
    return seen
