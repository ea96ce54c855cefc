"""The arrays that a run works on, made once and handed about as one."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

STAGES = 7
"""Rates that a step takes (:mod:`baypulse.engine.runge_kutta`)."""


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
