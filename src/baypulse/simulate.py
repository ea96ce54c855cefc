"""From a case to a result: one run of the engine, and what it means."""

from __future__ import annotations

import math

import numpy as np

from baypulse import geometry, library, params, rule
from baypulse.engine import events as ev
from baypulse.engine import layout as at
from baypulse.engine import rates as r
from baypulse.engine import run
from baypulse.engine.parameters import NEVER, OUTSIDE, Parameters, pack
from baypulse.errors import SolveError
from baypulse.model import Case
from baypulse.physics import gas, powder
from baypulse.result import (
    Bridge,
    Budget,
    Check,
    Curve,
    Event,
    Numbers,
    Result,
    StaticRule,
)

MESSAGES = {
    run.OPENED_END: "The run came to its end: nothing of interest can follow.",
    run.TIME_END: "The run reached its end time; raise run.end_time to see what follows.",
    run.STALLED: "The solver had to stop early because its step became too small; what it has is "
    "kept. Look at the last event, and try a looser run.tolerance.",
    run.LOST: "The solver had to stop early because the state became impossible; what it has is "
    "kept. Check the volumes and the charge.",
    run.RESTLESS: "The solver had to stop early because the joint kept starting and stopping; "
    "what it has is kept. Check the friction.",
}

HIDDEN_EVENTS = {ev.RISE, ev.PARTED, ev.NOSE_SLIP, ev.NOSE_STOP}
MOVED_SHARE = 0.02
"""Share of the stroke beyond which a joint at rest counts as moved; pins bend less."""


def simulate(case: Case, *, strict: bool = False) -> Result:
    """Run one case.

    Parameters
    ----------
    case : Case
        Validated case, from :func:`baypulse.load`.
    strict : bool
        Raise when the solver has to stop early, instead of returning what it has.

    Returns
    -------
    Result
        Curves, events, numbers, budget and verdict.

    Raises
    ------
    SolveError
        Only if ``strict``; carries the partial result.
    """
    P = params.parameters(case)
    track = run.integrate(P, case.run.end_time, case.run.tolerance)
    seen = run.observe(track, P)
    result = interpret(case, P, track, seen)
    if strict and not result.good:
        raise SolveError(result.message, result)
    return result


def interpret(case: Case, P: Parameters, track: run.Track, seen: run.Observed) -> Result:
    """Turn the engine's tables into a result."""
    curves = _curves(case, P, seen)
    events = _events(P, track, curves)
    numbers = _numbers(case, P, events, curves)
    tears = params.pin_tears_wall(case)
    limits = _limits(case, numbers)
    verdict, contents, reasons = _verdict(case, P, track, events, numbers, limits, tears)
    return Result(
        case=case,
        status=track.status,
        message=MESSAGES[track.status],
        verdict=verdict,
        contents=contents,
        tears_wall=tears,
        reasons=reasons,
        curves=curves,
        events=events,
        numbers=numbers,
        budget=_budget(case, P, seen, track.phases[-1].modes),
        rule=static_rule(case),
        steps=track.steps,
        limit_checks=limits,
        make_bridge=lambda: bridge(case, P, numbers.peak_pressure),
    )


