"""Helpers for tests of the engine: vessels and shots as plain numbers, and a second solver."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np
from scipy.integrate import DOP853

from baypulse.case.model import (
    Airframe,
    Bay,
    Case,
    Contents,
    Cord,
    Joint,
    Nose,
    Opening,
    Pins,
    Powder,
)
from baypulse.engine import ensemble, run
from baypulse.engine import layout as at
from baypulse.engine.event import EventCode
from baypulse.engine.events import event_functions
from baypulse.engine.parameters import ANNULUS, FROM_SOURCE, NEVER, OUTSIDE, Parameters
from baypulse.engine.rates import rates
from baypulse.engine.stepper import Outcome
from baypulse.engine.workspace import Workspace
from baypulse.physics import gas, heat

P_STANDARD, T_ROOM = 101_325.0, 293.0
POWDER = {
    "gas_constant": 108.5,
    "heat_capacity": 1410.0,
    "temperature": 2350.0,
    "covolume": 0.62e-3,
}
"""The library's products of black powder, written out so that a test does not move with it."""

PERFECT_AIR = (gas.AIR_R, gas.AIR_R / 0.4, 0.0)
"""Air with a constant heat capacity, gamma = 1.4 exactly."""

REAL_AIR = (gas.AIR_R, gas.AIR_C0, gas.AIR_C1)
PRODUCTS = (POWDER["gas_constant"], POWDER["heat_capacity"], 0.0)

SEED = 1e-9
"""Share of the air that starts in the zone that would be empty."""


def still_air(
    volume: float,
    p: float = P_STANDARD,
    T: float = T_ROOM,
    air: tuple[float, float, float] = REAL_AIR,
    seed: float = SEED,
) -> list[float]:
    """Return the states of a volume of air, nearly all of it in the cold zone."""
    R, c0, c1 = air
    mass = p * volume / (R * T)
    u = c0 * T + 0.5 * c1 * T * T
    zones = [0.0, seed * mass, seed * mass * u, (1.0 - seed) * mass, (1.0 - seed) * mass * u]
    return [*zones, 0.0, 0.0, 0.0]


def vessel(
    volume: float = 1e-3,
    p: float = P_STANDARD,
    T: float = T_ROOM,
    air: tuple[float, float, float] = REAL_AIR,
    products: tuple[float, float, float] = PRODUCTS,
    **changes: Any,
) -> Parameters:
    """Return a sealed, adiabatic, locked vessel of air with no charge; ``changes`` replace.

    Nothing settles and nothing burns in the air; ``flame_spread`` is the time of the flame.

    An inert grain of powder, never alight, keeps the run alive: the engine ends a shot early when a
    joint that rests can never move again, and a test of a vessel wants the whole curve.
    """
    none, whole = np.zeros(0), np.zeros(0, dtype=np.int64)
    skin_rates, skin_weights, skin_instant = heat.skin_kernel()
    start = np.array([still_air(volume, p, T, air)])
    start[0, at.GRAINS] = 1.0
    spread = changes.pop("flame_spread", 1e12)
    count = changes["opening_area"].size if "opening_area" in changes else 0
    fields: dict[str, Any] = {
        "p_ambient": P_STANDARD, "T_ambient": T_ROOM, "gas": (*products, *air),
        "condensed_share": 0.0, "condensed_heat": 0.0, "covolume": 0.0,
        "volume": np.array([volume]), "cross_section": np.array([volume ** (2 / 3)]),
        "initial": start, "bay": 0, "back": OUTSIDE, "voids": OUTSIDE, "chamber": 0,
        "source": OUTSIDE, "electronics": OUTSIDE,
        "mixing_time": 1e9, "entrainment": 0.5, "opening_carry": np.zeros(count),
        "zone_floor": SEED * start[:, at.M_A2],
        "opening_from": whole, "opening_to": whole, "opening_area": none, "opening_kind": whole,
        "opening_gap": none, "opening_length": none, "opening_discharge": none,
        "charge_mass": 1e-15, "burnable_fraction": 1.0,
        "specific_energy": POWDER["heat_capacity"] * POWDER["temperature"],
        "specific_volume": 1.0 / 1750.0, "r_low": 0.216e-3, "r_high": 0.4775e-3, "rate": 0.0,
        "rate_pressure": 1e5, "rate_exponent": 0.24, "start_time": 0.0,
        "flame_rate": 1.0 / spread, "flame_exponent": 0.0, "bed_area": 1e-4,
        "burst_pressure": 0.0, "deposition": 0.0, "afterburning_heat": 0.0,
        "afterburning_air": 0.62, "afterburning_low": 900.0, "afterburning_high": 1080.0,
        "surface_volume": whole, "surface_area": none, "surface_growth": none,
        "surface_emissivity": none, "surface_convection": none, "surface_effusivity": none,
        "skin_rates": skin_rates, "skin_weights": skin_weights, "skin_instant": skin_instant,
        "bore": 0.075, "stroke": 0.075, "friction": NEVER, "sliding_ratio": 0.8,
        "seal_drag": 0.0,
        "pin_strength": none, "pin_gap": none, "pin_rise": none, "pin_fail": none,
        "nose_mass": 0.6, "airframe_mass": 2.0, "contents_mass": 0.0, "along_gravity": 0.0,
        "nose_drag": 0.0, "airframe_drag": 0.0, "stand_friction": NEVER, "ground_friction": 0.0,
        "pickup_travel": NEVER, "packed_length": 1.0, "extraction_force": 0.0, "cord_travel": NEVER,
        "pack_grip": 0.0, "pack_reach": 0.0, "pack_recoil": 0.0, "pack_out": NEVER,
        "pack_gap": 0.0, "pack_discharge": 0.6, "pack_even": 2e-3, "pore_share": 1.0,
        "pore_size": 1.0, "pore_viscosity": 1.8e-5,
        "cord_length": 1.0, "cord_load": 0.0, "cord_strain": 1.0, "cord_exponent": 1.0,
        "cord_damping": 0.0, "cord_set": 0.0,
        "brake_start": none, "brake_stop": none, "brake_force": none,
    }  # fmt: skip
    fields.update(changes)
    return Parameters(**fields)


