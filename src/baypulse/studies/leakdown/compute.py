"""The leak-down test: from a falling gauge to the leak, and from the leak to the charge."""

from __future__ import annotations

import math
from collections.abc import Iterator
from copy import copy
from dataclasses import replace

import numpy as np
from scipy.special import ndtri

from baypulse.case import equivalent_holes, geometry, params
from baypulse.case.casefile.keys import value_at
from baypulse.case.held_value import with_value
from baypulse.case.model import Case, Opening, Spread
from baypulse.case.quantities import show
from baypulse.members import draws
from baypulse.members.blocks import Progress
from baypulse.members.chances import chance
from baypulse.members.charges import Charges, Tally, charge_path, works
from baypulse.members.ensemble import Ensemble
from baypulse.members.parts import StudyError
from baypulse.run.pumped_bay import Vessel, fall, pumped_temperature, vessel_of
from baypulse.run.result import EventKind, Result
from baypulse.run.simulation import simulate
from baypulse.studies.leakdown.bench import check_area, check_case, check_test
from baypulse.studies.leakdown.recorded_falls import MISFIT, from_trace, the_fall
from baypulse.studies.leakdown.result import (
    HOLE_DISCHARGE,
    LEAK,
    Estimate,
    Falls,
    LeakDown,
    LeakShot,
    LeakShots,
    Settling,
    Trace,
    hole,
)
from baypulse.studies.leakdown.shoulder_gap import area_of_gap, gap_of_area
from baypulse.studies.leakdown.timed_falls import COLUMNS, from_falls
from baypulse.studies.leakdown.words import area, psi

MEMBERS = (16, 1024)
"""How many members the charge can be tried with."""

VOLUME_ERROR = 0.05
"""Standard deviation of the logarithm of a free volume for which the case gives no spread;
estimate: packed cloth is measured by pressing it into a tube."""

NO_ERROR = 0.01
"""Below it the case is taken to give no spread of the volume."""

SETTLED = 0.02
"""Share of the watched fall that cooling may still take."""

POINTS = 200
"""Of the curves of a fall."""

TOLD_APART = 0.02
"""Change of the nominal peak from which a gap in place of a hole is told; our choice."""

BEYOND = 1.25
"""The curves go on behind the last reading to so many times its time."""


def leakdown(
    case: Case,
    test: Falls | Trace,
    members: int = 256,
    seed: int = 1,
    workers: int = 1,
    progress: Progress | None = None,
    altitude: float | None = None,
) -> LeakDown:
    """Find the leak of a bay from a leak-down test, and what it does to the charge.

    Parameters
    ----------
    case : Case
        With its spreads. Its own openings are taken as plugged during the test.
    test : Falls or Trace
        What was measured.
    members : int
        Shots with and without the leak, from 16 to 1024.
    seed : int
        The same seed gives the same members.
    workers : int
        Threads; the answer does not depend on them.
    progress : callable, optional
        Called with runs done, and about how many there will be.
    altitude : float, optional
        Of the bench above sea level [m]; see :func:`baypulse.run.pumped_bay.bench_air`.

    Raises
    ------
    StudyError
        If what was measured is impossible, or no leak follows from it.
    """
    if not MEMBERS[0] <= members <= MEMBERS[1]:
        raise StudyError(
            f"{members} simulated shots are asked for; give from {MEMBERS[0]} to {MEMBERS[1]}"
        )
    check_case(case)
    check_test(case, test, altitude)
    vessel = vessel_of(case, altitude)
    volumes, z, error, assumed = _volumes(case, vessel, seed)
    if isinstance(test, Falls):
        estimate = from_falls(vessel, test, volumes, z)
        start, watched = test.start, test.start - test.end
        last = float(np.mean(test.times))
    else:
        estimate = from_trace(vessel, test, error)
        assert estimate.readings is not None
        start = estimate.readings.start
        last = float(estimate.readings.time[-1])
        watched = start + estimate.readings.zero - float(estimate.readings.pressure[-1])
    check_area(case, estimate)
    # a recorded fall may go on until nothing is left; the gap is compared down to a tenth
    end = max(start - watched, 0.1 * start)
    clearance = area_of_gap(case, vessel, start, end)
    shots = _shots(case, estimate, clearance, members, seed, workers, progress)
    times = np.linspace(0.0, BEYOND * last, POINTS)
    fast, slow = _ends(estimate)
    return LeakDown(
        case=case,
        test=test,
        seed=seed,
        air=(vessel.pressure, vessel.temperature),
        volume=vessel.volume,
        volume_error=error,
        volume_assumed=assumed,
        estimate=estimate,
        settling=settling(vessel, start, watched),
        plugged=plugged(case, start),
        clearance=clearance,
        **vars(shots),
        times=times,
        fitted=fall(vessel, estimate.area, start, times),
        lowest=fall(vessel, fast, start, times),
        highest=fall(vessel, slow, start, times),
        warnings=(
            *_warnings(case, test, estimate, assumed, watched, start),
            *_if_a_gap(case, vessel, shots, (start, end)),
            *_elsewhere(case, altitude),
            *draws.truncations(case),
        ),
    )


