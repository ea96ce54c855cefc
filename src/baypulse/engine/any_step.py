"""One step of the kind that is at work."""

from __future__ import annotations

import numpy as np

from baypulse.engine.rosenbrock import implicit_step
from baypulse.engine.runge_kutta import stage_steps
from baypulse.engine.stabilised import stabilised_step
from baypulse.engine.workspace import (
    EXPLICIT,
    EXPLICIT_WORK,
    KIND,
    STABILISED,
    STABILISED_WORK,
    WORK,
    Workspace,
)
from baypulse.physics.compiled import compiled


@compiled
def take_step(
    t: float, h: float, P: np.record, w: Workspace, k: np.ndarray, out: np.ndarray
) -> None:
    """Take one step of the kind that is at work, with the rates k; write its end into out."""
    if w.method[KIND] == EXPLICIT:
        w.method[WORK] += EXPLICIT_WORK
        stage_steps(t, h, P, w, k, out)
    elif w.method[KIND] == STABILISED:
        w.method[WORK] += STABILISED_WORK
        stabilised_step(t, h, P, w, k, out)
    else:
        implicit_step(t, h, P, w, k, out)
