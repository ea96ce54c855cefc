"""The pulse in the electronics bay: from the spark until its pressure is the outside's again.

The engine follows the gas until the main bay is empty, or shut for good with little pressure left.
The electronics bay still holds its pressure then; it goes on as still air in the slow network, and
cools at its walls.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from baypulse.case import params
from baypulse.case.model import Case
from baypulse.case.params import BAY, ELECTRONICS
from baypulse.engine import ensemble, gasside, run
from baypulse.engine import layout as at
from baypulse.engine.event import EventCode
from baypulse.engine.parameters import OUTSIDE, Parameters
from baypulse.engine.slow import Network, follow
from baypulse.members import draws
from baypulse.members.outcomes import TOLERANCE
from baypulse.members.parts import StudyError
from baypulse.physics import gas

CONVECTION = 25.0
"""Heat transfer between the gas of the electronics bay and its walls after the shot [W/m^2/K], for
gas that was blown in and is still stirred; estimate. It decides how deep the suction is."""

TAIL = 60.0
"""For how long the electronics bay is followed after the shot [s]."""

FIRST = 1e-5
"""First of the points at which it is followed, after the shot's end [s]."""

POINTS = 240
"""How many points there are, at equal ratios of time."""

LONGEST_SHOT = 3.0
"""Time [s] up to which the shot itself is followed, whatever the case says."""


@dataclass(frozen=True)
class Pulse:
    """One shot as the electronics bay feels it.

    Attributes
    ----------
    times : ndarray, shape (n,)
        From the firing command [s].
    bay, electronics : ndarray, shape (n,)
        Absolute pressures [Pa]; the bay's is that behind its contents, where the wires come in, and
        the outside's once it is open and empty.
    ambient : float
        Outside [Pa].
    shot_end : float
        From where on the air is still [s].
    opened : bool
        Whether the joint parted.
    hottest : float
        Highest mean temperature in the electronics bay [K].
    products : float
        Products of the charge in the electronics bay at the end of the shot [kg].
    """

    times: np.ndarray
    bay: np.ndarray
    electronics: np.ndarray
    ambient: float
    shot_end: float
    opened: bool
    hottest: float
    products: float


def of_gas_alone(case: Case) -> Case:
    """Return the case without what acts after the gas: cord, brake, other joints.

    Such a run ends with the gas.

    Parameters
    ----------
    case : Case
        With its spreads; those of what is left out are left out.
    """
    gone = ("cord", "brakes", "other_joints")
    spreads = {
        path: spread for path, spread in case.spreads.items() if not path.startswith(gone)
    }  # fmt: skip
    longer = replace(case.run, end_time=max(case.run.end_time, LONGEST_SHOT))
    return replace(case, cord=None, brakes=(), other_joints=(), spreads=spreads, run=longer)


def pulse(case: Case, tolerance: float = TOLERANCE) -> Pulse:
    """Follow one shot and what comes after it.

    Parameters
    ----------
    case : Case
        With an electronics bay; a single one, from :func:`of_gas_alone`.
    tolerance : float
        Relative tolerance of a step of the shot.
    """
    P = params.parameters(case)
    track = run.integrate(P, case.run.end_time, tolerance)
    seen = run.observe(track, P)
    opened = any(event == EventCode.CLEAR for _, event in track.events)
    last = seen.volumes[-1]
    still = _tail(case, P, seen.states[-1], last[:, 0], last[:, 5], opened)
    times = np.geomspace(FIRST, TAIL, POINTS)
    temperature = _mean_temperature(P, seen.states, seen.volumes)
    end = float(seen.times[-1])
    bay = np.full(POINTS, P.p_ambient) if opened else still[:, BAY]
    return Pulse(
        times=np.concatenate((seen.times, end + times)),
        bay=np.concatenate((seen.volumes[:, BAY if P.back < 0 else P.back, 0], bay)),
        electronics=np.concatenate((seen.volumes[:, ELECTRONICS, 0], still[:, -1])),
        ambient=float(P.p_ambient),
        shot_end=end,
        opened=opened,
        hottest=float(temperature.max()),
        products=float(seen.states[-1, at.VOLUMES + at.PER_VOLUME * ELECTRONICS + at.M_B]),
    )


