"""Packed contents as a piston, a sponge and a heat sink, against closed forms and scipy.

The laws that are integrated here by :func:`scipy.integrate.solve_ivp` are written out anew: the
isentropic of a perfect gas (Moran & Shapiro, Fundamentals of Engineering Thermodynamics), Ergun's
equation (Chem. Eng. Progress 48 (1952) 89), and the slice of a column with friction on its wall and
inertia (Janssen 1895, with Newton's second law).
"""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from scipy.integrate import solve_bvp, solve_ivp

from baypulse.case.model import Contents, Powder
from baypulse.engine import layout as at
from baypulse.engine.event import EventCode
from baypulse.engine.parameters import ALWAYS, NEVER, OUTSIDE, PORES, ROUND, Parameters
from baypulse.physics import pack, piston
from baypulse.run.simulation import simulate
from tools import P_STANDARD, PERFECT_AIR, T_ROOM, at_event, case, go, openings, still_air, vessel

GAMMA = 1.4
BORE = 0.1
AREA = 0.25 * math.pi * BORE**2
AHEAD, BACK, VOIDS = 0, 1, 2


def divided(
    p_back: float, p_ahead: float = P_STANDARD,
    volumes: tuple[float, float, float] = (2e-3, 1e-3, 1e-3),
    rows: list[tuple[int, int, float, int]] | None = None, **changes: Any,
) -> Parameters:  # fmt: skip
    """Return a bay of perfect air with contents between two spaces; nothing holds or leaks."""
    pressures = (p_ahead, p_back, P_STANDARD)
    start = np.array(
        [still_air(v, p, T_ROOM, PERFECT_AIR) for v, p in zip(volumes, pressures, strict=True)]
    )
    start[0, at.GRAINS] = 1.0  # an inert grain keeps the run alive
    ways = rows or [(BACK, VOIDS, 0.0, PORES)]
    fields: dict[str, Any] = {
        "initial": start, "zone_floor": 1e-9 * start[:, at.M_A2],
        "cross_section": np.full(3, AREA), "back": BACK, "voids": VOIDS, "chamber": BACK,
        "bore": BORE, "stroke": 0.1, "contents_mass": 2.0, "packed_length": 0.3,
        "pack_reach": 10.0, "pack_recoil": 10.0, "pack_out": 20.0, "pack_gap": 0.0,
        "flame_spread": 1e9,  # nothing but the contents decides when a run ends
        "opening_carry": np.zeros(len(ways)), **openings(ways),
    }  # fmt: skip
    P = vessel(**(fields | {"air": PERFECT_AIR} | changes))
    return P._replace(volume=np.array(volumes))


def test_contents_swing_between_two_closed_spaces_as_an_adiabatic_piston() -> None:
    P = divided(2.5 * P_STANDARD)
    _, seen = go(P, 0.08, 1e-10)

    def slope(t: float, y: np.ndarray) -> list[float]:
        back = 2.5 * P_STANDARD * (1.0 + y[0] * AREA / 1e-3) ** -GAMMA
        ahead = P_STANDARD * (1.0 - y[0] * AREA / 2e-3) ** -GAMMA
        return [y[1], (back - ahead) * AREA / 2.0]

    times = seen.times[::7]
    path = solve_ivp(slope, (0.0, times[-1]), [0.0, 0.0], t_eval=times, rtol=1e-11, atol=1e-13)
    x = seen.states[::7, at.PACK_X]
    # out and back, more than one swing
    assert x.max() > 0.05 and np.count_nonzero(np.diff(np.sign(np.diff(x)))) >= 2
    np.testing.assert_allclose(x, path.y[0], atol=2e-8)
    np.testing.assert_allclose(seen.states[::7, at.PACK_V], path.y[1], atol=2e-6)
    back = 2.5 * P_STANDARD * (1.0 + path.y[0] * AREA / 1e-3) ** -GAMMA
    np.testing.assert_allclose(seen.volumes[::7, BACK, 0], back, rtol=1e-6)