def _curves(case: Case, P: Parameters, seen: run.Observed) -> dict[str, Curve]:
    y, bay = seen.states, P.bay
    x, v = y[:, at.NOSE_X] - y[:, at.FRAME_X], y[:, at.NOSE_V] - y[:, at.FRAME_V]
    depth = np.array([powder.burnt_fraction(e, P.r_low, P.r_high) for e in y[:, at.DEPTH]])
    first = at.VOLUMES + at.PER_VOLUME * bay
    rows = [
        ("time", "time", "s", "time", seen.times),
        ("pressure", "bay pressure, absolute", "Pa", "absolute pressure", seen.volumes[:, bay, 0]),
        ("gauge_pressure", "bay pressure, gauge", "Pa", "gauge pressure",
         seen.volumes[:, bay, 0] - P.p_ambient),
        ("hot_temperature", "hot zone temperature", "K", "temperature", seen.volumes[:, bay, 2]),
        ("cold_temperature", "cold zone temperature", "K", "temperature",
         seen.volumes[:, bay, 3]),
        ("burnt_fraction", "burnt share of the charge", "1", "ratio", P.burnt_ceiling * depth),
        ("products_mass", "products in the bay", "kg", "mass", y[:, first]),
        ("hot_air_mass", "air in the hot zone", "kg", "mass", y[:, first + 1]),
        ("cold_air_mass", "air in the cold zone", "kg", "mass", y[:, first + 3]),
        ("travel", "travel", "m", "length", x),
        ("separation_velocity", "separation velocity", "m/s", "velocity", v),
        ("nose_position", "nose position", "m", "length", y[:, at.NOSE_X]),
        ("nose_velocity", "nose velocity", "m/s", "velocity", y[:, at.NOSE_V]),
        ("airframe_position", "airframe position", "m", "length", y[:, at.FRAME_X]),
        ("airframe_velocity", "airframe velocity", "m/s", "velocity", y[:, at.FRAME_V]),
        ("push_force", "push of the pressure", "N", "force", seen.forces[:, r.PUSH]),
        ("pin_force", "pins", "N", "force", seen.forces[:, r.PIN]),
        ("friction_force", "friction", "N", "force", seen.forces[:, r.FRICTION]),
        ("cord_force", "cord load", "N", "force", seen.forces[:, r.CORD]),
        ("drag_out_force", "drag of the contents", "N", "force", seen.forces[:, r.DRAG_OUT]),
    ]  # fmt: skip
    for k, name in enumerate(params.volume_names(case)):
        if k != bay:
            rows.append((f"{name}_gauge_pressure", f"{name} pressure, gauge", "Pa",
                         "gauge pressure", seen.volumes[:, k, 0] - P.p_ambient))  # fmt: skip
    for j, name in enumerate(params.opening_names(case)):
        key = "".join(c if c.isalnum() else "_" for c in name)
        if any(row[0] == f"{key}_flow" for row in rows):
            key = f"{key}_{j + 1}"
        rows.append((f"{key}_flow", f"flow, {name}", "kg/s", "mass flow", seen.flows[:, j]))
    for j, name in enumerate(params.surface_names(case)):
        rows.append((f"{name}_temperature", f"{name} skin temperature", "K", "temperature",
                     seen.skins[:, j]))  # fmt: skip
    return {row[0]: Curve(*row) for row in rows}


def _tells_more(name: str, at_pressure: float, earlier: Event) -> bool:
    """Say whether a repeated event replaces the earlier one.

    A joint that creeps slips and stops dozens of times: its first slip, its last stop and the
    highest pressure peak tell the story.
    """
    if name == "pressure peak":
        return at_pressure > earlier.gauge_pressure
    return name == "joint stops"


def _event_name(index: int) -> str:
    if index < ev.PIN_EVENTS:
        return ev.NAMES[index]
    return f"pin {(index - ev.PIN_EVENTS) // 2 + 1}"


def _events(P: Parameters, track: run.Track, curves: dict[str, Curve]) -> list[Event]:
    stages = [0] * P.pin_strength.size
    found: list[Event] = []
    time, gauge = curves["time"].values, curves["gauge_pressure"].values
    for t, index in track.events:
        if index in HIDDEN_EVENTS:
            continue
        name = _event_name(index)
        if index >= ev.PIN_EVENTS:
            n = (index - ev.PIN_EVENTS) // 2
            stages[n] += -1 if (index - ev.PIN_EVENTS) % 2 else 1
            name += (" free again", " bears", " fails", " gone")[stages[n]]
        if name.endswith("free again"):
            continue
        at_point = min(int(np.searchsorted(time, t)), time.size - 1)
        earlier = next((e for e in found if e.name == name), None)
        if earlier is not None:
            if not _tells_more(name, at_pressure=gauge[at_point], earlier=earlier):
                continue
            found.remove(earlier)
        found.append(
            Event(name, float(t), *(float(curves[c].values[at_point])
                             for c in ("travel", "gauge_pressure", "separation_velocity")))
        )  # fmt: skip
    return found


def _summit(time: np.ndarray, values: np.ndarray) -> tuple[float, float]:
    """Return time and height of a smooth peak: the parabola through its three highest points."""
    k = int(np.argmax(values))
    if not 0 < k < values.size - 1:
        return float(time[k]), float(values[k])
    t, v = time[k - 1 : k + 2] - time[k], values[k - 1 : k + 2] - values[k]
    if not (t[0] < 0.0 < t[2] and max(v[0], v[2]) < 0.0):
        return float(time[k]), float(values[k])  # a jump, or level
    # v = b t + c t^2 through both neighbours
    c = (v[0] / t[0] - v[2] / t[2]) / (t[0] - t[2])
    b = v[0] / t[0] - c * t[0]
    return float(time[k] - 0.5 * b / c), float(values[k] - 0.25 * b * b / c)


