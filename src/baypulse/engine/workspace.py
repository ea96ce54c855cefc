"""The arrays that a run works on, made once and handed about as one."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

STAGES = 7
"""Rates that a step takes (:mod:`baypulse.engine.runge_kutta`)."""

EXPLICIT_WORK = STAGES - 1
"""Rates that a step has to evaluate: the first is the last of the step before."""

STABILISED_WORK = 10
"""The same of a step of :mod:`baypulse.engine.stabilised`."""

IMPLICIT_STAGES = 6
"""Stages of an implicit step (:mod:`baypulse.engine.rosenbrock`)."""

EXPLICIT = 0
"""The steps are those of :mod:`baypulse.engine.runge_kutta`."""
STABILISED = 1
"""The steps are those of :mod:`baypulse.engine.stabilised`."""
IMPLICIT = 2
"""The steps are those of :mod:`baypulse.engine.rosenbrock`."""

KIND = 0
"""Of the method: explicit, stabilised or implicit."""
TRIED = 1
"""Of the method: steps of the run so far."""
HINTS = 2
"""Of the method: hints so far that the run is stiff."""
WORK = 3
"""Of the method: work of the run so far, in evaluations of the rates."""
PAUSE = 4
"""Of the method: explicit steps until a run that left the implicit ones is asked again."""
SIGNS = 5
"""Of the method: signs so far that the explicit steps of the phase are held up."""
NOTED = 6
"""Of the method, though it says nothing of it: rows of the course so far."""
METHOD = 7
"""How many numbers say which method is at work."""

AT_EVENT, SHARE, WHOLE, SLOPE, LOW, HIGH, HOW, SPENT, AIM = range(9)
"""Of a step that is to end at an event: which one, or -1 where none is; its share of the whole step
that went over the event, and the length of that [s]; how steeply the event's function rises there;
the shares between which the event lies; how it is looked at
(:mod:`baypulse.engine.event_search`); and the work of the run before; how many numbers these
are."""

CAME = 5
"""How many numbers say how a phase ended."""

PHASES = 32
"""Phases that a run whose points are kept goes on for before it comes back."""


class Workspace(NamedTuple):
    """Where one run stands, and what the stepper writes on.

    Attributes
    ----------
    state : ndarray, shape (n_state,)
        :mod:`baypulse.engine.layout`.
    modes : ndarray of int, shape (PINS + n_pins,)
        Which phase each part is in.
    memory : ndarray, shape (MEMORY,)
        What earlier phases left behind.
    scale : ndarray, shape (n_state,)
        Sizes below which errors are absolute (:func:`baypulse.engine.layout.state_scale`).
    work : ndarray, shape (n_volumes, WORK)
        Table of the gas (:mod:`baypulse.engine.gasside`).
    force : ndarray, shape (FORCES,)
        Table of the forces (:mod:`baypulse.engine.rates`).
    rates, trial : ndarray, shape (STAGES, n_state)
        Rates of a step, and of steps tried within it.
    end, point : ndarray, shape (n_state,)
        States at the end of a step, and within it.
    before, after, within : ndarray, shape (n_events,)
        Event functions at the begin of a step, at its end, and at a point of it.
    times, states : ndarray, shapes (n,), (n, n_state)
        Points that are kept. With no room at all (n = 0) none are, events are looked for at the
        ends of steps, and steps may be of any length: the way of ensembles.
    highs : ndarray, shape (HIGHS,)
        What the run reaches at most (:mod:`baypulse.engine.summits`); only where no points are
        kept.
    method : ndarray of int, shape (METHOD,)
        Which kind of step is at work, and what speaks for the other.
    pace : ndarray, shape (1,)
        Longest explicit step that was stable when others took over [s].
    jacobian : ndarray, shape (n, n_state)
        How the rates change with each of the n states on which others depend.
    factors, pivots : ndarray, shapes (n, n) and (n,)
        Factorised matrix of an implicit step, and its exchanged rows.
    stages, solution : ndarray, shapes (IMPLICIT_STAGES, n_state) and (n,)
        Stages of an implicit step, and what one of them is solved in.
    came : ndarray of int, shape (PHASES, CAME)
        Of each phase of a run whose points are kept: outcome, event, points and steps
        (:func:`baypulse.engine.stepper.advance`), and how the run stands then, as a member does.
    late : ndarray, shape (STAGES, n_state, LANES)
        Rates of a step that was taken with those of others (:mod:`baypulse.engine.side_by_side`).
    lane : ndarray of int, shape (1,)
        Its lane, as long as only the first and the last rates are in place; -1 otherwise.
    aim : ndarray, shape (AIM,)
        Of a step that is to end at an event, and is taken side by side with others.
    course : ndarray, shape (n, COURSE)
        Room for what is seen of a member (:mod:`baypulse.engine.course`); for nothing (n = 0) where
        nobody asks for that.
    """

    state: np.ndarray
    modes: np.ndarray
    memory: np.ndarray
    scale: np.ndarray
    work: np.ndarray
    force: np.ndarray
    rates: np.ndarray
    trial: np.ndarray
    end: np.ndarray
    point: np.ndarray
    before: np.ndarray
    after: np.ndarray
    within: np.ndarray
    times: np.ndarray
    states: np.ndarray
    highs: np.ndarray
    method: np.ndarray
    pace: np.ndarray
    jacobian: np.ndarray
    factors: np.ndarray
    pivots: np.ndarray
    stages: np.ndarray
    solution: np.ndarray
    came: np.ndarray
    late: np.ndarray
    lane: np.ndarray
    aim: np.ndarray
    course: np.ndarray