@pytest.mark.parametrize("mass", [0.2, 1.5])
def test_contents_that_touch_the_nose_move_with_it_as_one_body(mass: float) -> None:
    P = divided(
        3.0 * P_STANDARD, friction=1e-6, pack_reach=0.0, contents_mass=mass, stroke=0.06,
        stand_friction=NEVER,
    )  # fmt: skip
    track, _ = go(P, 1.0, 1e-10)
    end = at_event(track, EventCode.CLEAR)
    # work of the isentropic from V_0 to V_1, less that against the air outside
    V_0, V_1, p = 1e-3, 1e-3 + AREA * 0.06, 3.0 * P_STANDARD
    work = p * V_0 / (GAMMA - 1.0) * (1.0 - (V_0 / V_1) ** (GAMMA - 1.0))
    work -= P_STANDARD * (V_1 - V_0)
    expected = math.sqrt(2.0 * work / (P.nose_mass + mass))
    assert end[at.NOSE_V] == pytest.approx(expected, rel=1e-6)
    assert end[at.PACK_V] == end[at.NOSE_V]


def test_momentum_of_all_three_bodies_is_kept() -> None:
    P = divided(
        4.0 * P_STANDARD, friction=30.0, pack_reach=0.02, pack_recoil=0.02, pack_out=0.42,
        extraction_force=40.0, pack_grip=0.7, contents_mass=0.5, stand_friction=0.0, nose_mass=0.8,
        rows=[(BACK, AHEAD, 1e-4, ROUND), (BACK, OUTSIDE, 2e-6, ALWAYS)], pack_gap=3e-4,
    )  # fmt: skip
    track, seen = go(P, 0.5, 1e-8)
    y = seen.states
    happened = {e for _, e in track.events}
    assert {EventCode.CONTENTS_SLIP, EventCode.CONTACT, EventCode.CLEAR} <= happened
    parts = (P.nose_mass, P.contents_mass, P.airframe_mass)
    momenta = [m * y[:, n] for m, n in zip(parts, (at.NOSE_V, at.PACK_V, at.FRAME_V), strict=True)]
    np.testing.assert_allclose(sum(momenta), 0.0, atol=1e-9 * np.abs(momenta).max())


def test_contents_and_nose_share_their_speed_where_they_meet() -> None:
    P = divided(
        4.0 * P_STANDARD, 0.3 * P_STANDARD, friction=50.0, pack_reach=0.05, contents_mass=0.4
    )
    track, _ = go(P, 0.2, 1e-9)
    n = next(k for k, (_, e) in enumerate(track.events) if e == EventCode.CONTACT)
    before, after = track.phases[n].states[-1], track.phases[n + 1].states[0]
    assert before[at.NOSE_V] == 0.0 and before[at.PACK_V] > 1.0
    common = 0.4 * before[at.PACK_V] / (0.4 + P.nose_mass)
    assert after[at.NOSE_V] == after[at.PACK_V] == pytest.approx(common, rel=1e-12)
    # the bulkhead stops what comes back
    P = divided(P_STANDARD, 4.0 * P_STANDARD, pack_recoil=0.03, contents_mass=0.4)
    track, seen = go(P, 0.1, 1e-9)
    assert EventCode.BACKSTOP in {e for _, e in track.events}
    assert seen.states[:, at.PACK_X].min() == pytest.approx(-0.03, abs=1e-9)


def test_voids_fill_at_the_temperature_of_the_cloth() -> None:
    size, share, length, mu = 1e-4, 0.7, 0.2, 1.8e-5
    P = divided(
        3.0 * P_STANDARD, extraction_force=NEVER, rows=[(BACK, VOIDS, AREA, PORES)], pore_size=size,
        pore_share=share, packed_length=length, pore_viscosity=mu,
    )  # fmt: skip
    _, seen = go(P, 0.05, 1e-10)
    R = PERFECT_AIR[0]
    cv = R / (GAMMA - 1.0)

    def ergun(p_up: float, p_down: float) -> float:
        """Solve (p1^2 - p2^2)/(2 R T) = L/2 (a G + b G^2)."""
        a = 150.0 * mu * (1.0 - share) ** 2 / (share**3 * size**2) * length / 2
        b = 1.75 * (1.0 - share) / (share**3 * size) * length / 2
        c = (p_up**2 - p_down**2) / (2.0 * R * T_ROOM)
        return (-a + math.sqrt(a * a + 4.0 * b * c)) / (2.0 * b)

    def slope(t: float, y: np.ndarray) -> list[float]:
        m, U, held = y
        T = U / (m * cv)
        p, p_voids = m * R * T / 1e-3, held * R * T_ROOM / 1e-3
        flow = AREA * ergun(p, p_voids)
        return [-flow, -flow * (cv + R) * T, flow]

    m = 3.0 * P_STANDARD * 1e-3 / (R * T_ROOM)
    times = seen.times[::5]
    path = solve_ivp(
        slope, (0.0, times[-1]), [m, m * cv * T_ROOM, m / 3.0], t_eval=times, rtol=1e-10,
        atol=1e-14,
    )  # fmt: skip
    held = path.y[2] * R * T_ROOM / 1e-3
    np.testing.assert_allclose(seen.volumes[::5, VOIDS, 0], held, rtol=1e-6)
    back = path.y[1] * (GAMMA - 1.0) / 1e-3
    np.testing.assert_allclose(seen.volumes[::5, BACK, 0], back, rtol=1e-6)
    assert held[-1] > 1.8 * P_STANDARD
    # the cloth took the flow work: what came in brought cp T, what it holds has cv T_0
    lost = path.y[1, 0] - path.y[1, -1] - (path.y[2, -1] - path.y[2, 0]) * cv * T_ROOM
    assert seen.states[-1, P.balance_at + at.Balance.PORES] == pytest.approx(lost, rel=1e-6)
    np.testing.assert_allclose(seen.volumes[:, VOIDS, 2:4], T_ROOM, rtol=1e-9)


