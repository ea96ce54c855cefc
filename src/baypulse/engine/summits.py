"""What a run reaches at most, noted step by step without keeping its points."""

from __future__ import annotations

import numpy as np

from baypulse.engine import gasside
from baypulse.engine import layout as at
from baypulse.physics.compiled import compiled

(
    HIGH_PRESSURE, HIGH_PRESSURE_TIME, HIGH_ELECTRONICS, HIGH_SUCTION, HIGH_CORD, HIGH_CORD_TIME,
    HIGH_TRAVEL, HIGH_VELOCITY, BEGIN_P, BEGIN_DP, BEGIN_P_ELECTRONICS, BEGIN_DP_ELECTRONICS,
    BEGIN_P_BACK, BEGIN_DP_BACK,
) = range(14)  # fmt: skip
HIGHS = 14
"""Places of what a run reaches at most, and of pressure and its rate at the begin of the step."""


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
def note_pressures(t: float, h: float, P: np.record, work: np.ndarray, highs: np.ndarray) -> None:
    """Note the pressures that are higher than ever in a step that ends as the tables say."""
    p, dp = work[P.bay, gasside.P_], work[P.bay, gasside.DP]
    high, after = summit(h, highs[BEGIN_P], highs[BEGIN_DP], p, dp)
    if P.back >= 0:
        p, dp = work[P.back, gasside.P_], work[P.back, gasside.DP]
        behind, later = summit(h, highs[BEGIN_P_BACK], highs[BEGIN_DP_BACK], p, dp)
        if behind > high:
            high, after = behind, later
    if high - P.p_ambient > highs[HIGH_PRESSURE]:
        highs[HIGH_PRESSURE], highs[HIGH_PRESSURE_TIME] = high - P.p_ambient, t + after
    if P.electronics >= 0:
        p, dp = work[P.electronics, gasside.P_], work[P.electronics, gasside.DP]
        p0, dp0 = highs[BEGIN_P_ELECTRONICS], highs[BEGIN_DP_ELECTRONICS]
        high, _ = summit(h, p0, dp0, p, dp)
        highs[HIGH_ELECTRONICS] = max(highs[HIGH_ELECTRONICS], high - P.p_ambient)
        # the lowest is the highest of the negative
        deep, _ = summit(h, -p0, -dp0, -p, -dp)
        highs[HIGH_SUCTION] = max(highs[HIGH_SUCTION], deep + P.p_ambient)
    begin_highs(P, work, highs)


@compiled
def turn(h: float, v0: float, a0: float, v1: float, a1: float) -> float:
    """Return the share of a step at which a speed, positive at both ends, was least and below 0.

    1.0 where it never was.
    """
    back, after = summit(h, -v0, -a0, -v1, -a1)
    return after / h if back > 0.0 and v0 >= 0.0 and v1 > 0.0 else 1.0


@compiled
def turning(
    h: float, y: np.ndarray, end: np.ndarray, modes: np.ndarray, P: np.record, k: np.ndarray
) -> float:
    """Return the share of a step at which a moving body has turned back for a while.

    A nose that creeps against its pins comes to rest for a moment. At both ends of a step across
    it the body moves on, and the friction that would have held it is missed. 1.0 where none turns.
    """
    a, b = k[0], k[k.shape[0] - 1]
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