def _numbers(case: Case, P: Parameters, events: list[Event], curves: dict[str, Curve]) -> Numbers:
    def first(name: str) -> Event | None:
        return next((e for e in events if e.name == name), None)

    gauge = curves["gauge_pressure"].values
    peak = int(np.argmax(gauge))
    hold = geometry.static_hold(case)
    pins = float(P.pin_strength.sum())
    clear, taut, slack = first("clear"), first("cord taut"), first("cord slack")
    nose, frame = P.nose_mass, P.airframe_mass + P.contents_mass
    reduced = nose if P.stand_friction >= NEVER else nose * frame / (nose + frame)
    cord_time, cord_load = _summit(curves["time"].values, curves["cord_force"].values)
    strength, link = params.cord_strength(case) if case.cord is not None else (None, "")
    pulse = curves.get("electronics_gauge_pressure")
    return Numbers(
        peak_pressure=float(gauge[peak]),
        peak_time=float(curves["time"].values[peak]),
        slip_pressure=(hold.friction + hold.seal) / hold.area,
        pin_pressure=(hold.friction + hold.seal + pins) / hold.area,
        clear_time=clear.time if clear else None,
        clear_velocity=clear.velocity if clear else None,
        clear_energy=0.5 * reduced * clear.velocity**2 if clear else None,
        greatest_travel=float(curves["travel"].values.max()),
        burnt=float(curves["burnt_fraction"].values[-1]),
        cord_load=cord_load if taut else None,
        cord_time=cord_time if taut else None,
        cord_strength=strength,
        rebound_velocity=-slack.velocity if slack else None,
        weakest_link=link,
        hoop_stress=float(gauge[peak]) * P.bore / (2.0 * case.bay.wall_thickness),
        hottest_gas=float(curves["hot_temperature"].values.max()),
        electronics_pulse=None if pulse is None else float(pulse.values.max()),
    )


def _limits(case: Case, numbers: Numbers) -> list[Check]:
    checks = [
        Check("tube wall, hoop stress", numbers.hoop_stress,
              library.wall(case.bay.wall).tensile_strength, "stress", "stay below"),
    ]  # fmt: skip
    if case.limits.bay_pressure is not None:
        checks.append(
            Check("bay pressure", numbers.peak_pressure, case.limits.bay_pressure,
                  "gauge pressure", "stay below")
        )  # fmt: skip
    if case.limits.separation_velocity is not None and numbers.clear_velocity is not None:
        checks.append(
            Check("separation velocity", numbers.clear_velocity,
                  case.limits.separation_velocity, "velocity", "stay below")
        )  # fmt: skip
    if numbers.cord_load is not None and numbers.cord_strength is not None:
        checks.append(
            Check(numbers.weakest_link, numbers.cord_load, numbers.cord_strength, "force",
                  "stay below")
        )  # fmt: skip
    return checks


def _verdict(
    case: Case, P: Parameters, track: run.Track, events: list[Event], numbers: Numbers,
    limits: list[Check], tears: bool,
) -> tuple[str, str, list[str]]:  # fmt: skip
    names = {e.name for e in events}
    failed_pins = any(name.endswith(("gone", "fails")) for name in names)
    good = track.status in (run.OPENED_END, run.TIME_END)
    exceeded = [c for c in limits if not c.met]
    reasons = []
    if "clear" in names:
        verdict = "opens hard" if exceeded else "opens"
        reasons += [f"{c.name}: {c.value / c.limit:.2f} times what it stands" for c in exceeded]
    elif not good:
        verdict = "undecided"
        reasons.append(MESSAGES[track.status])
    elif failed_pins or numbers.greatest_travel > MOVED_SHARE * P.stroke:
        verdict = "hangs"
        share = numbers.greatest_travel / P.stroke
        reasons.append(f"the shoulder moved {share:.0%} of its length and stopped")
    else:
        verdict = "stays shut"
        reasons.append(
            f"the bay reached {numbers.peak_pressure / max(numbers.pin_pressure, 1e-9):.0%} of "
            "the pressure that overcomes friction and pins"
        )
    if tears:
        reasons.append("the tube tears at the pin holes before the pins shear")
    contents = "not asked"
    if case.contents is not None and case.cord is not None:
        contents = "come out" if "contents out" in names else "stay in"
        if contents == "stay in" and "clear" in names:
            reasons.append(_why_contents_stay(names))
    return verdict, contents, reasons


