"""Slots of a case on their way to the core, and as holes."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from baypulse.case import equivalent_holes, geometry, params
from baypulse.case.casefile import reads
from baypulse.case.held_value import with_value
from baypulse.case.model import Case
from baypulse.engine.parameters import ALWAYS, SHOULDER, SLOT, pack_members
from baypulse.members import draws
from baypulse.members.ensemble import Ensemble
from baypulse.physics import flow, gas, slot
from baypulse.run.breakdown import held_peak
from baypulse.run.simulation import simulate
from baypulse.studies.altimeter.combined_openings import (
    LEAK,
    SLOT_GAUGE,
    hole_paths,
    one_hole,
    with_one_hole,
)
from report_cases import BENCH

LID = """
[electronics]
volume = "500 cm^3"

[[openings]]
name = "lid"
between = "bay"
to = "electronics"
gap = { value = "0.1 mm", spread = "20 %" }
width = "230 mm"
length = "12 mm"
count = 2
"""


def lidded() -> Case:
    text = BENCH.replace("pull_off = {", 'clearance = "0.05 mm"\npull_off = {')
    return reads(text + LID, "lidded")


def test_a_slot_reaches_the_core_by_what_was_measured() -> None:
    case = lidded()
    P = params.parameters(case)
    kinds = dict(zip(params.opening_names(case), P.opening_kind.tolist(), strict=True))
    assert kinds["vent"] == ALWAYS
    assert kinds["lid"] == SLOT
    assert kinds["clearance"] == SHOULDER
    lid, gap = (params.opening_names(case).index(name) for name in ("lid", "clearance"))
    assert P.opening_area[lid] == pytest.approx(2 * 0.230 * 1e-4)
    assert (P.opening_gap[lid], P.opening_length[lid]) == (1e-4, 0.012)
    # the plain area of the gap, its circumference that of the bore
    assert P.opening_area[gap] == pytest.approx(math.pi * 0.076 * 5e-5)
    assert P.opening_gap[params.opening_names(case).index("vent")] == 0.0


def test_still_air_meets_the_shoulder_at_its_whole_length() -> None:
    network = params.slow_network(lidded())
    held = [tuple(row) for row in network.opening_slot.tolist()]
    assert (5e-5, 0.076, params.LEAK_DISCHARGE) in held
    assert (1e-4, 0.012, 0.65) in held
    assert (0.0, 0.0, 0.0) in held


def test_gaps_of_members_scatter() -> None:
    case = lidded()
    plan = Ensemble(case, 64, 1)
    values = draws.values(case, plan.factors, draws.unit_points(1, 0, plan.dimensions))
    P = params.parameters(draws.member_case(case, values))
    lid = params.opening_names(case).index("lid")
    members = P.opening_gap.shape[0]
    assert P.opening_gap[:, lid].std() == pytest.approx(0.2e-4, rel=0.1)
    assert P.opening_area[:, lid] == pytest.approx(2 * 0.230 * P.opening_gap[:, lid])
    rows = pack_members(P, members)
    assert (rows.opening_gap[:, lid] == P.opening_gap[:, lid]).all()


def test_a_sealed_bay_has_no_gap_left() -> None:
    case = replace(lidded(), openings=())
    P = params.parameters(case)
    sealed = P._replace(opening_area=np.where(P.opening_from == P.bay, 0.0, P.opening_area))
    closed = params.parameters(with_value(case, "joint.clearance", 0.0))
    assert held_peak(sealed) == pytest.approx(held_peak(closed), rel=1e-6)
    assert held_peak(sealed) > 1.01 * held_peak(P)


def test_a_slot_as_a_hole_passes_as_much_at_the_pressure_that_was_asked_for() -> None:
    case = lidded()
    p, T = geometry.air(case)
    g = 1.0 + gas.AIR_R / (gas.AIR_C0 + gas.AIR_C1 * T)
    for gauge in (5e3, 100e3):
        rho = (p + gauge) / (gas.AIR_R * T)
        by_hole = equivalent_holes.gap_area(case, gauge) * flow.mass_flux(p + gauge, rho, p, g)
        around = math.pi * 0.076 * 5e-5
        by_slot = around * slot.slot_flux(p + gauge, rho, p, g, gas.AIR_R, 5e-5, 0.076, T, 0.6)
        assert by_hole == pytest.approx(by_slot, rel=1e-12)
    # a hole is one at any pressure
    vent = case.openings[0]
    assert equivalent_holes.opening_area(case, vent, 5e3) == equivalent_holes.opening_area(
        case, vent, 100e3
    )


def test_one_hole_takes_the_place_of_a_slot() -> None:
    case = lidded()
    lid = case.openings[1]
    size = one_hole(case, LEAK)
    assert 0.65 * 0.25 * math.pi * size**2 == pytest.approx(
        equivalent_holes.opening_area(case, lid, SLOT_GAUGE), rel=1e-12
    )
    assert "openings[1].gap" in hole_paths(case, LEAK)
    held = with_one_hole(case, LEAK, size)
    assert held.openings[1].gap is None
    assert "openings[1].gap" not in held.spreads
    kinds = params.parameters(held).opening_kind
    assert kinds[1] == ALWAYS


def test_a_slot_lets_gas_into_the_electronics_bay() -> None:
    result = simulate(lidded())
    assert result.good
    flows = result.curves["lid_flow"].values
    assert flows.max() > 0.0
    tight = simulate(with_value(lidded(), "openings[1].gap", 0.0))
    assert tight.numbers.peak_pressure > result.numbers.peak_pressure
