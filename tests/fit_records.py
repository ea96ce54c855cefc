"""Invented records of invented shots, for the tests of ``baypulse fit``.

The shot is run through ``simulate`` at a tight tolerance; the gauge's lag is put on by small steps
of its own equation, so that neither is the fit's own way.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np

from baypulse.casefile import reads
from baypulse.model import Case
from baypulse.simulation import simulate
from baypulse.study.draws import member_case
from report_cases import BENCH

TRUTH = {"bay.entrainment": 0.3, "powder.burnt_ceiling": 0.8, "powder.rate_factor": 1.4}
LAG, ZERO, FIRED, NOISE = 1.2e-3, 900.0, 0.5, 0.01


@cache
def case() -> Case:
    """Return the case as its owner knows it."""
    return reads(BENCH, "bench", "bench.toml")


@cache
def shot() -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return time [s], gauge pressure [Pa] and travel [m] of the shot as it really was."""
    real = member_case(case(), TRUTH)
    result = simulate(replace(real, run=replace(real.run, tolerance=1e-9)))
    travel = result.curves["travel"].values
    return result.time, np.asarray(result.gauge_pressure), travel


@cache
def trace(points: int = 400, noise: float = NOISE, seed: int = 4) -> tuple[np.ndarray, np.ndarray]:
    """Return time [s] and what a gauge shows [Pa], gauge."""
    time, pressure, _ = shot()
    step = 1e-5
    fine = np.arange(0.0, 0.12, step)
    there = np.interp(fine, time, pressure)
    shown = np.zeros_like(there)
    for k in range(1, fine.size):
        middle = 0.5 * (there[k] + there[k - 1])
        rate = 0.5 * step / LAG
        shown[k] = (shown[k - 1] * (1.0 - rate) + 2.0 * rate * middle) / (1.0 + rate)
    at = np.linspace(-0.02, 0.09, points)
    values = np.interp(at, fine, shown, left=0.0) + ZERO
    values += noise * shown.max() * np.random.default_rng(seed).normal(size=points)
    return at + FIRED, values


def csv(time: np.ndarray, values: np.ndarray, head: str = "time (s),pressure (psig)",
        unit: float = 6894.757293168361) -> str:  # fmt: skip
    """Return a record as the text of a file."""
    rows = [f"{t:.6f},{v / unit:.5f}" for t, v in zip(time, values, strict=True)]
    return "\n".join([head, *rows]) + "\n"
