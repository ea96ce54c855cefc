"""A run ends only when nothing more can happen to the joint: held against runs that are not cut."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from scipy.integrate import solve_ivp

import baypulse
from baypulse.case.model import Case, Electronics, Opening
from baypulse.case.params import parameters
from baypulse.engine import rates as r
from baypulse.engine import run
from baypulse.engine.event import EventCode
from baypulse.engine.gasside import WORK
from baypulse.engine.parameters import pack
from baypulse.engine.rates import Force
from baypulse.run.simulation import interpret

ROOT = Path(__file__).parents[2]

BEYOND = 60.0
"""How far the gas is followed after the end [s]; its walls have taken all heat by then."""


def never_cut(case: Case, beyond: float = BEYOND) -> tuple[str, float, float]:
    """Return the verdict, and what is left over of the hold, at least, after the end of the run.

    The gas of a joint that is at rest at the end goes on without any event, by scipy's LSODA on the
    same rates: the joint would have moved if what it needs had ever reached the hold. Also the
    share by which the pressure exceeds the peak that was reported.
    """
    P = parameters(case)
    track = run.integrate(P, case.run.end_time, case.run.tolerance)
    result = interpret(case, P, track, run.observe(track, P))
    phase = track.phases[-1]
    if track.events[-1][1] != EventCode.IDLE:
        return result.verdict, np.inf, 0.0
    record, y = pack(P), phase.states[-1].copy()
    work, force = np.empty((P.volume.size, WORK)), np.empty(r.FORCES)
    dy = np.empty_like(y)

    def slope(t: float, state: np.ndarray) -> np.ndarray:
        r.rates(t, state, phase.modes, phase.memory, record, work, force, dy)
        return dy.copy()

    left = []
    peak = 0.0
    # what does not feed back is left out
    y = y[: P.heats_at]
    dy = np.empty_like(y)
    far = solve_ivp(
        slope, (0.0, beyond), y, method="LSODA", rtol=1e-7, atol=1e-14, dense_output=False,
    )  # fmt: skip
    assert far.success, far.message
    for state in far.y.T:
        slope(0.0, state)
        left.append((force[Force.BREAKAWAY] - force[Force.CONSTRAINT]) / force[Force.BREAKAWAY])
        peak = max(peak, work[P.bay, 0] - P.p_ambient)
    return result.verdict, min(left), peak / result.numbers.peak_pressure - 1.0


def cold_gas() -> Case:
    return baypulse.load(ROOT / "cases" / "cold-gas-98.toml")


@pytest.mark.parametrize("orifices", np.array_split(np.geomspace(0.1e-3, 6e-3, 200), 8))
def test_orifices_from_a_tenth_of_a_millimetre_up(orifices: np.ndarray) -> None:
    # the reservoir holds enough to open this bay through any orifice: the slower, the nearer to
    # the pressure of both volumes together
    case = cold_gas()
    for orifice in orifices:
        source = replace(case.cold_gas, orifice=float(orifice))
        shot = replace(case, cold_gas=source, run=replace(case.run, end_time=600.0))
        verdict, left, _ = never_cut(shot)
        assert verdict == "separates", f"{1e3 * orifice:.3f} mm: {verdict}"
        assert left > 0.0


@pytest.mark.parametrize("name", ["bench-76", "main-98"])
@pytest.mark.parametrize("factor", np.geomspace(0.02, 1.0, 10))
def test_slow_powder(name: str, factor: float) -> None:
    case = baypulse.load(ROOT / "cases" / f"{name}.toml")
    shot = replace(case, powder=replace(case.powder, rate_factor=float(factor)))
    verdict, left, higher = never_cut(shot)
    assert verdict in ("no separation", "partial separation", "separates", "separates too hard")
    assert left > 0.0, f"a joint that {verdict} would have moved"
    assert higher < 0.02


@pytest.mark.parametrize(("orifice", "hole"), [(0.3e-3, 37e-3), (3e-3, 12e-3)])
def test_a_reservoir_in_a_bay_with_wide_holes_need_not_run_empty(
    orifice: float, hole: float
) -> None:
    # what it gives becomes less and less, so that a pressure that falls below half the hold, with
    # the joint at rest, never reaches it; holes into a small space are level within microseconds,
    # and were once followed for as long as the reservoir lasts
    case = cold_gas()
    shot = replace(
        case,
        cold_gas=replace(case.cold_gas, orifice=orifice, pressure=2e5),
        electronics=Electronics(volume=5e-5),
        openings=(
            Opening(name="vent", between="bay", to="outside", diameter=hole),
            Opening(name="bulkhead", between="bay", to="electronics", diameter=hole),
        ),
    )
    verdict, left, higher = never_cut(shot, 1.0)
    assert verdict == "no separation"
    assert left > 0.0 and higher < 1e-3
    P = parameters(shot)
    assert run.integrate(P, shot.run.end_time, 1e-6).steps < 20_000


def test_a_run_that_is_cut_while_the_joint_may_still_open_is_undecided() -> None:
    case = cold_gas()
    source = replace(case.cold_gas, orifice=0.3e-3)
    cut = baypulse.simulate(replace(case, cold_gas=source, run=replace(case.run, end_time=1.0)))
    assert cut.verdict == "undecided"
    assert "end_time" in " ".join(cut.reasons)