def extremes(case: Case, values: Mapping[str, Any], members: int) -> tuple[np.ndarray, np.ndarray]:
    """Return how far the electronics bay of each member falls below and rises above the outside.

    Parameters
    ----------
    case : Case
        From :func:`of_gas_alone`.
    values : mapping
        By path, arrays with the members as first axis.
    members : int
        How many there are; all have room for their contents and grains.

    Returns
    -------
    suction, pulse : ndarray, shape (members,)
        At least 0 [Pa]. In members that do not separate both may grow after the shot, and are
        followed; in those that part the little suction of gas that cools after the shot is left
        out.
    """
    records, _ = draws.records(case, values, members)
    # without a cord none of them waits, and each is kept as it ended
    ended = ensemble.run_to_cord(records, case.run.end_time, TOLERANCE)
    suction = ended.rows[:, ensemble.RunColumn.ELECTRONICS_SUCTION].copy()
    high = ended.rows[:, ensemble.RunColumn.ELECTRONICS_PULSE].copy()
    for k in np.flatnonzero(np.isnan(ended.rows[:, ensemble.RunColumn.CLEAR_TIME])):
        one = draws.one_member(case, values, int(k))
        P = params.parameters(one)
        y, work = ended.states[k], np.empty((P.volume.size, gasside.WORK))
        s, w = y[at.NOSE_X] - y[at.FRAME_X], y[at.NOSE_V] - y[at.FRAME_V]
        gasside.volume_states(y, ended.modes[k], s, w, records[k], work)
        still = _tail(one, P, y, work[:, gasside.P_], work[:, gasside.V_GAS], False)[:, -1]
        suction[k] = max(suction[k], P.p_ambient - float(still.min()))
        high[k] = max(high[k], float(still.max()) - P.p_ambient)
    return suction, high


def _tail(
    case: Case, P: Parameters, y: np.ndarray, p: np.ndarray, volume: np.ndarray, opened: bool
) -> np.ndarray:
    """Return the pressures after the shot [Pa], shape (POINTS, 1 or 2), the electronics bay last.

    The gas goes on as air of the same pressure and density: flow through a hole knows no more.
    """
    network = params.slow_network(case)._replace(convection=CONVECTION)
    # in still air the contents divide nothing
    bay = [BAY] if P.back < 0 else [BAY, P.back, P.voids]
    parts = (bay, [ELECTRONICS])
    V = np.array([volume[part].sum() for part in parts])
    pressure = np.array([(p[part] * volume[part]).sum() for part in parts]) / V
    first = at.VOLUMES + at.PER_VOLUME * np.arange(P.volume.size)
    each = y[first + at.M_B] + y[first + at.M_A1] + y[first + at.M_A2]
    mass = np.array([each[part].sum() for part in parts])
    network = network._replace(volume=V)
    start = np.stack((pressure, pressure * V / (mass * gas.AIR_R)), axis=1)
    if opened:
        network, start = _alone(network), start[ELECTRONICS:]
    times = np.concatenate(([0.0], np.geomspace(FIRST, TAIL, POINTS)))
    outside = np.full(times.size, P.p_ambient), np.full(times.size, P.T_ambient)
    try:
        still = follow(times, *outside, network, start)
    except ArithmeticError:
        raise StudyError(
            f"{case.name}: the air of the electronics bay could not be followed after the shot; "
            "check the volumes and openings of the case, and their spreads"
        ) from None
    return np.asarray(still.pressure[1:])


def _alone(network: Network) -> Network:
    """Return the electronics bay alone: a main bay that is open belongs to the outside."""
    one, two = network.opening_from, network.opening_to
    kept = (one == ELECTRONICS) | (two == ELECTRONICS)
    return network._replace(
        volume=network.volume[ELECTRONICS:],
        opening_from=np.where(one == ELECTRONICS, 0, OUTSIDE)[kept],
        opening_to=np.where(two == ELECTRONICS, 0, OUTSIDE)[kept],
        opening_area=network.opening_area[kept],
        opening_slot=network.opening_slot[kept],
        wall_area=network.wall_area[ELECTRONICS:],
    )


def _mean_temperature(P: Parameters, states: np.ndarray, volumes: np.ndarray) -> np.ndarray:
    """Return the mean temperature of the electronics bay, p V / sum(m R) [K], shape (n,)."""
    i = at.VOLUMES + at.PER_VOLUME * ELECTRONICS
    R_g, _, _, R_a, _, _ = P.gas
    held = (states[:, i + at.M_B] - states[:, i + at.M_C]) * R_g
    held += (states[:, i + at.M_A1] + states[:, i + at.M_A2]) * R_a
    return np.asarray(volumes[:, ELECTRONICS, 0] * volumes[:, ELECTRONICS, 5] / held)
