"""The crossing from a case to the floats of the core."""

import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from baypulse import load
from baypulse.case import cord_fields, geometry, library, params
from baypulse.case.model import Case
from baypulse.engine import layout as at
from baypulse.run.simulation import simulate
from report_cases import run

CASES = Path(__file__).parents[2] / "cases"


def with_cord(case: Case, **changes: Any) -> Case:
    assert case.cord is not None
    return replace(case, cord=replace(case.cord, **changes))


def test_a_measured_cord_replaces_the_library() -> None:
    case = run("separates").case
    assert case.cord is not None
    measured = with_cord(case, break_load=5000.0, break_elongation=0.5)
    P = params.parameters(measured)
    assert (P.cord_load, P.cord_strain) == (5000.0, 0.5)
    strength, link = cord_fields.cord_strength(with_cord(measured, anchor_strength=None))
    efficiency = library.knot(case.cord.knot).efficiency
    assert strength == pytest.approx(5000.0 * efficiency * case.cord.wear)
    assert case.cord.knot in link


def test_a_cord_that_stretches_more_is_kinder() -> None:
    case = run("separates").case
    stiff, soft = (
        simulate(with_cord(case, break_elongation=e)).numbers.cord_load for e in (0.1, 0.4)
    )
    assert stiff is not None and soft is not None and soft < stiff


def test_the_weaker_of_cord_and_anchor_counts() -> None:
    case = with_cord(run("separates").case, anchor_strength=50.0)
    assert cord_fields.cord_strength(case) == (50.0, "anchor")


def test_a_replaced_number_of_the_library_reaches_the_core() -> None:
    case = run("separates").case
    assert case.powder is not None
    place = library.address("powders", case.powder.grade, "rate")
    strand = replace(case, powder=replace(case.powder, burning="strand"))
    before, after = (params.parameters(replace(strand, materials=m)) for m in ({}, {place: 0.02}))
    # in the air of 15 degC the powder burns a little slower than at the library's 20 degC
    cold = math.exp(-5.0 * library.powder(case.powder.grade).rate_temperature_slope)
    assert before.rate == pytest.approx(cold * library.powder(case.powder.grade).rate)
    assert after.rate == pytest.approx(cold * 0.02)
    # by the law of a bed half the time of burning is twice the speed
    place = library.address("powders", case.powder.grade, "bed_time")
    half = 0.5 * library.powder(case.powder.grade).bed_time
    before, after = (params.parameters(replace(case, materials=m)) for m in ({}, {place: half}))
    assert after.rate == pytest.approx(2.0 * before.rate)
    tears = {library.address("walls", case.bay.wall, "bearing_strength"): np.array([1e5, 1e9])}
    assert params.pin_tears_wall(replace(case, materials=tears)).tolist() == [True, False]
    assert params.pin_tears_wall(replace(case, pins=None)) is False


def test_links_of_members_are_arrays() -> None:
    case = with_cord(run("separates").case, break_load=np.array([4e3, 5e3]), anchor_strength=4e3)
    assert case.cord is not None
    (cord, name), anchor = cord_fields.cord_links(case)
    efficiency = library.knot(case.cord.knot).efficiency
    assert cord == pytest.approx(np.array([4e3, 5e3]) * efficiency * case.cord.wear)
    assert (name, anchor) == (f"cord ({case.cord.knot})", (4e3, "anchor"))


def test_what_pulls_the_contents_out_reaches_the_core() -> None:
    case = run("separates").case
    assert case.contents is not None and case.contents.extraction_force is None
    P = params.parameters(case)
    # 420 cm^3 in a bore of 76 mm, snug: 450 Pa over the wall they touch
    length = 420e-6 / (np.pi * 0.076**2 / 4.0)
    assert P.packed_length == pytest.approx(length)
    assert P.extraction_force == pytest.approx(450.0 * np.pi * 0.076 * length)
    typed = replace(case, contents=replace(case.contents, extraction_force=9.0, packed_length=0.15))
    P = params.parameters(typed)
    assert (P.packed_length, P.extraction_force) == (0.15, 9.0)
    members = {"packs.unknown.shear": np.array([200.0, 450.0])}
    pulls = params.parameters(replace(case, materials=members)).extraction_force
    assert pulls == pytest.approx(members["packs.unknown.shear"] * np.pi * 0.076 * length)


def test_what_the_model_leaves_out_makes_the_charge_do_more_or_less_in_the_same_room() -> None:
    case = run("separates").case
    assert case.powder is not None
    stronger = replace(case, bay=replace(case.bay, model_agreement=1.25))
    before, after = params.parameters(case), params.parameters(stronger)
    assert after.charge_mass == pytest.approx(1.25 * before.charge_mass)
    room = before.charge_mass * before.specific_volume
    assert after.charge_mass * after.specific_volume == pytest.approx(room)
    assert simulate(stronger).numbers.peak_pressure > simulate(case).numbers.peak_pressure


def test_a_bottle_holds_as_much_more() -> None:
    case = load(CASES / "cold-gas-98.toml")
    assert case.cold_gas is not None
    stronger = replace(case, bay=replace(case.bay, model_agreement=1.25))
    before, after = (
        params.parameters(each).initial[..., at.M_B].sum() for each in (case, stronger)
    )
    air = geometry.air(case)[0]
    share = air / (case.cold_gas.pressure + air)
    assert after / before == pytest.approx(1.25 - 0.25 * share, rel=1e-4)
