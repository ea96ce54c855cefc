"""A logged ascent smoothed by what a rocket can do, with how well its speed is known.

Wanted are altitudes h_i on an even grid that are least in

    sum w (h(t_k) - z_k)^2 / s_k^2 + sum (v_j - u_j)^2 / c_j^2 + sum d (jerk_i / J)^2

with the altitudes z_k by pressure, the logger's own speeds u_j where there are any, and the third
difference of h as jerk. Wild readings weigh as those of a Student's distribution do, and sudden
changes of acceleration (ignition, burnout) as Huber's, found by repeated weighing. Where the second
difference exceeds what a rocket can do, it is drawn back. The pressure in a bay is wrong by Cp
times the dynamic pressure, which is Cp v^2/(2 g) in altitude, and Cp grows near Mach 1: s_k is
taken from the speed of the step before. The covariance is the inverse of the last step's matrix.

References
----------
Whittaker, Proc. Edinburgh Math. Soc. 41, 1923 (smoothing by differences); Lange, Little and Taylor,
J. Am. Stat. Assoc. 84, 1989 (weights of Student's distribution); from memory.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.integrate import cumulative_trapezoid
from scipy.linalg import cho_factor, cho_solve, solveh_banded
from scipy.ndimage import median_filter

from baypulse.constants import STANDARD_GRAVITY

Array = np.ndarray

GREATEST_ACCELERATION = 500.0
"""No rocket that is meant to be found again is pushed or braked harder [m/s^2]: 51 g, the thrust
over the mass of the fiercest short burns; estimate."""

MOST_POINTS = 900
"""Points of the grid at most: the covariance takes the cube of them."""

LEAST_STEP = 0.05
"""Least step of the grid [s]."""

JERK = 35.0
"""Change of acceleration in a square root of a second [m/s^2 / sqrt(s)] as thrust and drag vary;
estimate."""

SUDDEN = 3.0
"""Deviations of a jerk beyond which it is a sudden change, which costs by its size and not by its
square: ignition, burnout. Huber's weights, with a limit in which no noise is sudden."""

NU = 4.0
"""Degrees of freedom of the errors: wild readings hardly count; common practice, no source."""

STEADY_CP, SHOCK_CP = 0.01, 0.25
"""Error of the pressure in a bay as a share of the dynamic pressure: well below Mach 1, and where
shocks stand at or before the ports. Estimates: a hundredth and some tenths are known of static
ports in general, from memory."""

BESIDE_OWN_CP = 0.05
"""The least such share where the logger has a speed of its own: ports drilled by hand are as far
off, and then there is something better than the pressure; estimate."""

MACH = (0.75, 0.95, 1.4, 2.0)
"""Where that error begins to grow, is full, begins to fall, and has fallen to half."""

PORT_LASTS, OWN_LASTS = 10.0, 0.5
"""The error of the pressure by speed, and what is left of that of a logger's own speed, keep their
sign so long [s]; estimates. So many readings of them count as one."""

UNKNOWN, AROUND = 0.5, 2.0
"""Where the pressure is the only source and the speed comes near Mach 1, and so many seconds before
and after, the speed is known to this share of the greatest at best: a flight that is half as fast
again, or half as fast, may show the same altitudes; estimate after invented flights."""

OWN_SHARE = 0.02
"""Error of a logger's own speed from one moment to another, as a share of its greatest; estimate.
What sums up an acceleration drifts, so that it is no better where it is slow."""

OWN_SCALE = 0.03
"""Error of a logger's own speed that is one share for the whole ascent (a gain, a tilt); estimate.
"""

LEAST_NOISE = 0.3
"""Least noise of an altitude [m]: a foot."""

SOUND = 340.0
"""Speed of sound [m/s], within 15 % of that up to 20 km; only where the error grows hangs on it."""

CALM = 0.4
"""Medians over this time [s] begin the search."""

_ROUNDS = 25
_SMOOTH_FIRST = 2  # rounds
_SETTLED = 0.02  # m/s


@dataclass(frozen=True)
class Smoothed:
    """An ascent on an even grid.

    Attributes
    ----------
    time, altitude, speed : ndarray, shape (n,)
        [s], [m], [m/s].
    error : ndarray, shape (n,)
        Standard deviation of the speed [m/s].
    """

    time: Array
    altitude: Array
    speed: Array
    error: Array