@pytest.mark.parametrize(("z", "contact", "inertia"), [(0.4, 0.0, 30.0), (1.3, 55.0, -12.0)])
def test_pushed_column_follows_from_its_slices(z: float, contact: float, inertia: float) -> None:
    E, K = 25.0, 0.3

    # d(sigma)/dx = -(z/L) (sigma + p_0/K) - inertia/L over a length of 1 and an area of 1, with
    # E = z p_0/K; sigma at the front is the contact
    def slope(x: np.ndarray, s: np.ndarray) -> np.ndarray:
        return np.vstack([-z * (s[0] + E / z) - inertia])

    found = solve_bvp(
        slope, lambda a, b: np.array([b[0] - contact]), np.linspace(0.0, 1.0, 50),
        np.zeros((1, 50)), tol=1e-10,
    )  # fmt: skip
    push = float(found.sol(0.0)[0])
    assert piston.contact_force(push, E, z, piston.growth(z), inertia) == pytest.approx(
        contact, abs=1e-6
    )
    # at rest, Janssen's column
    grip = z * BORE / (4.0 * K)
    start = pack.janssen_force(E, K, K, BORE, grip, contact)
    assert piston.contact_force(start, E, z, piston.growth(z), 0.0) == pytest.approx(
        contact, abs=1e-9
    )


def opened(**contents: Any) -> Any:
    packed = Contents(mass=0.3, volume=6e-4, **contents)
    return simulate(case(contents=packed, powder=Powder(grade="4F", mass=2e-3), pins=None))


def test_the_force_that_pulls_the_contents_out_acts_from_the_first_millimetre() -> None:
    speeds = []
    for force in (10.0, 50.0, 150.0, 250.0):
        shot = opened(extraction_force=force, tightness="tight")
        assert shot.verdict.startswith("separates")
        speeds.append(shot.numbers.clear_velocity)
    assert all(slow < fast for fast, slow in pairwise(speeds))
    assert speeds[-1] < 0.97 * speeds[0]


def test_contents_cost_pressure_and_speed_on_either_side_of_the_charge() -> None:
    # the same mass and volume as a solid block that fills its part of the bay
    empty = case(contents=None, powder=Powder(grade="4F", mass=2e-3), pins=None)
    shorter = 0.34 - 6e-4 / (0.25 * math.pi * 0.075**2)
    smaller = replace(empty, bay=replace(empty.bay, tube_length=shorter))
    block = simulate(smaller).numbers
    for side in ("behind", "ahead"):
        shot = opened(extraction_force=50.0, charge_side=side).numbers
        assert shot.peak_pressure < block.peak_pressure
        assert shot.clear_velocity < block.clear_velocity


def test_contents_leave_the_tube_by_the_gas_or_by_the_cord() -> None:
    by_gas = opened(extraction_force=10.0)
    assert by_gas.event("parachute out") is not None
    ahead = opened(extraction_force=10.0, charge_side="ahead")
    assert ahead.event("contents picked up") is not None
    assert ahead.event("parachute out").time > ahead.event("contents picked up").time
    assert opened(extraction_force=2000.0, tightness="tight").contents == "stays in"
