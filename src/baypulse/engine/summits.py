"""What a run reaches at most, noted step by step without keeping its points."""

from __future__ import annotations

import numpy as np

from baypulse.engine import gasside
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