def with_volumes(P: Parameters, start: np.ndarray, volume: list[float]) -> Parameters:
    """Return a shot with other volumes; its grains are in the source, or in the first volume."""
    start = start.copy()
    start[:, at.GRAINS] = 0.0
    start[max(P.source, 0), at.GRAINS] = float(P.charge_mass > 0.0)
    volumes = np.array(volume)
    return P._replace(
        volume=volumes, cross_section=volumes ** (2 / 3), initial=start,
        zone_floor=1e-6 * np.maximum(start[:, at.M_A2], 1e-12),
    )  # fmt: skip


def charged(mass: float, volume: float = 1e-3, **changes: Any) -> Parameters:
    """Return a sealed vessel with a charge that burns by the library's law."""
    return vessel(volume, **{"charge_mass": mass, "rate": 12e-3, "flame_spread": 2e-3, **changes})


def _carries(kinds: Sequence[int]) -> np.ndarray:
    """Return the grains carried through openings: all that a burst holder throws, else none."""
    return np.where(np.array(kinds) == FROM_SOURCE, 1.0, 0.0)


def hole(area: float, one: int = 0, two: int = OUTSIDE, kind: int = 0) -> dict[str, np.ndarray]:
    """Return the fields of one opening of an effective area Cd A."""
    return {
        "opening_from": np.array([one], dtype=np.int64),
        "opening_to": np.array([two], dtype=np.int64),
        "opening_area": np.array([float(area)]),
        "opening_kind": np.array([kind], dtype=np.int64),
        "opening_carry": _carries([kind]),
        "opening_gap": np.zeros(1),
        "opening_length": np.zeros(1),
        "opening_discharge": np.zeros(1),
    }


def openings(rows: list[tuple[int, int, float, int]]) -> dict[str, np.ndarray]:
    """Return the fields of several openings: from, to, effective area, kind."""
    one, two, area, kind = zip(*rows, strict=True)
    return {
        "opening_from": np.array(one, dtype=np.int64),
        "opening_to": np.array(two, dtype=np.int64),
        "opening_area": np.array(area, dtype=float),
        "opening_kind": np.array(kind, dtype=np.int64),
        "opening_carry": _carries(kind),
        "opening_gap": np.zeros(len(rows)),
        "opening_length": np.zeros(len(rows)),
        "opening_discharge": np.zeros(len(rows)),
    }


