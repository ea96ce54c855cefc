"""The altimeter's study: its tail against independent solutions, its leak against brute force."""

from __future__ import annotations

import math
import warnings
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from baypulse import simulate
from baypulse.case import params
from baypulse.case.casefile import reads
from baypulse.case.held_value import with_value
from baypulse.case.model import Case
from baypulse.engine import ensemble, run
from baypulse.engine import layout as at
from baypulse.members import draws
from baypulse.members.ensemble import Ensemble
from baypulse.members.outcomes import TOLERANCE
from baypulse.members.parts import StudyError
from baypulse.physics import gas
from baypulse.studies.altimeter import electronics_pulse
from baypulse.studies.altimeter.altitude_error import altitude_error, pressure_bounds
from baypulse.studies.altimeter.combined_openings import (
    LEAK,
    PORTS,
    hole_paths,
    one_hole,
    with_one_hole,
)
from baypulse.studies.altimeter.compute import altimeter
from baypulse.studies.altimeter.electronics_pulse import (
    CONVECTION,
    extremes,
    of_gas_alone,
    pulse,
)
from baypulse.studies.altimeter.result import Altimeters
from quick_bays import strand_text

CASES = Path(__file__).parents[3] / "cases"

FINE = 1e-7
"""Tolerance of a step for what is compared closely."""