def _elsewhere(case: Case, altitude: float | None) -> tuple[str, ...]:
    if altitude is not None or case.setting.kind != "flight":
        return ()
    return (
        "this case is a flight, so the test is taken as made at sea level; say where it was made "
        'with --altitude, such as "300 m"',
    )


def settling(vessel: Vessel, start: float, watched: float) -> Settling:
    """Return what pumping does to the air, and how long it must settle.

    Parameters
    ----------
    vessel : Vessel
        The bay.
    start : float
        Gauge pressure that it was pumped to [Pa].
    watched : float
        Fall that is watched afterwards [Pa].
    """
    gauge = max(start, 0.0)
    warm = pumped_temperature(vessel, gauge)
    drop = (vessel.pressure + gauge) * (1.0 - vessel.temperature / warm)
    time = vessel.settling_time(gauge)
    left = max(drop / max(SETTLED * watched, 1e-9), 1.0)
    return Settling(warm - vessel.temperature, drop, time, time * math.log(left))


def plugged(case: Case, gauge: float) -> tuple[tuple[str, float], ...]:
    """Return the case's own openings of the bay and their effective areas [m^2].

    Parameters
    ----------
    case : Case
        A single one.
    gauge : float
        Gauge pressure at which a slot is compared with a hole [Pa].
    """
    return tuple(
        (each.name, float(equivalent_holes.opening_area(case, each, gauge)))
        for each in case.openings
        if "bay" in (each.between, each.to)
    )


def with_leak(case: Case, estimate: Estimate) -> Case:
    """Return the case with the leak in place of the shoulder's clearance.

    The bay was watched with its shoulder in place, so what leaked by the shoulder is in the
    measured area already: the clearance is set to nothing, or it would count twice.

    Parameters
    ----------
    case : Case
        As given.
    estimate : Estimate
        Of the leak; where only a bound is told, the bound stands, and does not scatter.
    """
    closed = with_value(case, "joint.clearance", 0.0)
    path = f"openings[{len(case.openings)}].diameter"
    diameter = float(hole(estimate.telling))
    spreads = dict(closed.spreads)
    if estimate.measurable:
        # a diameter goes with the root of an area
        deviation = _deviation(diameter, 0.5 * estimate.deviation)
        spreads[path] = Spread(distribution="log-normal", deviation=deviation, low=0.0, high=1.0)
    leak = Opening(name=LEAK, diameter=diameter, discharge=HOLE_DISCHARGE)
    return replace(closed, openings=(*closed.openings, leak), spreads=spreads)