def _why_contents_stay(names: set[str]) -> str:
    if "cord taut" in names:
        return "the cord is taut before the contents have left the tube: too short for its packing"
    if "contents picked up" not in names:
        return "the sections came to rest before the cord pulled at the contents"
    return "the contents stopped the sections: too little speed for their drag in the tube"


def static_rule(case: Case) -> StaticRule:
    """Return what the static rule says of a case.

    Parameters
    ----------
    case : Case
        Validated case.
    """
    volume = geometry.free_volume(case).total
    hold = geometry.static_hold(case)
    target = case.rule.target
    needed = target + hold.pins / hold.area
    powdered = case.powder is not None
    if case.powder is not None:
        promised = rule.pressure(case.powder.mass, volume)
    else:
        assert case.cold_gas is not None
        promised = rule.gas_pressure(case.cold_gas.pressure, case.cold_gas.volume, volume)
    return StaticRule(
        free_volume=volume,
        area=hold.area,
        promised_pressure=promised,
        target_pressure=target,
        target_force=rule.force(target, hold.area),
        needed_pressure=needed,
        target_mass=rule.charge_mass(target, volume) if powdered else math.nan,
        needed_mass=rule.charge_mass(needed, volume) if powdered else math.nan,
    )


def _temperature_mixed(P: Parameters, m_b: float) -> tuple[float, float]:
    """Return temperature and gauge pressure of all bay air and m_b products, mixed at once."""
    R_b, c0_b, c1_b, R_a, c0_a, c1_a = P.gas
    m_a = P.initial[P.bay, 1] + P.initial[P.bay, 3]
    U = m_b * P.powder_energy + P.initial[P.bay, 2] + P.initial[P.bay, 4]
    T = gas.temperature(U, m_b * c0_b + m_a * c0_a, m_b * c1_b + m_a * c1_a)
    free = P.volume[P.bay] - P.covolume * m_b
    return float(T), float((m_b * R_b + m_a * R_a) * T / free - P.p_ambient)


HELD_TIME = 0.4
"""Longest time [s] for which a held bay is followed in search of its peak."""


def held(P: Parameters) -> Parameters:
    """Return the same shot with the joint held shut."""
    return P._replace(friction=NEVER)


def held_peak(P: Parameters) -> float:
    """Return the peak gauge pressure [Pa] of a bay whose joint is held shut."""
    track = run.integrate(held(P), P.start_time + HELD_TIME, 1e-6)
    seen = run.observe(track, P)
    return float(seen.volumes[:, P.bay, 0].max()) - P.p_ambient


def bridge(case: Case, P: Parameters, peak: float) -> Bridge:
    """Walk from the static rule's pressure to the run's peak, one effect at a time.

    Each step adds one effect to the bay held shut; the last lets the joint move.

    Parameters
    ----------
    case : Case
        The case.
    P : Parameters
        The same as floats.
    peak : float
        Peak gauge pressure of the run [Pa].
    """
    steps = [("static rule", static_rule(case).promised_pressure)]
    sealed = P._replace(opening_area=np.where(P.opening_from == P.bay, 0.0, P.opening_area))
    if case.powder is not None:
        all_burnt = _temperature_mixed(P, P.charge_mass)[1]
        steps.append(("all its heat, mixed at once", all_burnt))
        share = P.charge_mass * P.burnt_ceiling
        steps.append(("powder thrown unburnt", _temperature_mixed(P, share)[1]))
        steps.append(("heat into the walls", held_peak(sealed._replace(mixing_time=1e-3))))
    steps.append(("slow mixing", held_peak(sealed)))
    shut = held_peak(P)
    steps.append(("vents and leaks", shut))
    steps.append(("joint moves", peak))
    return Bridge(tuple(steps), shut)