@cache
def shipped() -> Case:
    """Return a shipped case with powder that burns by the law of a strand: quick to run."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return reads(strand_text((CASES / "many-152.toml").read_text("utf-8")), "many-152")


@cache
def bare() -> Case:
    return of_gas_alone(shipped())


@cache
def without_pins() -> Case:
    """Return the shipped case with a charge at which the nose does not separate or hangs.

    What breaks six pins throws the nose off: without them a little charge moves it on until its
    gas is spent.
    """
    spreads = {p: s for p, s in shipped().spreads.items() if not p.startswith("pins")}
    case = replace(shipped(), pins=None, spreads=spreads)
    return with_value(case, "powder.mass", 0.6e-3)


@cache
def weak() -> Case:
    """Return the gas alone of the case whose nose does not separate or hangs."""
    return of_gas_alone(without_pins())


@cache
def empty() -> Case:
    """Return the case without contents: what slides out of a bay like a piston sucks at it."""
    gone = {path: s for path, s in shipped().spreads.items() if not path.startswith("contents")}
    return replace(shipped(), contents=None, spreads=gone)


@cache
def found() -> Altimeters:
    return altimeter(empty(), wanted=0.95, workers=2)


def members(case: Case, count: int) -> dict[str, np.ndarray]:
    """Return members that have room for contents and grains."""
    plan = Ensemble(case, count, 1)
    values = draws.values(case, plan.factors, plan.points(0))
    _, P = draws.records(case, values, count)
    room = draws.possible(P, count)
    return {path: column[room] for path, column in values.items()}


# --- one pulse -------------------------------------------------------------------------------


def test_shot_is_the_run_of_the_engine() -> None:
    held, whole = pulse(bare(), 1e-7), simulate(shipped())
    peak = float(held.electronics.max()) - held.ambient
    assert peak == pytest.approx(whole.numbers.electronics_pulse, rel=1e-4)
    assert float(held.bay.max()) - held.ambient == pytest.approx(
        whole.numbers.peak_pressure, rel=1e-4
    )
    assert held.opened


def start_of_tail(case: Case) -> tuple[float, float, float, float]:
    """Return volume, pressure, temperature as air, and hole area when the shot is over."""
    held = pulse(case)
    k = int(np.searchsorted(held.times, held.shot_end))
    p = float(held.electronics[k])
    P = params.parameters(case)
    y = run.integrate(P, case.run.end_time, TOLERANCE).phases[-1].states[-1]
    i = at.VOLUMES + at.PER_VOLUME * P.electronics
    mass = float(y[i] + y[i + 1] + y[i + 3])
    V = float(P.volume[P.electronics])
    hole = [
        float(area)
        for a, b, area in zip(P.opening_from, P.opening_to, P.opening_area, strict=True)
        if P.electronics in (int(a), int(b))
    ]
    return V, p, p * V / (mass * gas.AIR_R), sum(hole)


def test_tail_follows_an_independent_integration() -> None:
    # air as a mixed volume that blows down through leak and ports (the bay is open to the
    # outside) and cools at walls of a cube's area; Saint-Venant and Wantzel's orifice law, by
    # scipy's LSODA; without contents, which would keep the main bay from being empty at once
    case = replace(with_value(bare(), "powder.mass", 8e-3), contents=None)
    V, p0, T0, area = start_of_tail(case)
    held, P = pulse(case), params.parameters(case)
    R, c0, c1, pa, Ta = gas.AIR_R, gas.AIR_C0, gas.AIR_C1, held.ambient, float(P.T_ambient)
    wall = 6.0 * V ** (2.0 / 3.0)

    def slope(_: float, state: np.ndarray) -> list[float]:
        m, T = state
        p, cv = m * R * T / V, c0 + c1 * T
        up, down, T_up, sign = (p, pa, T, 1.0) if p >= pa else (pa, p, Ta, -1.0)
        g = 1.0 + R / (c0 + c1 * T_up)
        r = max(down / up, (2.0 / (g + 1.0)) ** (g / (g - 1.0)))
        out = sign * area * up * math.sqrt(
            max(2.0 * g / (g - 1.0) / (R * T_up) * (r ** (2.0 / g) - r ** ((g + 1.0) / g)), 0.0)
        )  # fmt: skip

        def u(T: float) -> float:
            return c0 * T + 0.5 * c1 * T * T

        heat = CONVECTION * wall * (Ta - T)
        return [-out, (heat - out * (u(T_up) + R * T_up - u(T))) / (m * cv)]

    after = held.times > held.shot_end
    times = held.times[after] - held.shot_end
    kept = (times > 1e-4) & (times < 1.0)
    ivp = solve_ivp(slope, (0.0, 1.0), [p0 * V / (R * T0), T0], method="LSODA", rtol=1e-9,
                    atol=1e-12, t_eval=times[kept])  # fmt: skip
    expected = ivp.y[0] * R * ivp.y[1] / V - pa
    got = held.electronics[after][kept] - pa
    # the engine's law is straightened within 10 Pa of rest
    assert np.abs(got - expected).max() < 2e-4 * (p0 - pa)
    assert got.min() < -20.0  # suction of gas that cools


def test_choked_tail_follows_the_closed_form(monkeypatch: pytest.MonkeyPatch) -> None:
    # t = tau 2/(g-1) ((p0/p)^((g-1)/(2g)) - 1), tau = V/(Cd A k sqrt(R T0)): Shapiro, The Dynamics
    # and Thermodynamics of Compressible Fluid Flow, vol. 1 (1953), ch. 4 (from memory); no heat to
    # walls, a large leak and 14 km of altitude so that it chokes, and no contents that keep the gas
    # of the main bay from leaving at once
    monkeypatch.setattr(electronics_pulse, "CONVECTION", 0.0)
    case = replace(with_value(bare(), "powder.mass", 8e-3), contents=None)
    case = replace(case, surroundings=replace(case.surroundings, altitude=14e3, pressure=None,
                                              temperature=None))  # fmt: skip
    case = with_one_hole(case, LEAK, 14e-3)
    V, p0, T0, area = start_of_tail(case)
    held = pulse(case)
    after = (held.times > held.shot_end) & (held.electronics > 1.95 * held.ambient)
    assert after.sum() > 100
    t = held.times[after] - held.shot_end
    p = held.electronics[after]
    # the heat capacities' ratio at the mean temperature, by the isentrope of gas that stays behind;
    # it varies by 1 %
    colder = (float(p[-1]) / p0) ** (0.35 / 1.35)
    g = 1.0 + gas.AIR_R / (gas.AIR_C0 + gas.AIR_C1 * 0.5 * (1.0 + colder) * T0)
    k = math.sqrt(g) * (2.0 / (g + 1.0)) ** ((g + 1.0) / (2.0 * (g - 1.0)))
    tau = V / (area * k * math.sqrt(gas.AIR_R * T0))
    expected = tau * 2.0 / (g - 1.0) * ((p0 / p) ** ((g - 1.0) / (2.0 * g)) - 1.0)
    assert np.abs(t - expected).max() < 3e-3 * t.max()


def test_sealed_bulkhead_has_no_error_at_all() -> None:
    held = pulse(with_one_hole(bare(), LEAK, 0.0))
    assert np.abs(held.electronics - held.ambient).max() < 1e-6
    assert np.abs(altitude_error(held.electronics, held.ambient)).max() < 1e-6


def test_pulse_of_a_bay_that_stays_shut_goes_on_after_the_shot() -> None:
    # a small hole into a large, unported electronics bay fills for as long as the bay is full
    case = with_value(bare(), "powder.mass", 0.1e-3)
    case = with_one_hole(with_one_hole(case, LEAK, 1e-3), PORTS, 0.0)
    held = pulse(case)
    assert not held.opened
    assert held.times[held.electronics.argmax()] > held.shot_end
    _, high = extremes(case, {"powder.mass": np.array([0.1e-3])}, 1)
    assert high[0] == pytest.approx(float(held.electronics.max()) - held.ambient, rel=1e-4)


@pytest.mark.parametrize("case", [bare, weak], ids=["separates", "partial separation"])
def test_quick_extremes_are_those_of_members_followed_point_by_point(
    case: object, monkeypatch: pytest.MonkeyPatch
) -> None:
    one = case()  # type: ignore[operator]
    drawn = {path: column[:10] for path, column in members(one, 16).items()}
    usual = extremes(one, drawn, 10)[1]
    # so fine that what is left are the two ways, and not the steps that each of them takes
    monkeypatch.setattr(electronics_pulse, "TOLERANCE", FINE)
    suction, high = extremes(one, drawn, 10)
    # what the study's own steps err by, far below any scatter
    assert usual == pytest.approx(high, rel=5e-4)
    for k in range(10):
        held = pulse(draws.one_member(one, drawn, k), FINE)
        assert high[k] == pytest.approx(float(held.electronics.max()) - held.ambient, rel=2e-4)
        deepest = held.ambient - float(held.electronics.min())
        if not held.opened:
            # points of the curve may miss the very bottom
            assert suction[k] == pytest.approx(deepest, rel=2e-3, abs=0.5)
        else:
            # what is left out: the gas that cools after the shot
            assert -5e-4 * deepest - 0.5 < deepest - suction[k] < 0.02 * high[k]


def test_suction_of_a_row_is_the_lowest_point_of_the_curve() -> None:
    # a member whose nose moves on while its gas is spent
    drawn = members(weak(), 16)
    one = draws.one_member(weak(), drawn, 13)
    row = ensemble.run_members(draws.records(one, {}, 1)[0], 3.0, 1e-7)[0]
    finer = replace(one.run, tolerance=1e-8)
    curve = simulate(replace(one, run=finer)).curves["electronics_gauge_pressure"].values
    suction = row[ensemble.RunColumn.ELECTRONICS_SUCTION]
    assert suction == pytest.approx(-float(curve.min()), rel=1e-4)
    assert suction > 1000.0


@pytest.mark.parametrize("case", [bare, weak], ids=["separates", "partial separation"])
def test_every_member_suffers_more_from_a_larger_leak(case: object) -> None:
    one = case()  # type: ignore[operator]
    drawn = {path: column[:40] for path, column in members(one, 64).items()}
    drawn = {p: column for p, column in drawn.items() if p not in hole_paths(one, LEAK)}
    before = np.zeros(40)
    for diameter in np.geomspace(2e-4, 7e-3, 7):
        _, high = extremes(with_one_hole(one, LEAK, float(diameter)), drawn, 40)
        assert (high > before).all()
        before = high


# --- the study -------------------------------------------------------------------------------


def wrong_share(case: Case, diameter: float, error: float) -> float:
    """Return in which share of the members the error is reached, all of them run."""
    drawn = members(case, 512)
    drawn = {p: column for p, column in drawn.items() if p not in hole_paths(case, LEAK)}
    count = next(iter(drawn.values())).shape[0]
    suction, high = extremes(with_one_hole(case, LEAK, diameter), drawn, count)
    ambient = float(params.parameters(case).p_ambient)
    low, top = pressure_bounds(error, ambient)
    return float(((high >= top - ambient) | (suction >= ambient - low)).mean())


def test_largest_leak_is_that_of_brute_force() -> None:
    leak = found().leak
    assert leak.largest is not None
    assert leak.present == pytest.approx(7e-3)
    alone = of_gas_alone(empty())
    assert wrong_share(alone, leak.largest, 30.0) <= 0.05
    # brackets are closed to 1 %
    assert wrong_share(alone, 1.011 * leak.largest, 30.0) > 0.05
    assert leak.low < leak.largest < leak.high
    assert leak.chance is not None
    assert leak.chance.share >= 0.95
    assert leak.present_chance.count == 0


def test_altimeter_shows_too_low_while_the_pressure_is_high() -> None:
    each = found()
    k = int(each.errors.argmin())
    assert k == int(each.pulse.electronics.argmax())
    assert each.nominal.low == pytest.approx(-float(each.errors[k]))
    assert each.nominal.low_beyond > 0.02
    assert 0.0 < each.nominal.high < 0.01 * each.nominal.low
    # it is over: the outside's pressure again
    assert abs(float(each.errors[-1])) < 0.1
    assert abs(float(each.filtered[-1])) < 0.1


def test_filter_lowers_the_error_and_samples_lie_below_the_curve() -> None:
    one = found().nominal
    for span in (one.sampled, one.filtered):
        assert abs(span[0]) <= abs(span[1]) <= one.low
    assert abs(one.filtered[1]) < 0.2 * one.low
    inside = np.abs(found().filtered).max()
    assert abs(one.filtered[0]) <= inside <= abs(one.filtered[1])


def test_changes_do_what_they_should() -> None:
    changes = {each.name: each for each in found().changes}
    now = found().nominal
    twice = changes["twice the area of static ports"]
    four = changes["four times the area of static ports"]
    assert now.low > twice.low > four.low
    assert now.low_beyond > twice.low_beyond > four.low_beyond
    assert changes["leak of half the diameter"].low < now.low
    harmless = changes["leak as large as is harmless"]
    assert harmless.low < 30.0
    assert harmless.beyond == 0.0


def test_map_rises_with_the_leak_falls_with_the_ports_and_holds_the_case() -> None:
    each = found()
    assert (np.diff(each.grid, axis=0) > 0.0).all()
    assert (np.diff(each.grid, axis=1) < 0.0).all()
    x = np.interp(np.log(each.leak.present), np.log(each.leak_grid), np.arange(each.leak_grid.size))
    assert 0.0 < x < each.leak_grid.size - 1
    column = np.array([np.interp(np.log(each.leak.present), np.log(each.leak_grid), row)
                       for row in each.grid.T])  # fmt: skip
    here = np.interp(np.log(each.ports), np.log(each.port_grid), column)
    assert here == pytest.approx(each.nominal.low, rel=0.03)


def test_same_pulse_weighs_more_in_thin_air() -> None:
    errors = [error for _, error in found().aloft]
    assert errors == sorted(errors)
    assert errors[-1] > 1.5 * errors[0]


def test_answer_does_not_depend_on_threads(monkeypatch: pytest.MonkeyPatch) -> None:
    for name, value in (("MEMBERS", 64), ("FOLLOWED", 16), ("LEAKS", 3), ("PORT_SIZES", 2)):
        monkeypatch.setattr(f"baypulse.studies.altimeter.compute.{name}", value)
    one, two = (altimeter(shipped(), wanted=0.9, workers=workers) for workers in (1, 2))
    assert one.leak == two.leak
    assert (one.lows, one.durations, one.highs) == (two.lows, two.durations, two.highs)
    assert np.array_equal(one.grid, two.grid)


def test_largest_leak_of_a_bay_that_hangs_counts_suction_too(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    for name, value in (("MEMBERS", 64), ("FOLLOWED", 4), ("LEAKS", 3), ("PORT_SIZES", 2)):
        monkeypatch.setattr(f"baypulse.studies.altimeter.compute.{name}", value)
    each = altimeter(without_pins(), wanted=0.9, workers=2)
    assert each.leak.largest is not None
    drawn = members(weak(), 64)
    drawn = {p: column for p, column in drawn.items() if p not in hole_paths(weak(), LEAK)}
    count = next(iter(drawn.values())).shape[0]
    ambient = each.pulse.ambient
    low, top = pressure_bounds(30.0, ambient)
    for factor, good in ((1.0, True), (1.011, False)):
        set_to = with_one_hole(weak(), LEAK, factor * each.leak.largest)
        wrong = 0
        for k in range(count):
            held = pulse(draws.one_member(set_to, drawn, k))
            wrong += held.electronics.max() >= top or held.electronics.min() <= low
        assert (wrong <= 0.1 * count) == good


# --- what cannot be answered -----------------------------------------------------------------


def test_case_without_electronics_or_leak_is_told_what_to_add() -> None:
    case = shipped()
    with pytest.raises(StudyError, match=r"no electronics bay; add [\s\S]*\[electronics\]\nvolume"):
        altimeter(replace(case, electronics=None, openings=()))
    sealed = replace(case, openings=tuple(o for o in case.openings if o.name != "wire hole"))
    with pytest.raises(StudyError, match=r"no opening leads[\s\S]*between = \"bay\"\nto = \"elec"):
        altimeter(sealed)
    with pytest.raises(StudyError, match="no opening leads"):
        altimeter(with_one_hole(case, LEAK, 0.0))


@pytest.mark.parametrize(
    ("error", "wanted"), [(0.05, 0.9), (2000.0, 0.9), (30.0, 0.4), (30.0, 1.0)]
)
def test_impossible_questions_are_refused(error: float, wanted: float) -> None:
    with pytest.raises(StudyError, match="is asked for; give one from"):
        altimeter(shipped(), error=error, wanted=wanted)


def test_error_that_leaves_the_standard_atmosphere_is_refused() -> None:
    low = replace(shipped(), surroundings=replace(shipped().surroundings, pressure=119e3))
    with pytest.raises(StudyError, match="leave the standard atmosphere"):
        altimeter(low, error=1000.0)


def test_as_one_hole_the_case_is_the_same() -> None:
    case = with_one_hole(with_one_hole(bare(), LEAK, one_hole(bare(), LEAK)), PORTS,
                         one_hole(bare(), PORTS))  # fmt: skip
    assert pulse(case).electronics.max() == pytest.approx(pulse(bare()).electronics.max(), rel=1e-9)
