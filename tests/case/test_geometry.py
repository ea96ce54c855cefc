"""Volumes against numerical integration and closed forms; the static hold by hand."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from baypulse.case import geometry
from baypulse.case.casefile import reads
from baypulse.case.model import Case, Contents, Holder
from case.whole_case import starter_text

CASE = reads(starter_text())


@given(st.floats(0.02, 0.3), st.floats(0.5, 8.0))
def test_ogive_against_quadrature(diameter: float, fineness: float) -> None:
    length, radius = fineness * diameter, 0.5 * diameter
    rho = (radius**2 + length**2) / (2.0 * radius)

    def area(x: float) -> float:
        return math.pi * (math.sqrt(rho**2 - x**2) + radius - rho) ** 2

    expected, _ = quad(area, 0.0, length, epsrel=1e-12, epsabs=0.0)
    assert geometry.tangent_ogive_volume(length, diameter) == pytest.approx(expected, rel=1e-7)


def test_ogive_of_half_its_width_is_half_a_sphere() -> None:
    expected = 2.0 / 3.0 * math.pi * 0.05**3
    assert geometry.tangent_ogive_volume(0.05, 0.1) == pytest.approx(expected, rel=1e-12)


def test_cone_and_ellipsoid() -> None:
    assert geometry.cone_volume(0.3, 0.2) == pytest.approx(math.pi * 0.01 * 0.3 / 3.0)
    assert geometry.ellipsoid_volume(0.3, 0.2) == pytest.approx(2.0 * math.pi * 0.01 * 0.3 / 3.0)


@given(st.floats(0.02, 0.3), st.floats(0.5, 8.0))
def test_ogive_lies_between_cone_and_cylinder(diameter: float, fineness: float) -> None:
    length = fineness * diameter
    volume = geometry.tangent_ogive_volume(length, diameter)
    assert geometry.cone_volume(length, diameter) < volume
    assert volume < math.pi * diameter**2 / 4.0 * length


def test_free_volume_of_a_closed_bay() -> None:
    area = math.pi * 0.075**2 / 4.0
    free = geometry.free_volume(CASE)
    assert free.total == pytest.approx(area * (0.300 - 0.075) - 500e-6, rel=1e-12)
    assert free.total == pytest.approx(sum(free.parts.values()))
    assert list(free.parts) == ["tube", "shoulder", "contents"]


def test_free_volume_of_an_open_nose() -> None:
    nose = replace(CASE.nose, shape="cone", hollow_length=0.25, hollow_diameter=0.070)
    joint = replace(CASE.joint, shoulder_bore=0.068)
    bay = replace(CASE.bay, coupler_intrusion=0.020, extra_volume=1e-4)
    case = replace(
        CASE, nose=nose, joint=joint, bay=bay, holder=Holder(volume=3e-6, burst=4e5, opening=0.01)
    )
    area = math.pi * 0.075**2 / 4.0
    expected = {
        "tube": area * 0.300,
        "coupler": -area * 0.020,
        "shoulder": (math.pi * 0.068**2 / 4.0 - area) * 0.075,
        "nose hollow": math.pi * 0.070**2 / 4.0 * 0.25 / 3.0,
        "extra": 1e-4,
        "contents": -500e-6,
        "holder": -3e-6,
    }
    assert geometry.free_volume(case).parts == pytest.approx(expected, rel=1e-12)
    as_wide = replace(case, joint=replace(joint, shoulder_bore=None))
    assert geometry.shoulder_bore(as_wide) == 0.070


AREA = math.pi * 0.075**2 / 4.0


def holding(**contents: Any) -> Case:
    return replace(CASE, contents=Contents(**contents))


def test_contents_by_density_or_length_or_none() -> None:
    dense = holding(mass=0.35, packing_density=350.0)
    assert geometry.contents_volume(dense) == pytest.approx(1e-3)
    assert geometry.packed_length(dense) == pytest.approx(1e-3 / AREA)
    long = holding(mass=0.35, packed_length=0.2)
    assert geometry.contents_volume(long) == pytest.approx(0.2 * AREA)
    assert geometry.free_volume(long).parts["contents"] == pytest.approx(-0.2 * AREA)
    both = holding(mass=0.35, packed_length=0.2, volume=6e-4)
    assert (geometry.contents_volume(both), geometry.packed_length(both)) == (6e-4, 0.2)
    for empty in (holding(mass=0.0), replace(CASE, contents=None)):
        assert geometry.contents_volume(empty) == 0.0
        assert geometry.packed_length(empty) == 0.0
        assert geometry.extraction_force(empty) == 0.0
        assert geometry.pack_voids(empty) == 0.0


def test_extraction_by_tightness_or_as_measured() -> None:
    assert geometry.tightness(CASE) == geometry.tightness(holding(mass=0.3)) == "unknown"
    unsaid = holding(mass=0.35, packed_length=0.2)
    wall = math.pi * 0.075 * 0.2
    assert geometry.extraction_force(unsaid) == pytest.approx(450.0 * wall)
    tight = holding(mass=0.35, volume=0.1 * AREA, tightness="tight")
    assert geometry.extraction_force(tight) == pytest.approx(1550.0 * 0.5 * wall)
    measured = holding(mass=0.35, packed_length=0.2, tightness="tight", extraction_force=8.0)
    assert geometry.extraction_force(measured) == 8.0
    # a measured zero is a measurement
    free = holding(mass=0.35, packed_length=0.2, extraction_force=0.0)
    assert geometry.extraction_force(free) == 0.0


def test_members_have_lengths_and_forces_of_their_own() -> None:
    lengths = np.array([0.1, 0.15, 0.2])
    case = replace(
        holding(mass=0.35, packed_length=lengths),
        materials={"packs.unknown.shear": np.array([100.0, 450.0, 900.0])},
    )
    forces = np.array([100.0, 450.0, 900.0]) * math.pi * 0.075 * lengths
    assert geometry.extraction_force(case) == pytest.approx(forces)
    assert geometry.free_volume(case).parts["contents"] == pytest.approx(-lengths * AREA)
    assert geometry.pack_voids(case) == pytest.approx(1.0 - 0.35 / (lengths * AREA) / 1140.0)
    by_bore = replace(holding(mass=0.35, volume=5e-4), bay=replace(CASE.bay, bore=lengths))
    assert geometry.packed_length(by_bore) == pytest.approx(5e-4 / (math.pi * lengths**2 / 4.0))


def test_voids_are_what_is_not_fibre() -> None:
    # 0.35 kg of nylon, 1140 kg/m^3, is 307 cm^3 of fibre
    pack = holding(mass=0.35, packed_length=0.2)
    assert geometry.pack_voids(pack) == pytest.approx(1.0 - 0.35 / 1140.0 / (0.2 * AREA))
    # the tube that it fills counts, not the volume as measured elsewhere
    both = holding(mass=0.35, packed_length=0.2, volume=5e-4)
    assert geometry.pack_voids(both) == geometry.pack_voids(pack)
    assert geometry.pack_voids(holding(mass=0.9, volume=5e-4)) == 0.0


def test_static_hold_by_hand() -> None:
    hold = geometry.static_hold(CASE)
    warm = 1.0 - 0.008 * (288.15 - 296.15)
    wet = 1.0 - 8.0 * (0.025 - 0.003)
    one = 68.95e6 * math.pi * 1.6443e-3**2 / 4.0 * warm * wet
    assert geometry.pin_strength(CASE) == pytest.approx(one, rel=1e-6)
    assert hold.total == pytest.approx(25.0 + 3 * one, rel=1e-6)
    assert hold.pressure == pytest.approx(hold.total / (math.pi * 0.075**2 / 4.0))


def test_hold_by_fit_and_by_measured_pins() -> None:
    assert CASE.pins is not None
    joint = replace(CASE.joint, pull_off=None, fit="snug", seal_drag=4.0)
    case = replace(CASE, joint=joint, pins=replace(CASE.pins, strength=140.0))
    hold = geometry.static_hold(case)
    assert hold.friction == pytest.approx(650.0 * math.pi * 0.075 * 0.075)
    assert (hold.seal, hold.pins) == (4.0, 420.0)
    assert geometry.static_hold(replace(case, pins=None)).pins == 0.0


def test_pins_may_differ() -> None:
    assert CASE.pins is not None
    differing = replace(CASE, pins=replace(CASE.pins, strength=(100.0, 120.0, 140.0)))
    assert geometry.pin_strengths(differing).tolist() == [100.0, 120.0, 140.0]
    assert geometry.static_hold(differing).pins == 360.0
    assert geometry.pin_strength(differing) == 100.0
    stress = {"pin materials.nylon 6/6.shear_strength": (60e6, 70e6, 80e6)}
    strengths = geometry.pin_strengths(replace(CASE, materials=stress))
    assert strengths / strengths[0] == pytest.approx([1.0, 7.0 / 6.0, 8.0 / 6.0])
    assert geometry.pin_strengths(replace(CASE, pins=None)).size == 0


def test_members_have_strengths_of_their_own() -> None:
    assert CASE.pins is not None
    cold, warm = (
        replace(CASE, surroundings=replace(CASE.surroundings, temperature=T)) for T in (260.0, 300)
    )
    both = replace(
        CASE, surroundings=replace(CASE.surroundings, temperature=np.array([260.0, 300.0]))
    )
    rows = [geometry.pin_strengths(case) for case in (cold, warm)]
    assert geometry.pin_strengths(both) == pytest.approx(np.array(rows), rel=1e-15)
    measured = replace(CASE.pins, strength=np.array([100.0, 110.0, 120.0]))  # three members
    assert geometry.pin_strengths(replace(CASE, pins=measured)).tolist() == [
        [100.0] * 3, [110.0] * 3, [120.0] * 3,
    ]  # fmt: skip


def test_altitudes_of_members() -> None:
    heights = np.array([0.0, 3000.0, 12e3])
    high = replace(CASE, surroundings=replace(CASE.surroundings, altitude=heights))
    p, T = geometry.air(high)
    for k, height in enumerate(heights):
        one = replace(CASE, surroundings=replace(CASE.surroundings, altitude=float(height)))
        assert (p[k], T[k]) == geometry.air(one)


def test_strength_never_turns_negative() -> None:
    assert CASE.pins is not None
    hot = replace(CASE.surroundings, temperature=340.0)
    wet = replace(CASE.pins, moisture=0.09, material="nylon 6")
    assert geometry.pin_strength(replace(CASE, surroundings=hot, pins=wet)) > 0.0
    ice = replace(CASE, surroundings=replace(CASE.surroundings, temperature=248.15))
    assert geometry.pin_strength(ice) > geometry.pin_strength(CASE)


def test_air_is_the_standards_unless_measured() -> None:
    high = replace(CASE.surroundings, altitude=3000.0)
    assert geometry.air(replace(CASE, surroundings=high)) == pytest.approx(
        (70121.2, 268.659), rel=1e-5
    )
    measured = replace(high, pressure=69e3, temperature=280.0)
    assert geometry.air(replace(CASE, surroundings=measured)) == (69e3, 280.0)