def _share(speed: Array) -> Array:
    """Return Cp by the Mach number."""
    shares = (STEADY_CP, SHOCK_CP, SHOCK_CP, 0.5 * SHOCK_CP)
    return np.interp(np.abs(speed) / SOUND, MACH, shares)


def smooth(time: Array, altitude: Array, own: Array | None = None) -> Smoothed:
    """Smooth an ascent.

    Parameters
    ----------
    time : ndarray, shape (n,)
        Strictly increasing [s].
    altitude : ndarray, shape (n,)
        By the pressure [m].
    own : ndarray, shape (n,), optional
        The logger's own speed [m/s].

    Returns
    -------
    Smoothed
    """
    span = float(time[-1] - time[0])
    step = max(LEAST_STEP, span / MOST_POINTS, 0.5 * float(np.median(np.diff(time))))
    n = max(int(np.ceil(span / step)) + 1, 6)
    step = span / (n - 1)
    grid = np.linspace(time[0], time[-1], n)
    noise = max(_noise(altitude), LEAST_NOISE)
    place = np.clip((time - time[0]) / step, 0.0, n - 1 - 1e-9)
    left = place.astype(np.int64)
    part = place - left
    interval = span / max(time.size - 1, 1)
    readings = _Rows(n, left, np.stack([1.0 - part, part], axis=1))
    jerks = _Rows(
        n, np.arange(n - 3), np.tile(np.array([-1.0, 3.0, -3.0, 1.0]) / step**3, (n - 3, 1))
    )
    bends = _Rows(n, np.arange(n - 2), np.tile(np.array([1.0, -2.0, 1.0]) / step**2, (n - 2, 1)))
    # a white jerk of this density changes the acceleration by JERK in a second
    jerk = JERK / np.sqrt(step)
    port_many, own_many = (max(lasts / interval, 1.0) for lasts in (PORT_LASTS, OWN_LASTS))
    h, speed = _begin(time, altitude, grid, own)
    speeds, c2 = None, np.zeros(0)
    if own is not None:
        middle = np.clip(np.round(place).astype(np.int64), 1, n - 2)
        central = np.tile([-0.5 / step, 0.0, 0.5 / step], (own.size, 1))
        speeds = _Rows(n, middle - 1, central)
        c2 = np.full(own.size, own_many * (OWN_SHARE * float(np.max(np.abs(own)))) ** 2)
    pulled = np.zeros(n - 2)
    old = np.full(n, np.inf)
    for k in range(_ROUNDS):
        s2 = noise**2 + port_many * _port(np.interp(time, grid, speed), own is not None) ** 2
        matrix = readings.normal(_student(altitude - readings(h), s2))
        right = readings.transposed(_student(altitude - readings(h), s2) * altitude)
        if speeds is not None and own is not None:
            weights = _student(own - speeds(h), c2)
            matrix += speeds.normal(weights)
            right += speeds.transposed(weights * own)
        matrix += jerks.normal(_huber(jerks(h), jerk) if k else np.full(n - 3, 1.0 / jerk**2))
        a = bends(h)
        # not of the readings as they are: their noise is beyond everywhere
        beyond = (np.abs(a) > GREATEST_ACCELERATION) & (k >= _SMOOTH_FIRST)
        pulled = np.where(beyond | (pulled > 0.0), 1.0 / 5.0**2, 0.0)
        matrix += bends.normal(pulled)
        right += bends.transposed(
            pulled * np.clip(a, -GREATEST_ACCELERATION, GREATEST_ACCELERATION)
        )
        h = solveh_banded(matrix, right, lower=True)
        speed = np.gradient(h, step)
        if k and np.max(np.abs(speed - old)) < _SETTLED:
            break
        old = speed
    return Smoothed(
        grid, h, speed, _error(grid, speed, _speed_error(matrix, step), own is not None)
    )


class _Rows:
    """Rows of a least-squares problem with a few neighbouring unknowns each."""

    def __init__(self, n: int, first: Array, values: Array) -> None:
        self._n, self._first, self._values = n, first, values

    def __call__(self, h: Array) -> Array:
        columns = self._first[:, None] + np.arange(self._values.shape[1])
        return np.asarray((self._values * h[columns]).sum(axis=1))

    def normal(self, weights: Array) -> Array:
        """Return A^T W A in the lower banded form of scipy, shape (4, n)."""
        found = np.zeros((4, self._n))
        width = self._values.shape[1]
        for i in range(width):
            for j in range(i, width):
                np.add.at(
                    found[j - i], self._first + i,
                    weights * self._values[:, i] * self._values[:, j],
                )  # fmt: skip
        return found

    def transposed(self, values: Array) -> Array:
        """Return A^T times values, shape (n,)."""
        found = np.zeros(self._n)
        for i in range(self._values.shape[1]):
            np.add.at(found, self._first + i, self._values[:, i] * values)
        return found


