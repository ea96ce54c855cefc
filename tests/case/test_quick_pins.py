"""Pins in a shot are stronger than in a slow pull: what must break, and what must hold."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import baypulse
from baypulse.case import geometry, library, params
from baypulse.case.casefile.joint_retention import hold
from baypulse.case.explanation import explain
from baypulse.case.model import Case
from baypulse.members.factors import LIBRARY, factors, library_values, spread_at
from baypulse.members.retention import holds
from baypulse.run.breakdown import static_rule
from baypulse.run.simulation import simulate
from baypulse.studies.fit.unknowns import with_priors
from baypulse.studies.joints.jerk_separation import closed_joint
from baypulse.studies.why.next_test_readings import READINGS

CASE = baypulse.load(Path(__file__).parents[2] / "cases" / "bench-76.toml")
SLOPE = "pin materials.nylon 6/6.rate_strengthening"


def gaining(slope: float | np.ndarray, case: Case = CASE) -> Case:
    return replace(case, materials={SLOPE: slope})


def measured(strength: float) -> Case:
    assert CASE.pins is not None
    return replace(CASE, pins=replace(CASE.pins, strength=strength))


# Eyring's law of flow, stress = (k T/V) asinh(rate/(2 r0)); any text on the yield of polymers. With
# an activation volume of 3 nm^3 and a slow yield stress of 60 MPa at 23 degC
def test_gain_is_eyrings_law_over_the_decades_of_a_shot() -> None:
    kT, volume, slow = 1.380649e-23 * 296.15, 3e-27, 60e6
    half = math.exp(slow * volume / kT)  # rate over 2 r0 at the slow stress, far in the logarithm
    stress = kT / volume * np.arcsinh(0.5 * (half - 1.0 / half) * np.array([1.0, 10.0]))
    assert stress[0] == pytest.approx(slow, rel=1e-9)
    slope = (stress[1] - stress[0]) / slow
    ratio = geometry.SLOW_PULL / geometry.SHOT_LOADING
    quick = kT / volume * math.asinh(0.5 * half * ratio)
    assert geometry.rate_gain(gaining(slope)) == pytest.approx(quick / slow, rel=1e-9)


# 6 to 9 % per decade for polyamide 6/6, from memory; a second to ten, and one to ten milliseconds
def test_gain_of_nylon_lies_within_what_is_told_of_it() -> None:
    low, high = 1.0 + 0.06 * math.log10(1.0 / 10e-3), 1.0 + 0.09 * math.log10(10.0 / 1e-3)
    assert low < geometry.rate_gain(CASE) < high
    assert geometry.rate_gain(replace(CASE, pins=None)) == 1.0
    spread = spread_at(CASE, LIBRARY + SLOPE)
    # 6 and 9 % are both well within one standard deviation
    assert spread.distribution == "log-normal" and spread.deviation is not None
    assert spread.deviation > 0.5 * (0.09 - 0.06)


def test_shot_breaks_the_quick_pins_and_the_static_rule_knows_the_slow_ones() -> None:
    gain = geometry.rate_gain(CASE)
    slow = geometry.pin_strengths(CASE)
    result = simulate(CASE)
    assert result.curves["pin_force"].values.max() == pytest.approx(gain * slow.sum(), rel=1e-3)
    area = 0.25 * math.pi * 0.076**2
    assert result.numbers.pin_pressure == pytest.approx((22.0 + gain * slow.sum()) / area)
    needed = static_rule(CASE).needed_pressure - CASE.rule.target
    assert needed == pytest.approx(slow.sum() / area)
    text = explain(CASE)
    assert "static hold (in a slow pull) = 398 N" in text and "about 24 % stronger" in text


def test_measured_strength_is_a_slow_one_and_gains_too() -> None:
    case = measured(120.0)
    strength = params.parameters(case).pin_strength
    assert strength == pytest.approx(120.0 * geometry.rate_gain(case))
    assert SLOPE in library_values(case) and SLOPE in library_values(CASE)


def test_each_member_has_its_own_gain() -> None:
    slopes = np.array([0.0, 0.05, 0.1])
    strength = params.parameters(gaining(slopes)).pin_strength
    assert strength.shape == (3, 3)
    one = [params.parameters(gaining(float(a))).pin_strength for a in slopes]
    assert strength == pytest.approx(np.array(one), rel=1e-15)
    assert strength[0] == pytest.approx(geometry.pin_strengths(CASE))


def test_what_must_hold_is_not_stronger_for_a_jerk() -> None:
    slow = 22.0 + float(geometry.pin_strengths(CASE).sum())
    quick = gaining(0.3)
    assert hold(quick) == pytest.approx(slow) == hold(CASE)
    assert holds(quick, {}, 2) == pytest.approx([slow, slow])
    assert closed_joint(quick, 0.2, 1.0).strength == pytest.approx(geometry.pin_strengths(CASE))
    assert READINGS["hold"].read(CASE, quick) == pytest.approx(slow)


def test_hole_gains_with_its_pin_where_it_must_break_and_warns_where_it_may_tear() -> None:
    hole = params.bearing_strength(CASE)
    strong = measured(1.05 * hole)
    gain = geometry.rate_gain(strong)
    assert params.parameters(strong).pin_strength == pytest.approx(gain * hole)
    assert params.slow_pins(strong) == pytest.approx(hole)
    # a pin that is weaker than its hole in a slow pull, and stronger in a shot
    between = measured(0.9 * hole)
    assert params.pin_tears_wall(between) and simulate(between).tears_wall
    assert not params.pin_tears_wall(measured(0.99 * hole / gain))
    assert params.parameters(between).pin_strength == pytest.approx(0.9 * gain * hole)


def test_a_fit_learns_the_slow_strength_and_leaves_the_gain_uncertain() -> None:
    case, unknowns, scattering = with_priors(CASE, ["pins"])
    assert unknowns[0].value == pytest.approx(geometry.pin_strengths(CASE).mean())
    names = {factor.name for factor in scattering}
    assert LIBRARY + SLOPE in names
    assert not any("shear_strength" in name for name in names)
    assert LIBRARY + SLOPE in {factor.name for factor in factors(case)}


def test_library_says_how_much_each_material_gains() -> None:
    for name in library.names("pin materials"):
        fact = library.facts("pin materials", name)["rate_strengthening"]
        # polymers gain some per cent a decade; none is known to lose
        assert 0.0 < fact.value < 0.15 and fact.spread >= 0.3 * fact.value