def surfaces(rows: list[tuple[int, float, float, float, float, float]]) -> dict[str, np.ndarray]:
    """Return the fields of surfaces: volume, area, growth, emissivity, convection, effusivity."""
    k, area, growth, emissivity, convection, effusivity = zip(*rows, strict=True)
    return {
        "surface_volume": np.array(k, dtype=np.int64),
        "surface_area": np.array(area, dtype=float),
        "surface_growth": np.array(growth, dtype=float),
        "surface_emissivity": np.array(emissivity, dtype=float),
        "surface_convection": np.array(convection, dtype=float),
        "surface_effusivity": np.array(effusivity, dtype=float),
    }


def walls(volume: float, bore: float) -> dict[str, np.ndarray]:
    """Return the wall of a cylindrical bay with both its ends, and two bores of cloth."""
    area = 0.25 * math.pi * bore**2
    wall = 4.0 * volume / bore + 2.0 * area
    return surfaces(
        [(0, wall, math.pi * bore, 0.8, 80.0, 700.0), (0, 2.0 * area, 0.0, 0.8, 80.0, 200.0)]
    )


def shot(mass: float = 0.6e-3, volume: float = 0.972e-3, **changes: Any) -> Parameters:
    """Return a whole 75 mm bay: walls, vent, friction, three pins, contents and cord."""
    bore = changes.get("bore", 0.075)
    fields: dict[str, Any] = {
        **walls(volume, bore),
        **openings([(0, OUTSIDE, 0.65 * 8e-6, 0), (0, OUTSIDE, 0.6, ANNULUS)]),
        "covolume": POWDER["covolume"], "burnable_fraction": 0.9, "mixing_time": 0.030,
        "start_time": 5e-3, "friction": 25.0, "pin_strength": np.array([130.0, 140.0, 150.0]),
        "pin_gap": np.full(3, 2e-4), "pin_rise": np.full(3, 5e-4), "pin_fail": np.full(3, 5e-4),
        "contents_mass": 0.3, "ground_friction": 0.4 * 9.8, "pickup_travel": 1.2,
        "packed_length": 0.1, "extraction_force": 10.0, "pack_out": 0.1, "cord_travel": 4.0,
        "cord_length": 4.2,
        "cord_load": 6000.0, "cord_strain": 0.25, "cord_exponent": 1.3, "cord_damping": 0.1,
        "cord_set": 0.1,
    }  # fmt: skip
    fields.update(changes)
    P = charged(mass, volume, **fields)
    floor = 1e-6 * np.maximum(P.initial[:, at.M_A2], 1e-12)
    return P if "zone_floor" in changes else P._replace(zone_floor=floor)


def go(
    P: Parameters, end_time: float, tolerance: float = 1e-9, **how: Any
) -> tuple[run.Track, run.Observed]:
    """Run a shot and observe it; the run must come to a good end."""
    track = run.integrate(P, end_time, tolerance, **how)
    assert track.status.good, track.status
    return track, run.observe(track, P)


def run_phase(
    t: float, end_time: float, h: float, tolerance: float, record: np.record, w: Workspace
) -> tuple[int, int, float, float, int, int]:
    """Go on with one shot for one phase, as compiled: a driver for :func:`run.integrate`."""
    clock = np.array([t, h])
    (part,) = ensemble.run_phases(clock, end_time, tolerance, record, w, 1)
    return part.outcome, part.event, *clock.tolist(), part.times.size - 1, part.steps


def watched(P: Parameters, end_time: float, tolerance: float) -> tuple[run.Track, list[np.ndarray]]:
    """Return a run, and which steps were at work after each of its phases."""
    seen: list[np.ndarray] = []

    def advance(*given: Any) -> tuple[int, int, float, float, int, int]:
        outcome = run_phase(*given)
        seen.append(given[-1].method.copy())
        return outcome

    return run.integrate(P, end_time, tolerance, advance), seen


def moment(track: run.Track, event: int) -> float | None:
    """Return the time of the first event of a kind, or None."""
    return next((t for t, index in track.events if index == event), None)