def _begin(time: Array, altitude: Array, grid: Array, own: Array | None) -> tuple[Array, Array]:
    """Return altitudes and speeds on the grid from which the search begins."""
    if own is not None:
        # the height that the logger's speed makes: beside it the pressure's error near Mach 1 is
        # the wild one, and not the other way round
        speed = np.interp(grid, time, own)
        return altitude[0] + cumulative_trapezoid(speed, grid, initial=0.0), speed
    # medians, beside which a wild reading is wild from the first step on
    interval = (time[-1] - time[0]) / max(time.size - 1, 1)
    width = 2 * min(max(round(0.5 * CALM / interval), 1), altitude.size // 8) + 1
    calm = median_filter(altitude, size=width, mode="nearest")
    return np.interp(grid, time, calm), np.zeros(grid.size)


def _error(grid: Array, speed: Array, scatter: Array, own: bool) -> Array:
    """Return the standard deviation of the speed [m/s]: what scatters, and what all share."""
    fastest = float(np.max(np.abs(speed)))
    if own:
        return np.minimum(np.hypot(scatter, OWN_SCALE * np.abs(speed)), fastest)
    # a share Cp of v^2/(2 g) changes by Cp v a/g: so much of the speed is the port's
    port = _share(speed) * np.abs(speed * np.gradient(speed, grid)) / STANDARD_GRAVITY
    error = np.hypot(scatter, port)
    fast = grid[np.abs(speed) > MACH[0] * SOUND]
    if fast.size:
        near = (grid > fast[0] - AROUND) & (grid < fast[-1] + AROUND)
        error = np.where(near, np.maximum(error, UNKNOWN * fastest), error)
    # an error as large as the speed says already that nothing is known
    return np.minimum(error, fastest)


def _port(speed: Array, beside_own: bool) -> Array:
    """Return the error of the altitude that the least squares count [m].

    Without another speed a small steady share is left to the error of the result: it cannot be
    told from the flight, and would only blur it.
    """
    least = BESIDE_OWN_CP if beside_own else 0.0
    share = np.maximum(np.where(_share(speed) > STEADY_CP, _share(speed), 0.0), least)
    return np.asarray(share * speed**2 / (2.0 * STANDARD_GRAVITY))


def _student(residual: Array, variance: Array) -> Array:
    """Return the weight of each residual: (nu + 1) / (nu s^2 + r^2)."""
    return (NU + 1.0) / (NU * variance + residual**2)


def _huber(residual: Array, deviation: float) -> Array:
    """Return the weight of each residual: 1/s^2, and less by k s/|r| beyond k s."""
    size = np.maximum(np.abs(residual), SUDDEN * deviation)
    return SUDDEN / (deviation * size)


def _noise(altitude: Array) -> float:
    """Return the noise of single readings [m], from the middle of their second differences."""
    second = np.abs(np.diff(altitude, 2))
    # the median of a normal's magnitude is 0.6745 of its deviation; that of x - 2y + z is sqrt(6)
    return float(np.median(second)) / (0.6745 * np.sqrt(6.0)) if second.size else 0.0


def _speed_error(matrix: Array, step: float) -> Array:
    """Return the standard deviation of the central differences [m/s], shape (n,)."""
    n = matrix.shape[1]
    full = np.diag(matrix[0])
    for k in range(1, matrix.shape[0]):
        full[np.arange(k, n), np.arange(n - k)] = matrix[k, : n - k]
    covariance = cho_solve(cho_factor(full, lower=True), np.eye(n))
    variance = np.diag(covariance)
    right = np.minimum(np.arange(n) + 1, n - 1)
    left = np.maximum(np.arange(n) - 1, 0)
    spread = variance[right] + variance[left] - 2.0 * covariance[right, left]
    return np.sqrt(np.maximum(spread, 0.0)) / (step * (right - left))
