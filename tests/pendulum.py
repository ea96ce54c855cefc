"""A damped pendulum, on which the tables of a step must show their orders."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from scipy.integrate import solve_ivp

START = np.array([1.2, 0.4])


def pendulum(y: np.ndarray) -> np.ndarray:
    return np.array([y[1], -np.sin(y[0]) - 0.3 * y[1] * abs(y[1])])


def orders(
    step: Callable[[np.ndarray, float], tuple[np.ndarray, np.ndarray, np.ndarray]], h: float
) -> np.ndarray:
    """Return with which powers of its length a step's errors fall: end, estimate and middle.

    scipy's DOP853 at 1e-13 is the truth, of a step of length h and of its half.
    """
    errors = []
    for length in (h, h / 2):
        truth = solve_ivp(
            lambda _, z: pendulum(z), (0.0, length), START, method="DOP853", rtol=1e-13,
            atol=1e-15, dense_output=True,
        )  # fmt: skip
        end, error, middle = step(START, length)
        errors.append(
            [
                np.abs(end - truth.y[:, -1]).max(),
                np.abs(error).max(),
                np.abs(middle - truth.sol(length / 2)).max(),
            ]
        )
    return np.log2(np.divide(*errors))