def _budget(case: Case, P: Parameters, seen: run.Observed, modes: np.ndarray) -> Budget:
    y0, y = seen.states[0], seen.states[-1]
    R_b, c0_b, c1_b, _, c0_a, c1_a = P.gas
    u_b = gas.specific_energy(P.T_ambient, c0_b, c1_b)
    u_a = gas.specific_energy(P.T_ambient, c0_a, c1_a)
    cells0 = y0[at.VOLUMES : P.surfaces_at].reshape(-1, at.PER_VOLUME)
    cells = y[at.VOLUMES : P.surfaces_at].reshape(-1, at.PER_VOLUME)
    burnt = P.burnt_ceiling * powder.burnt_fraction(y[at.DEPTH], P.r_low, P.r_high)
    made = P.charge_mass * burnt
    doors = y[P.openings_at : P.books_at].reshape(-1, at.PER_OPENING)
    out = np.where(P.opening_to == OUTSIDE, 1.0, np.where(P.opening_from == OUTSIDE, -1.0, 0.0))
    heat = y[P.surfaces_at : P.openings_at].reshape(-1, P.skin_rates.size + 1)[:, -1]
    book = y[P.books_at :]

    terms: dict[str, float] = {}
    energy = cells[:, 2].sum() + cells[:, 4].sum()
    kept = energy - u_b * cells[:, 0].sum() - u_a * (cells[:, 1].sum() + cells[:, 3].sum())
    if case.powder is not None:
        total = P.charge_mass * (P.powder_energy - u_b)
        terms["not burnt"] = (P.charge_mass - made) * (P.powder_energy - u_b)
        share = library.powder(case.powder.grade).condensed_heat_share
        T1 = seen.volumes[-1, :, 2]
        salts = share * float(np.sum(cells[:, 0] * (c0_b * (T1 - P.T_ambient))))
        terms["hot salts"] = salts
        terms["hot gas and air"] = kept - salts
    else:
        total = _stored_energy(case, R_b, c0_b, c1_b, P.T_ambient)
        terms["left in the gas"] = total + kept
    for j, name in enumerate(params.surface_names(case)):
        terms[name] = float(heat[j])
    for j, name in enumerate(params.opening_names(case)):
        if out[j] != 0.0:
            lost = doors[j, 2] - u_b * doors[j, 0] - u_a * doors[j, 1]
            terms[f"through {name}"] = terms.get(f"through {name}", 0.0) + float(out[j] * lost)
    terms["pushing the outside air"] = float(book[at.BOOK_AIR])
    nose, frame = r.masses(modes, pack(P))
    motion = 0.5 * float(nose * y[at.NOSE_V] ** 2 + frame * y[at.FRAME_V] ** 2)
    terms |= {
        "friction": float(book[at.BOOK_FRICTION]),
        "pins": float(book[at.BOOK_PINS]),
        "stand and ground": float(book[at.BOOK_GROUND]),
        "contents": float(book[at.BOOK_PACKING]),
        "cord": float(book[at.BOOK_CORD]),
        "impacts": float(book[at.BOOK_IMPACT]),
        "lifting and drag": -float(book[at.BOOK_OUTSIDE]),
        "motion left": motion,
    }
    spent = sum(
        book[n] for n in range(at.BOOKS) if n not in (at.BOOK_PUSH, at.BOOK_AIR, at.BOOK_OUTSIDE)
    )
    gas_residual = (
        energy - (cells0[:, 2].sum() + cells0[:, 4].sum()) - made * P.powder_energy
        + heat.sum() + float(out @ doors[:, 2]) + book[at.BOOK_PUSH] + book[at.BOOK_AIR]
    )  # fmt: skip
    mass = cells[:, [0, 1, 3]].sum() - cells0[:, [0, 1, 3]].sum() - made
    return Budget(
        total=float(total),
        terms=terms,
        gas_residual=float(gas_residual),
        motion_residual=float(book[at.BOOK_PUSH] + book[at.BOOK_OUTSIDE] - spent - motion),
        mass_residual=float(mass + out @ (doors[:, 0] + doors[:, 1])),
    )


def _stored_energy(case: Case, R: float, c0: float, c1: float, T: float) -> float:
    """Return the energy stored in a reservoir above ambient pressure, p V/(g - 1) [J]."""
    assert case.cold_gas is not None
    return case.cold_gas.pressure * case.cold_gas.volume * (c0 + c1 * T) / R
