"""From states back to what people can see: pressures, temperatures, flows and forces."""

from __future__ import annotations

import numpy as np

from baypulse.engine import gasside, walls
from baypulse.engine import layout as at
from baypulse.engine.rates import rates
from baypulse.physics.compiled import compiled

SEEN = 6
"""Columns kept of each volume: p, dp/dt, T1, T2, V2, gas volume."""


@compiled
def observe_points(
    times: np.ndarray, states: np.ndarray, phases: np.ndarray, modes: np.ndarray,
    memory: np.ndarray, P: np.record, volumes: np.ndarray, forces: np.ndarray, flows: np.ndarray,
    skins: np.ndarray, work: np.ndarray, dy: np.ndarray,
) -> None:  # fmt: skip
    """Fill the tables of a run.

    Parameters
    ----------
    times, states : ndarray, shapes (n,), (n, n_state)
        Points of the run.
    phases : ndarray of int, shape (n,)
        Which phase each point belongs to.
    modes, memory : ndarray
        Of each phase, one row each.
    P : np.record
        The shot.
    volumes, forces, flows, skins : ndarray
        Shapes (n, n_volumes, 6), (n, 11), (n, n_openings), (n, n_surfaces); written.
    work, dy : ndarray
        Overwritten: tables of the right-hand side.
    """
    for q in range(times.shape[0]):
        y, phase = states[q], phases[q]
        rates(times[q], y, modes[phase], memory[phase], P, work, forces[q], dy)
        for k in range(P.n_volumes):
            volumes[q, k, 0] = work[k, gasside.P_]
            volumes[q, k, 1] = work[k, gasside.DP]
            volumes[q, k, 2] = work[k, gasside.T1]
            volumes[q, k, 3] = work[k, gasside.T2]
            volumes[q, k, 4] = work[k, gasside.V2]
            volumes[q, k, 5] = work[k, gasside.V_GAS]
        for j in range(P.n_openings):
            i = P.openings_at + at.PER_OPENING * j
            flows[q, j] = dy[i + at.OUT_B] + dy[i + at.OUT_A]
        for j in range(P.n_surfaces):
            skins[q, j] = walls.skin_and_flux(j, y, P, work)[0]