def at_event(track: run.Track, event: int) -> np.ndarray:
    """Return the state at the first event of a kind, before its jumps."""
    # every event closes a phase; a full buffer closes one without an event
    ends = iter(track.events)
    due = next(ends, None)
    for phase in track.phases:
        if due is None:
            break
        if phase.times[-1] == due[0]:
            if due[1] == event:
                return phase.states[-1]
            due = next(ends, None)
    raise AssertionError(f"no event {EventCode(event).name}")


def case(**changes: Any) -> Case:
    """Return a whole 75 mm case; ``changes`` replace its tables."""
    fields: dict[str, Any] = {
        "name": "bench", "title": "75 mm bay",
        "powder": Powder(grade="3F", mass=0.6e-3),
        "bay": Bay(bore=0.075, tube_length=0.34, wall="fibre glass", wall_thickness=2e-3),
        "contents": Contents(mass=0.15, volume=4e-4),
        "nose": Nose(mass=0.6), "airframe": Airframe(mass=2.0),
        "joint": Joint(shoulder_length=0.075, pull_off=25.0),
        "pins": Pins(count=3, thread="#2-56"),
        "openings": (Opening(name="vent", diameter=3.2e-3),),
        "cord": Cord(type="tubular nylon 9/16 in", length=4.0),
    }  # fmt: skip
    fields.update(changes)
    return Case(**fields)


# --- the second solver ---------------------------------------------------------------------

SUBPOINTS = 8
"""Points of a step that are kept, and at which events are looked for."""


def scipy_advance(
    t: float, t_end: float, h: float, tolerance: float, P: Parameters, w: Workspace
) -> tuple[int, int, float, float, int, int]:
    """Advance one phase with scipy's DOP853 (Hairer, Norsett & Wanner, II.10).

    Stands in for :func:`baypulse.engine.stepper.advance`: same equations and event functions,
    but step control, order (8), interpolant (7) and search for events are not the engine's.
    """
    y, times, states = w.state, w.times, w.states
    dy = np.empty_like(y)

    def slope(time: float, state: np.ndarray) -> np.ndarray:
        rates(time, state, w.modes, w.memory, P, w.work, w.force, dy)
        return dy.copy()

    def functions(time: float, state: np.ndarray) -> np.ndarray:
        g = np.empty_like(w.before)
        rates(time, state, w.modes, w.memory, P, w.work, w.force, dy)
        event_functions(time, state, w.modes, w.memory, P, w.work, w.force, g)
        return g

    due = np.flatnonzero(functions(t, y) > 0.0)
    if due.size:
        return Outcome.EVENT, int(due[0]), t, h, 0, 0
    size = np.where(np.isfinite(w.scale), w.scale, 1.0)
    solver = DOP853(
        slope, t, y.copy(), t_end, rtol=tolerance, atol=tolerance * size, max_step=5e-3,
        first_step=min(1e-6, 0.5 * (t_end - t)),
    )  # fmt: skip
    kept = steps = 0
    while solver.status == "running":
        if kept + SUBPOINTS >= times.size:
            y[:] = states[kept - 1]
            return Outcome.FULL, -1, times[kept - 1], h, kept, steps
        old = solver.t
        if solver.step() is not None:
            return Outcome.STALLED, -1, solver.t, h, kept, steps
        steps += 1
        path = solver.dense_output()
        low = old
        for high in np.linspace(old, solver.t, SUBPOINTS + 1)[1:]:
            if not np.any(functions(high, path(high)) > 0.0):
                low = high
                times[kept], states[kept] = high, path(high)
                kept += 1
                continue
            # halve until neighbouring floats; keep the side on which the event has happened
            while True:
                middle = 0.5 * (low + high)
                if not low < middle < high or high - low < 1e-15:
                    break
                if np.any(functions(middle, path(middle)) > 0.0):
                    high = middle
                else:
                    low = middle
            y[:] = path(high)
            event = int(np.flatnonzero(functions(high, y) > 0.0)[0])
            times[kept], states[kept] = high, y
            return Outcome.EVENT, event, high, h, kept + 1, steps
        states[kept - 1] = y[:] = solver.y
    return Outcome.DONE, -1, solver.t, h, kept, steps
