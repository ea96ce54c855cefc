"""What a run reaches at most, noted step by step without keeping its points."""

from __future__ import annotations

import numpy as np

from baypulse.engine import gasside
from baypulse.engine import layout as at
from baypulse.engine.rates import brake_force, cord_force, rates
from baypulse.engine.runge_kutta import fetch_rates, interpolate, interpolate_one
from baypulse.engine.workspace import Workspace
from baypulse.physics import cord
from baypulse.physics.compiled import compiled

HIGH_PRESSURE = 0
"""Highest gauge pressure of bay and space behind the contents [Pa]."""
HIGH_PRESSURE_TIME = 1
"""When that was [s]."""
HIGH_ELECTRONICS = 2
"""Highest gauge pressure in the electronics bay [Pa]."""
HIGH_SUCTION = 3
"""Deepest pressure in the electronics bay below the outside [Pa]."""
HIGH_CORD = 4
"""Highest load of the cord, its brake's or its own when taut [N]."""
HIGH_CORD_TIME = 5
"""When that was [s]."""
HIGH_TRAVEL = 6
"""Farthest travel of the shoulder [m]."""
HIGH_VELOCITY = 7
"""Highest separation velocity [m/s]."""
BEGIN_P = 8
"""Pressure of the bay at the begin of the step [Pa]."""
BEGIN_DP = 9
"""Its rate [Pa/s]."""
BEGIN_P_ELECTRONICS = 10
"""Pressure of the electronics bay at the begin of the step [Pa]."""
BEGIN_DP_ELECTRONICS = 11
"""Its rate [Pa/s]."""
BEGIN_P_BACK = 12
"""Pressure behind the contents at the begin of the step [Pa]."""
BEGIN_DP_BACK = 13
"""Its rate [Pa/s]."""
HIGHS = 14
"""How many of these a run keeps."""

CORD_POINTS = 32
"""Points of a step at which the load of the cord is looked at."""


@compiled
def summit(h: float, p0: float, dp0: float, p1: float, dp1: float) -> tuple[float, float]:
    """Return the highest value within a step, and when: of the cubic through both ends."""
    if not (dp0 > 0.0 > dp1):
        return (p1, h) if p1 >= p0 else (p0, 0.0)
    # slope of the Hermite cubic: dp0 + 2 b x + 3 a x^2 at x = theta h
    rise = (p1 - p0) / h
    b = 3.0 * rise - 2.0 * dp0 - dp1
    a = dp0 + dp1 - 2.0 * rise
    theta = dp0 / (np.sqrt(max(b * b - 3.0 * a * dp0, 0.0)) - b)
    theta = min(max(theta, 0.0), 1.0)
    return p0 + h * theta * (dp0 + theta * (b + theta * a)), theta * h


@compiled
def begin_highs(P: np.record, work: np.ndarray, highs: np.ndarray) -> None:
    """Keep the pressures from which the next step begins."""
    highs[BEGIN_P], highs[BEGIN_DP] = work[P.bay, gasside.P_], work[P.bay, gasside.DP]
    if P.back >= 0:
        highs[BEGIN_P_BACK] = work[P.back, gasside.P_]
        highs[BEGIN_DP_BACK] = work[P.back, gasside.DP]
    if P.electronics >= 0:
        highs[BEGIN_P_ELECTRONICS] = work[P.electronics, gasside.P_]
        highs[BEGIN_DP_ELECTRONICS] = work[P.electronics, gasside.DP]


@compiled
def highest_pressure(P: np.record, work: np.ndarray) -> float:
    """Return the pressure of the bay, or behind the contents where that is higher [Pa]."""
    p = work[P.bay, gasside.P_]
    return max(p, work[P.back, gasside.P_]) if P.back >= 0 else p


@compiled
def pressure_within(
    t: float, theta: float, h: float, y: np.ndarray, k: np.ndarray, P: np.record, w: Workspace
) -> float:
    """Return the pressure at a share of a step to y, with the rates k, by its interpolant [Pa].

    The tables are left as at the step's end.
    """
    point, rate = w.stages[0], w.stages[1]
    fetch_rates(w)
    interpolate(theta, h, w, k, point)
    rates(t + theta * h, point, w.modes, w.memory, P, w.work, w.force, rate)
    p = highest_pressure(P, w.work)
    rates(t + h, y, w.modes, w.memory, P, w.work, w.force, rate)
    return p