def _deviation(value: float, of_logarithm: float) -> float:
    """Return the standard deviation of a log-normal value from that of its logarithm.

    With the median v and w = exp(s^2) it is v sqrt(w (w - 1)).
    """
    w = math.exp(of_logarithm**2)
    return value * math.sqrt(w * (w - 1.0))


def _ends(estimate: Estimate) -> tuple[float, float]:
    """Return the area's ends where the free volume is as given: the fall tells area over volume."""
    if not estimate.measurable:
        return estimate.high, estimate.low
    of_volume = dict(estimate.causes).get("the free volume", 0.0)
    reach = float(ndtri(0.975)) * estimate.deviation * math.sqrt(max(1.0 - of_volume, 0.0))
    return estimate.area * math.exp(reach), estimate.area * math.exp(-reach)


def _volumes(case: Case, vessel: Vessel, seed: int) -> tuple[np.ndarray, np.ndarray, float, bool]:
    """Return volumes and scores of members, the volumes' error, and whether it is assumed."""
    plan = Ensemble(case, draws.BLOCK, seed)
    held = plan.dimensions
    u = draws.unit_points(seed, 0, held + COLUMNS + 1)
    drawn = draws.member_case(case, draws.values(case, plan.factors, u[:, :held]))
    z = ndtri(u[:, held:])
    free = np.broadcast_to(geometry.free_volume(drawn).total, (draws.BLOCK,))
    # members without room are no bays
    volumes = np.maximum(free, 0.05 * vessel.volume)
    error = float(np.log(volumes).std())
    if error >= NO_ERROR:
        return volumes, z[:, :COLUMNS], error, False
    return vessel.volume * np.exp(VOLUME_ERROR * z[:, COLUMNS]), z[:, :COLUMNS], VOLUME_ERROR, True


def _shots(
    case: Case, estimate: Estimate, clearance: float, members: int, seed: int, workers: int,
    progress: Progress | None,
) -> LeakShots:  # fmt: skip
    leaking = with_leak(case, estimate)
    path = f"openings[{len(case.openings)}].diameter"
    tight = with_value(leaking, path, 0.0)
    tally = Tally(progress, 2 * members + 3)
    wet = Charges(leaking, members, seed, workers, tally)
    dry = copy(wet)
    dry.case = tight
    dry.values = {each: drawn for each, drawn in wet.values.items() if each != path}
    present = float(value_at(case, charge_path(case)))
    with_it, without = works(wet.fire(present)), works(dry.fire(present))

    def shot(name: str, shot_case: Case, area: float, opened: np.ndarray | None) -> LeakShot:
        result = simulate(shot_case)
        tally.add(1)
        opens = None if opened is None else chance("separates", int(opened.sum()), opened.size)
        return LeakShot(name, area, result, result.breakdown.held_peak, opens)

    lossy = shot("with the leak", leaking, estimate.telling, with_it)
    gone, bleed, until = _leaked(lossy.result)
    return LeakShots(
        measured_case=leaking,
        tight=shot("tight", tight, 0.0, without),
        leaking=lossy,
        given=shot("as given", case, clearance, None),
        lost=int((without & ~with_it).sum()),
        gained=int((with_it & ~without).sum()),
        gone=gone,
        bleed=bleed,
        gone_until=until,
    )


