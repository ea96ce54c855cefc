"""The slow phase: still air in the network of volumes, over minutes and hours, before any shot.

The volumes, their openings and the flow through them are those of the shot; nothing burns, nothing
moves, and each volume holds air of one temperature that the walls warm. The outside may change. A
vent settles within milliseconds what an ascent changes in minutes, so the steps are implicit.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from baypulse.engine.parameters import OUTSIDE
from baypulse.physics import flow, gas, slot
from baypulse.physics.compiled import compiled
from baypulse.physics.plain import compile_core

TOLERANCE = 3e-6
"""Relative tolerance of a step, 0.3 Pa at sea level. With 1e-6 a noisy log takes three times as
long, and its pressures change by 0.1 Pa."""

BALANCES = 3
"""Diagnostic states: mass and enthalpy that left for the outside, heat taken from the walls."""

MOST_STEPS = 100_000
"""Between two given times; the steps are only so many where something is impossible."""

GAMMA = 1.0 / (2.0 + math.sqrt(2.0))
"""Share of the step on the diagonal of the Rosenbrock pair."""

E32 = 6.0 + math.sqrt(2.0)
"""Weight of its second stage in its third."""

NUDGE = 1e-7
"""Relative change of a state from which the Jacobian is taken: the root of the rounding error."""


class Network(NamedTuple):
    """Volumes that hold still air.

    Attributes
    ----------
    volume : ndarray, shape (n_volumes,)
        [m^3].
    opening_from, opening_to : ndarray of int, shape (n_openings,)
        Volumes at both sides, or OUTSIDE.
    opening_area : ndarray, shape (n_openings,)
        Effective area Cd A [m^2]; of a slot the plain area of width times gap.
    opening_slot : ndarray, shape (n_openings, 3)
        Of a slot: across and along the flow [m], and Cd of its mouth; all 0 for a hole.
    wall_area : ndarray, shape (n_volumes,)
        [m^2].
    convection : float
        Heat transfer coefficient between air and wall [W/m^2/K].
    wall_temperature : float
        [K]; the walls keep it.
    """

    volume: np.ndarray
    opening_from: np.ndarray
    opening_to: np.ndarray
    opening_area: np.ndarray
    opening_slot: np.ndarray
    wall_area: np.ndarray
    convection: float
    wall_temperature: float


class Still(NamedTuple):
    """What the air did.

    Attributes
    ----------
    pressure, temperature : ndarray, shape (n_times, n_volumes)
        [Pa], [K].
    mass, energy : ndarray, shape (n_times, n_volumes)
        Of the air in each volume [kg], [J above 0 K].
    balance : ndarray, shape (n_times, 3)
        Since the start: mass [kg] and enthalpy [J] that left for the outside, heat [J] from the
        walls. With it both balances close to rounding.
    """

    pressure: np.ndarray
    temperature: np.ndarray
    mass: np.ndarray
    energy: np.ndarray
    balance: np.ndarray


def follow(
    times: np.ndarray,
    p_ambient: np.ndarray,
    T_ambient: np.ndarray,
    network: Network,
    start: np.ndarray | None = None,
) -> Still:
    """Follow the air of a network while the outside changes.

    Parameters
    ----------
    times : ndarray, shape (n_times,)
        Rising [s].
    p_ambient, T_ambient : ndarray, shape (n_times,)
        Outside [Pa], [K]; straight lines between the times.
    network : Network
        The volumes.
    start : ndarray, shape (n_volumes, 2), optional
        Pressure [Pa] and temperature [K] of each volume at the first time; the outside pressure
        and the walls' temperature unless given.

    Returns
    -------
    Still
        At the given times.

    Raises
    ------
    ArithmeticError
        If the steps become too many: a volume or a pressure is impossible.
    """
    compile_core()
    volumes = network.volume.size
    if start is None:
        start = np.tile((p_ambient[0], network.wall_temperature), (volumes, 1))
    p, T = start[:, 0], start[:, 1]
    mass = p * network.volume / (gas.AIR_R * T)
    states = np.zeros((times.size, 2 * volumes + BALANCES))
    states[0, : 2 * volumes : 2] = mass
    states[0, 1 : 2 * volumes : 2] = mass * T * (gas.AIR_C0 + 0.5 * gas.AIR_C1 * T)
    t, p_out, T_out = (np.ascontiguousarray(a, dtype=float) for a in (times, p_ambient, T_ambient))
    reached = march(t, p_out, T_out, *network, states, _work(2 * volumes), TOLERANCE)
    if reached < times.size:
        raise ArithmeticError(
            f"the air of the bay cannot be followed beyond {times[reached - 1]} s"
        )
    m, U = states[:, : 2 * volumes : 2], states[:, 1 : 2 * volumes : 2]
    # the root of U/m = c0 T + c1 T^2/2, as gas.temperature
    c0, c1 = gas.AIR_C0, gas.AIR_C1
    T_air = 2.0 * U / m / (c0 + np.sqrt(c0 * c0 + 2.0 * c1 * U / m))
    return Still(
        m * gas.AIR_R * T_air / network.volume, T_air, m, U, states[:, 2 * volumes :]
    )  # fmt: skip


def _work(n: int) -> np.ndarray:
    """Return the room that the steps work in: ten vectors, the Jacobian, and its factors."""
    return np.zeros((ROWS + 2 * (n + BALANCES), n + BALANCES))


# rows of the room
Y0, TRIAL, F0, F1, F2, DRIFT, K1, K2, K3, RIGHT, ROWS = range(11)


@compiled
def still_rates(
    y: np.ndarray, row: int, p_out: float, T_out: float, volume: np.ndarray, one: np.ndarray,
    two: np.ndarray, area: np.ndarray, slots: np.ndarray, wall_area: np.ndarray,
    convection: float, T_wall: float, into: int,
) -> None:  # fmt: skip
    """Write the rates of the state in one row of the room into another row of it."""
    R, c0, c1 = gas.AIR_R, gas.AIR_C0, gas.AIR_C1
    n = 2 * volume.shape[0]
    for i in range(n + BALANCES):
        y[into, i] = 0.0
    for k in range(volume.shape[0]):
        m = y[row, 2 * k]
        T = gas.temperature(y[row, 2 * k + 1], m * c0, m * c1)
        heat = convection * wall_area[k] * (T_wall - T)
        y[into, 2 * k + 1] += heat
        y[into, n + 2] += heat
    for j in range(area.shape[0]):
        a, b = one[j], two[j]
        p_a, T_a, p_b, T_b = p_out, T_out, p_out, T_out
        if a != OUTSIDE:
            m = y[row, 2 * a]
            T_a = gas.temperature(y[row, 2 * a + 1], m * c0, m * c1)
            p_a = m * R * T_a / volume[a]
        if b != OUTSIDE:
            m = y[row, 2 * b]
            T_b = gas.temperature(y[row, 2 * b + 1], m * c0, m * c1)
            p_b = m * R * T_b / volume[b]
        up, down, p_up, p_down = (a, b, p_a, p_b) if p_a >= p_b else (b, a, p_b, p_a)
        # near balance the air of both sides passes to and fro; a jump from one to the other there
        # is a corner that an implicit step cannot go over
        x = (p_a - p_b) / p_up
        T_up = 0.5 * (T_a + T_b + (T_a - T_b) * x / math.sqrt(x * x + flow.LAMINAR * flow.LAMINAR))
        g = 1.0 + R / (c0 + c1 * T_up)
        rho = p_up / (R * T_up)
        if slots[j, 0] > 0.0:
            dm = area[j] * slot.slot_flux(
                p_up, rho, p_down, g, R, slots[j, 0], slots[j, 1], T_wall, slots[j, 2]
            )
        else:
            dm = area[j] * flow.mass_flux(p_up, rho, p_down, g)
        h = dm * (gas.specific_energy(T_up, c0, c1) + R * T_up)
        if up == OUTSIDE:
            y[into, n] -= dm
            y[into, n + 1] -= h
        else:
            y[into, 2 * up] -= dm
            y[into, 2 * up + 1] -= h
        if down == OUTSIDE:
            y[into, n] += dm
            y[into, n + 1] += h
        else:
            y[into, 2 * down] += dm
            y[into, 2 * down + 1] += h


@compiled
def factor(y: np.ndarray, n: int, h: float) -> None:
    """Factor I - h gamma J of the air's states by Gauss elimination with pivots on the diagonal.

    The diagonal leads: what leaves a volume enters others, so that each column of -J adds up to
    nothing or less off the diagonal.
    """
    J, W = ROWS, ROWS + n + BALANCES
    for i in range(n):
        for j in range(n):
            y[W + i, j] = -h * GAMMA * y[J + i, j]
        y[W + i, i] += 1.0
    for k in range(n):
        for i in range(k + 1, n):
            y[W + i, k] /= y[W + k, k]
            for j in range(k + 1, n):
                y[W + i, j] -= y[W + i, k] * y[W + k, j]


@compiled
def solve(y: np.ndarray, n: int, h: float, into: int) -> None:
    """Solve (I - h gamma J) k = right side; nothing follows the diagnostic states."""
    J, W = ROWS, ROWS + n + BALANCES
    for i in range(n):
        y[into, i] = y[RIGHT, i]
        for j in range(i):
            y[into, i] -= y[W + i, j] * y[into, j]
    for i in range(n - 1, -1, -1):
        for j in range(i + 1, n):
            y[into, i] -= y[W + i, j] * y[into, j]
        y[into, i] /= y[W + i, i]
    for i in range(n, n + BALANCES):
        y[into, i] = y[RIGHT, i]
        for j in range(n):
            y[into, i] += h * GAMMA * y[J + i, j] * y[into, j]


@compiled
def march(
    times: np.ndarray, p_out: np.ndarray, T_out: np.ndarray, volume: np.ndarray, one: np.ndarray,
    two: np.ndarray, area: np.ndarray, slots: np.ndarray, wall_area: np.ndarray,
    convection: float, T_wall: float, states: np.ndarray, y: np.ndarray, tolerance: float,
) -> int:  # fmt: skip
    """Step from each time to the next, with as many steps between as the tolerance asks for.

    The Rosenbrock pair of order 2 and 3 by Shampine and Reichelt: L-stable, one factorization a
    step, and of order 2 with any Jacobian, so that one of finite differences does.

    Returns the number of times reached.

    References
    ----------
    L. F. Shampine, M. W. Reichelt, The MATLAB ODE Suite, SIAM J. Sci. Comput. 18 (1997) 1-22,
    section 3.1 (from memory; the order is tested).
    """
    n = 2 * volume.shape[0]
    whole = n + BALANCES
    J = ROWS
    h_next = times[-1] - times[0]
    for i in range(whole):
        y[Y0, i] = states[0, i]
    for sample in range(1, times.shape[0]):
        span = times[sample] - times[sample - 1]
        p0, T0 = p_out[sample - 1], T_out[sample - 1]
        dp, dT = (p_out[sample] - p0) / span, (T_out[sample] - T0) / span
        gone = 0.0
        steps = 0
        while gone < span:
            steps += 1
            if steps > MOST_STEPS:
                return sample
            last = gone + h_next >= span * (1.0 - 1e-9)
            h = span - gone if last else h_next
            p, T = p0 + dp * gone, T0 + dT * gone
            still_rates(
                y, Y0, p, T, volume, one, two, area, slots, wall_area, convection, T_wall, F0
            )
            for j in range(n):
                for i in range(n):
                    y[TRIAL, i] = y[Y0, i]
                step = NUDGE * y[Y0, j]
                y[TRIAL, j] += step
                still_rates(
                    y, TRIAL, p, T, volume, one, two, area, slots, wall_area, convection, T_wall,
                    F1,
                )  # fmt: skip
                for i in range(whole):
                    y[J + i, j] = (y[F1, i] - y[F0, i]) / step
            # how the rates drift with the outside alone
            beyond = NUDGE * span
            still_rates(
                y, Y0, p + dp * beyond, T + dT * beyond, volume, one, two, area, slots,
                wall_area, convection, T_wall, F1,
            )  # fmt: skip
            for i in range(whole):
                y[DRIFT, i] = (y[F1, i] - y[F0, i]) / beyond
            factor(y, n, h)
            for i in range(whole):
                y[RIGHT, i] = y[F0, i] + h * GAMMA * y[DRIFT, i]
            solve(y, n, h, K1)
            for i in range(whole):
                y[TRIAL, i] = y[Y0, i] + 0.5 * h * y[K1, i]
            half = gone + 0.5 * h
            still_rates(
                y, TRIAL, p0 + dp * half, T0 + dT * half, volume, one, two, area, slots,
                wall_area, convection, T_wall, F1,
            )  # fmt: skip
            for i in range(whole):
                y[RIGHT, i] = y[F1, i] - y[K1, i]
            solve(y, n, h, K2)
            for i in range(whole):
                y[K2, i] += y[K1, i]
                y[TRIAL, i] = y[Y0, i] + h * y[K2, i]
            end = gone + h
            still_rates(
                y, TRIAL, p0 + dp * end, T0 + dT * end, volume, one, two, area, slots,
                wall_area, convection, T_wall, F2,
            )  # fmt: skip
            for i in range(whole):
                y[RIGHT, i] = (
                    y[F2, i] - E32 * (y[K2, i] - y[F1, i]) - 2.0 * (y[K1, i] - y[F0, i])
                    + h * GAMMA * y[DRIFT, i]
                )  # fmt: skip
            solve(y, n, h, K3)
            miss = 0.0
            for i in range(n):
                error = h / 6.0 * (y[K1, i] - 2.0 * y[K2, i] + y[K3, i])
                miss = max(miss, abs(error) / (tolerance * y[Y0, i]))
                # a trial beyond the physical set
                if not y[TRIAL, i] > 0.0:
                    miss = math.inf
            wider = 5.0 if miss == 0.0 else min(5.0, max(0.2, 0.9 * miss ** (-1.0 / 3.0)))
            if not miss <= 1.0:
                h_next = h * wider
                continue
            gone = span if last else end
            # a step that was cut to end at a given time says nothing against longer ones
            h_next = max(h_next, h * wider) if last else h * wider
            for i in range(whole):
                y[Y0, i] = y[TRIAL, i]
        for i in range(whole):
            states[sample, i] = y[Y0, i]
    return times.shape[0]