@compiled
def note_pressures(
    t: float, h: float, y: np.ndarray, k: np.ndarray, P: np.record, w: Workspace
) -> None:
    """Note the pressures that are higher than ever in a step to y that ends as the tables say."""
    work, highs = w.work, w.highs
    high, after = summit(
        h, highs[BEGIN_P], highs[BEGIN_DP], work[P.bay, gasside.P_], work[P.bay, gasside.DP]
    )
    if P.back >= 0:
        p, dp = work[P.back, gasside.P_], work[P.back, gasside.DP]
        behind, later = summit(h, highs[BEGIN_P_BACK], highs[BEGIN_DP_BACK], p, dp)
        if behind > high:
            high, after = behind, later
    if P.electronics >= 0:
        p, dp = work[P.electronics, gasside.P_], work[P.electronics, gasside.DP]
        p0, dp0 = highs[BEGIN_P_ELECTRONICS], highs[BEGIN_DP_ELECTRONICS]
        top, _ = summit(h, p0, dp0, p, dp)
        highs[HIGH_ELECTRONICS] = max(highs[HIGH_ELECTRONICS], top - P.p_ambient)
        # the lowest is the highest of the negative
        deep, _ = summit(h, -p0, -dp0, -p, -dp)
        highs[HIGH_SUCTION] = max(highs[HIGH_SUCTION], deep + P.p_ambient)
    begin_highs(P, work, highs)
    if high - P.p_ambient > highs[HIGH_PRESSURE]:
        if 0.0 < after < h:  # where the cubic says; how high, the rates say
            p = pressure_within(t, after / h, h, y, k, P, w)
            high = p if np.isfinite(p) else high
        highs[HIGH_PRESSURE], highs[HIGH_PRESSURE_TIME] = high - P.p_ambient, t + after


@compiled
def turn(h: float, v0: float, a0: float, v1: float, a1: float) -> float:
    """Return the share of a step at which a speed, positive at both ends, was least and below 0.

    1.0 where it never was.
    """
    back, after = summit(h, -v0, -a0, -v1, -a1)
    return after / h if back > 0.0 and v0 >= 0.0 and v1 > 0.0 else 1.0


@compiled
def turning(h: float, P: np.record, w: Workspace) -> float:
    """Return the share of a step at which a moving body has turned back for a while.

    A nose that creeps against its pins comes to rest for a moment. At both ends of a step across
    it the body moves on, and the friction that would have held it is missed. 1.0 where none turns.
    """
    y, end, modes = w.state, w.end, w.modes
    a, b = w.rates[0], w.rates[w.rates.shape[0] - 1]
    n, f, c = at.NOSE_V, at.FRAME_V, at.PACK_V
    joint, stand, nose, kind = modes[at.JOINT], modes[at.STAND], modes[at.NOSE], modes[at.CONTENTS]
    share = 1.0
    if joint == at.OUTWARD or joint == at.INWARD:
        share = turn(
            h, joint * (y[n] - y[f]), joint * (a[n] - a[f]), joint * (end[n] - end[f]),
            joint * (b[n] - b[f]),
        )  # fmt: skip
    elif joint == at.APART and P.ground_friction > 0.0:
        share = turn(h, nose * y[n], nose * a[n], nose * end[n], nose * b[n])
    if P.stand_friction > 0.0:
        share = min(share, turn(h, stand * y[f], stand * a[f], stand * end[f], stand * b[f]))
    if kind == at.RETREATING or (kind == at.SLIDING and modes[at.EMPTIED] != at.OUT):
        way = 1.0 if kind == at.SLIDING else -1.0
        slid = turn(
            h, way * (y[c] - y[f]), way * (a[c] - a[f]), way * (end[c] - end[f]),
            way * (b[c] - b[f]),
        )  # fmt: skip
        share = min(share, slid)
    return share


@compiled
def note_highs(
    t: float, h: float, y: np.ndarray, k: np.ndarray, P: np.record, w: Workspace
) -> None:
    """Note what is higher than ever within a step from the state to y, with the rates k."""
    start, modes, highs = w.state, w.modes, w.highs
    highs[HIGH_TRAVEL] = max(highs[HIGH_TRAVEL], y[at.NOSE_X] - y[at.FRAME_X])
    first, last = k[0], k[k.shape[0] - 1]
    speed, _ = summit(
        h, start[at.NOSE_V] - start[at.FRAME_V], first[at.NOSE_V] - first[at.FRAME_V],
        y[at.NOSE_V] - y[at.FRAME_V], last[at.NOSE_V] - last[at.FRAME_V],
    )  # fmt: skip
    highs[HIGH_VELOCITY] = max(highs[HIGH_VELOCITY], speed)
    if modes[at.GAS] != at.SPENT:
        note_pressures(t, h, y, k, P, w)
    if modes[at.BRAKE] % 2 == 1 and brake_force(modes, P) > highs[HIGH_CORD]:
        highs[HIGH_CORD], highs[HIGH_CORD_TIME] = brake_force(modes, P), t
    if modes[at.CORD] == cord.LOADING:
        fetch_rates(w)
        for q in range(1, CORD_POINTS + 1):
            theta = q / CORD_POINTS
            s = interpolate_one(theta, h, at.NOSE_X, w, k)
            s -= interpolate_one(theta, h, at.FRAME_X, w, k)
            speed = interpolate_one(theta, h, at.NOSE_V, w, k)
            speed -= interpolate_one(theta, h, at.FRAME_V, w, k)
            load = cord_force(s, speed, modes, w.memory, P)
            if load > highs[HIGH_CORD]:
                highs[HIGH_CORD], highs[HIGH_CORD_TIME] = load, t + theta * h