def _leaked(result: Result) -> tuple[float, float, float]:
    """Return the share of the gas that the leak takes, its time to empty the bay, and until when.

    The share is of all gas that was in the bay or has left it by then.
    """
    case = result.case
    P = params.parameters(case)
    names = params.opening_names(case)
    flows = [c.values for c in result.curves.values() if c.dimension == "mass flow"]
    time = result.time
    parts = ("products_mass", "hot_air_mass", "cold_air_mass")
    inside = np.sum([result.curves[name].values for name in parts], axis=0)
    start = result.event(EventKind.START)
    begin = start.time if start is not None else 0.0
    clear = result.numbers.clear_time
    end = result.numbers.peak_time if clear is None else clear
    until = time <= end

    def passed(flow: np.ndarray) -> float:
        return float(np.trapezoid(flow[until], time[until]))

    leak = flows[names.index(LEAK)]
    out = 0.0
    for flow, one, two in zip(flows, P.opening_from, P.opening_to, strict=True):
        if P.bay in (one, two) and P.source not in (one, two):
            out += passed(flow) if one == P.bay else -passed(flow)
    whole = float(inside[until][-1]) + out
    peak = int(np.argmax(result.gauge_pressure))
    at_peak = float(leak[peak])
    bleed = float(inside[peak]) / at_peak if at_peak > 0.0 else math.inf
    return max(passed(leak), 0.0) / whole, bleed, max(end - begin, 0.0)


def _warnings(
    case: Case,
    test: Falls | Trace,
    estimate: Estimate,
    assumed: bool,
    watched: float,
    start: float,
) -> tuple[str, ...]:
    found: list[str] = []
    if isinstance(test, Trace):
        cut = the_fall(test)[2]
        if cut > 0.0:
            found.append(
                f"the first {show(cut, 'time')} of the record were left out: the pressure "
                "still rose"
            )
    own = sum(area for _, area in plugged(case, start))
    if own > 0.0 and estimate.measurable and estimate.high >= 0.9 * own:
        found.append(
            f"the leak, {area(estimate.area)}, is {_like(estimate, own)} the case's own openings, "
            f"{area(own)} together: if they were not plugged, they count twice here; plug them "
            "and test again"
        )
    hold = geometry.static_hold(case)
    highest = test.start if isinstance(test, Falls) else float(test.pressure.max())
    if highest > hold.pressure:
        found.append(
            f"at {psi(highest)} this joint slides: friction and pins hold {psi(hold.pressure)}; "
            "unless it was held by other means, it was not where the shot finds it"
        )
    if assumed:
        found.append(
            "the case gives no spread for its free volume, so "
            f"{100.0 * VOLUME_ERROR:g} % were assumed; the area goes with the volume: give "
            "contents.volume a spread"
        )
    read = estimate.readings
    if read is not None:
        if not read.zero_told:
            found.append(
                "the record does not go on until the pressure is nearly gone, so it does not tell "
                "the gauge's zero: that is taken to err by "
                f"{psi(test.gauge_error)}, as one standard deviation"
            )
        if _waviness(estimate) > MISFIT * max(watched, 1e-9):
            found.append(
                "the recorded fall does not follow that of one hole within "
                f"{100.0 * MISFIT:g} %: the leak is a thin gap, or changes with the "
                "pressure (a lip, a tape, a valve), or the air was still cooling after the pump"
            )
    return tuple(found)


def _if_a_gap(
    case: Case, vessel: Vessel, shots: LeakShots, between: tuple[float, float]
) -> Iterator[str]:
    """Say what the shot would be if the measured leak were all in the gap around the shoulder."""
    gap = gap_of_area(case, vessel, shots.leaking.area, *between)
    if gap is None:
        return
    hole = shots.leaking.result.numbers.peak_pressure
    peak = simulate(with_value(case, "joint.clearance", gap)).numbers.peak_pressure
    if abs(peak - hole) > TOLD_APART * hole:
        yield (
            "the leak is reckoned with as a hole; a thin gap passes more of a charge's pressure: "
            f"were it all in the gap around the shoulder, {show(gap, 'length')} all round, "
            f"the nominal peak would be {psi(peak)} in place of {psi(hole)}"
        )


def _waviness(estimate: Estimate) -> float:
    """Return the noise of the fit that its readings share with their neighbours [Pa]."""
    read = estimate.readings
    assert read is not None
    return read.noise if read.effective < 0.3 * read.time.size else 0.0


def _like(estimate: Estimate, own: float) -> str:
    return "larger than" if estimate.low > own else "as large as"
