"""What the cords of recorded separations must have been: length and jerk by the engine's cord law.

Two free bodies part at the measured speed until the cord is taut; then the cord's law
(:mod:`baypulse.physics.cord`) stops them. The packed contents, which take some of the pull, are
left out. What cord it was is not known: nylon of the library, each number with its spread.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache

import numpy as np
from scipy.integrate import solve_ivp
from scipy.optimize import brentq
from scipy.stats import norm, qmc

from baypulse.case import library
from baypulse.case.library import address, fact
from baypulse.physics.cord import damped_force, loading_force

NUMBERS = ("break_load", "break_elongation", "exponent", "damping_ratio")

DRAWS = 16
"""Cords of each kind, a power of two."""


@dataclass(frozen=True)
class Jerk:
    """A cord's jerk, as logged.

    Attributes
    ----------
    name : str
        Of the record.
    speed : tuple of float
        Relative speed of the pieces, least and greatest [m/s].
    masses : tuple of float
        Of the aft and of the forward piece [kg].
    delay : float
        From first motion to the greatest pull [s].
    push, travel, apart : float
        Length of the push [s], travel in it [m], and how far apart the anchors are before [m].
    load : tuple of float
        Mass times greatest acceleration, by the readings there are [N].
    """

    name: str
    speed: tuple[float, float]
    masses: tuple[float, float]
    delay: float
    push: float
    travel: float
    apart: float
    load: tuple[float, float]

    @property
    def reduced(self) -> float:
        """Reduced mass [kg]."""
        aft, forward = self.masses
        return aft * forward / (aft + forward)


G = 9.80665

JERKS = (
    # records.md's figures of the logs: 12.7 g on 6.5 kg, 9.7 g on 9.2 kg; along the axis alone
    # 10.6 and 8.5 g. The pull is greatest at 0.945 s (aft) and 0.947 s.
    Jerk("separation-6in-pair", (9.5, 10.4), (6.5, 9.2), 0.945, 0.028, 0.157, 0.45,
         (6.5 * 10.6 * G, 9.2 * 9.7 * G)),
    # -6.29 m/s of the aft piece, 15.8 g at 1.30 s across and along; masses to 12 %
    Jerk("separation-6in-aft", (9.5, 11.7), (6.85, 10.0), 1.30, 0.031, 0.157, 0.45,
         (6.85 * 15.8 * G * 0.88, 6.85 * 15.8 * G * 1.12)),
)  # fmt: skip
"""The jerks that a taut cord alone explains."""


@cache
def cords() -> np.ndarray:
    """Return load [N] and strain at break, exponent and damping of many nylon cords."""
    rows = []
    for name in (each for each in library.names("cords") if "nylon" in each):
        scores = norm.ppf(qmc.Sobol(len(NUMBERS), rng=7).random(DRAWS))
        data = library.cord(name, {})
        columns = []
        for k, number in enumerate(NUMBERS):
            share = fact(address("cords", name, number)).spread / getattr(data, number)
            columns.append(getattr(data, number) * np.exp(share * scores[:, k]))
        rows.append(np.column_stack(columns))
    return np.concatenate(rows)


def stop(jerk: Jerk, speed: float, length: float, cord: np.ndarray) -> tuple[float, float]:
    """Return how long a taut cord takes to its greatest load [s], and that load [N]."""
    load, strain, exponent, damping = (float(each) for each in cord)

    def pull(x: float, w: float) -> float:
        return damped_force(loading_force(x / length, load, strain, exponent), w, speed, damping)

    def turned(_: float, y: np.ndarray) -> float:
        return float(y[1])

    turned.terminal = True  # type: ignore[attr-defined]
    turned.direction = -1.0  # type: ignore[attr-defined]
    found = solve_ivp(
        lambda _, y: (y[1], -pull(y[0], y[1]) / jerk.reduced), (0.0, 2.0), (0.0, speed),
        events=turned, rtol=1e-6, atol=1e-8, max_step=4e-3,
    )  # fmt: skip
    loads = np.array([pull(x, w) for x, w in found.y.T])
    return float(found.t[loads.argmax()]), float(loads.max())


def length_and_load(jerk: Jerk, speed: float, cord: np.ndarray) -> tuple[float, float]:
    """Return the length of a cord [m] that pulls hardest when the log says, and its load [N]."""

    def late(length: float) -> float:
        coast = (length - jerk.apart - jerk.travel) / speed
        return jerk.push + coast + stop(jerk, speed, length, cord)[0] - jerk.delay

    length = float(brentq(late, 1.0, 30.0, xtol=1e-3))
    return length, stop(jerk, speed, length, cord)[1]


@cache
def spans(jerk: Jerk) -> tuple[tuple[float, float], tuple[float, float]]:
    """Return 5 % and 95 % ends of length [m] and load [N], over cords and relative speed."""
    speeds = np.linspace(*jerk.speed, 5)
    found = np.array([
        length_and_load(jerk, float(speeds[k % speeds.size]), cord)
        for k, cord in enumerate(cords())
    ])  # fmt: skip
    (low, light), (high, hard) = np.quantile(found, (0.05, 0.95), axis=0)
    return (float(low), float(high)), (float(light), float(hard))


def least_length(speed: float, delay: float) -> float:
    """Return the cord [m] of pieces that only coast: a lower bound where they go on parting."""
    return speed * delay


def rigid_load(mass: float, speed: float, length: float) -> float:
    """Return the load of a linear cord of the library's 9/16 in nylon [N]: v sqrt(k m)."""
    data = library.cord("tubular nylon 9/16 in", {})
    return speed * math.sqrt(data.break_load / (data.break_elongation * length) * mass)
