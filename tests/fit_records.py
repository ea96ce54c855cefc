"""Invented records of invented shots, for the tests of ``baypulse fit``.

The shot is run through ``simulate`` at a tight tolerance; the gauge's lag is put on by small steps
of its own equation, so that neither is the fit's own way.

``PYTHONPATH=src python tests/fit_records.py`` makes the records in ``cases/logs`` anew.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np

from baypulse.case.casefile import read, reads
from baypulse.case.model import Case
from baypulse.members.draws import member_case
from baypulse.run.simulation import simulate
from quick_bays import QUICK

TEXT = QUICK.replace("1.00 g", "0.60 g")
"""The case of the shot."""

TRUTH = {"bay.entrainment": 0.3, "powder.burnable_fraction": 0.8, "powder.rate_factor": 1.4}
LAG, ZERO, FIRED, NOISE = 1.2e-3, 900.0, 0.5, 0.01

CASES = Path(__file__).parents[1] / "cases"
LOGGED = {"bay.entrainment": 0.35, "powder.burnable_fraction": 0.85, "powder.rate_factor": 1.3}
"""Truth of the record that is shipped."""

LOG_HEAD = (
    "# Invented: a gauge in the bay of cases/bench-76.toml, 5,000 readings a second, in a shot of "
    "the model with noise\ntime (s),pressure (psig)"
)


@cache
def case(text: str = TEXT) -> Case:
    """Return the case as its owner knows it."""
    return reads(text, "bench", "bench.toml")


def fired(known: Case, truth: dict[str, float]) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return time [s], gauge pressure [Pa] and travel [m] of a shot as it really was."""
    real = member_case(known, truth)
    result = simulate(replace(real, run=replace(real.run, tolerance=1e-9)))
    travel = result.curves["travel"].values
    return result.time, np.asarray(result.gauge_pressure), travel


@cache
def shot(text: str = TEXT) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return time [s], gauge pressure [Pa] and travel [m] of the shot as it really was."""
    return fired(case(text), TRUTH)


def shown(time: np.ndarray, pressure: np.ndarray, at: np.ndarray, lag: float) -> np.ndarray:
    """Return what a gauge with a lag shows [Pa] at some times [s] after the firing current."""
    step = 1e-5
    fine = np.arange(0.0, at[-1] + step, step)
    there = np.interp(fine, time, pressure)
    gauge = np.zeros_like(there)
    for k in range(1, fine.size):
        middle = 0.5 * (there[k] + there[k - 1])
        rate = 0.5 * step / lag
        gauge[k] = (gauge[k - 1] * (1.0 - rate) + 2.0 * rate * middle) / (1.0 + rate)
    return np.interp(at, fine, gauge, left=0.0)


@cache
def trace(
    points: int = 400, noise: float = NOISE, seed: int = 4, text: str = TEXT
) -> tuple[np.ndarray, np.ndarray]:
    """Return time [s] and what a gauge shows [Pa], gauge."""
    time, pressure, _ = shot(text)
    at = np.linspace(-0.02, 0.09, points)
    values = shown(time, pressure, at, LAG)
    values += ZERO + noise * values.max() * np.random.default_rng(seed).normal(size=points)
    return at + FIRED, values


def csv(time: np.ndarray, values: np.ndarray, head: str = "time (s),pressure (psig)",
        unit: float = 6894.757293168361) -> str:  # fmt: skip
    """Return a record as the text of a file."""
    rows = [f"{t:.6f},{v / unit:.5f}" for t, v in zip(time, values, strict=True)]
    return "\n".join([head, *rows]) + "\n"


def log() -> str:
    """Return the text of the record that is shipped."""
    time, pressure, _ = fired(read(CASES / "bench-76.toml"), LOGGED)
    at = np.arange(-0.02, 0.18, 2e-4)
    values = shown(time, pressure, at, 1e-3)
    # a gauge of 30 psi that is good to 1 % of its range, and does not quite rest at nothing
    values += 350.0 + 2e3 * np.random.default_rng(76).normal(size=at.size)
    return csv(at + FIRED, values, LOG_HEAD)


RATE = 500.0
"""Readings a second of an invented logger."""

ACCELERATION_HEAD = (
    "# Invented: a logger in the nose of cases/main-98.toml, {rate:.0f} readings a second, in a "
    "shot of the model with noise; each reading is a mean since the one before\n"
    "time (s),accel axial (g),pressure (hPa)"
)

LEAK, LEAK_LAG = 0.01, 8e-3
"""Share of the bay's pressure that its electronics bay shows, and the lag of that [s]."""

PARTED = {"bay.entrainment": 0.4, "powder.burnable_fraction": 0.8, "powder.rate_factor": 0.85}
"""Truth of the logger's shot."""


def logged(
    known: Case, truth: dict[str, float], section: str, rate: float = RATE, noise: float = 0.2,
    seed: int = 98,
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:  # fmt: skip
    """Return time [s], acceleration [m/s^2] and a barometer [Pa] of a logger in a section.

    A reading is the mean since the one before, from the way that the section has come.
    """
    real = member_case(known, truth)
    result = simulate(replace(real, run=replace(real.run, tolerance=1e-9)))
    curves = result.curves
    speed = curves[f"{section}_velocity"].values
    at = np.arange(-0.06, 0.12, 1.0 / rate)
    rng = np.random.default_rng(seed)
    means = np.diff(np.interp(at, result.time, speed)) * rate
    values = means + noise * rng.normal(size=means.size)
    leak = LEAK * shown(result.time, np.asarray(result.gauge_pressure), at[1:], LEAK_LAG)
    return at[1:], values, leak + 2.0 * rng.normal(size=leak.size)


def logger_file() -> str:
    """Return the text of the logger's record that is shipped."""
    time, values, leak = logged(read(CASES / "main-98.toml"), PARTED, "nose")
    rows = [
        f"{t + FIRED:.6f},{a / 9.80665:.4f},{(97_800.0 + p) / 100.0:.4f}"
        for t, a, p in zip(time, values, leak, strict=True)
    ]
    return "\n".join([ACCELERATION_HEAD.format(rate=RATE), *rows]) + "\n"


if __name__ == "__main__":
    (CASES / "logs" / "main-98-nose.csv").write_text(logger_file(), "utf-8")
    (CASES / "logs" / "bench-76-gauge.csv").write_text(log(), "utf-8")
