"""What holds a joint and how far that scatters: against members that are drawn."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import baypulse
from baypulse.case import geometry, params
from baypulse.case.casefile import reads
from baypulse.case.casefile.joint_retention import deviation_of, hold, hold_deviation
from baypulse.case.model import Case, Spread
from baypulse.members import draws
from baypulse.members.factors import dimensions, factors
from baypulse.members.retention import holds

CASES = Path(__file__).parents[2] / "cases"
MEMBERS = 4096


def drawn(case: Case) -> np.ndarray:
    found = factors(case)
    points = np.concatenate([draws.unit_points(3, b, dimensions(found)) for b in range(4)])
    return holds(case, draws.values(case, found, points), MEMBERS)


def changed(old: str, new: str) -> Case:
    text = (CASES / "main-98.toml").read_text("utf-8")
    assert old in text
    return reads(text.replace(old, new))


# a standard deviation from 4096 members is known to about 1.1 %; the rest is first order
@pytest.mark.parametrize("name", ["main-98", "many-152", "drogue-98", "cold-gas-98"])
def test_first_order_spread_is_near_that_of_members(name: str) -> None:
    case = baypulse.load(CASES / f"{name}.toml")
    sample = drawn(case)
    assert hold(case) == pytest.approx(sample.mean(), rel=0.02)
    assert hold_deviation(case) == pytest.approx(sample.std(), rel=0.06)


def test_holes_that_tear_in_a_few_members_are_what_first_order_does_not_see() -> None:
    case = baypulse.load(CASES / "bench-76.toml")
    assert params.bearing_strength(case) > geometry.pin_strength(case)
    assert 0.9 < hold_deviation(case) / drawn(case).std() < 1.0
    strong = replace(case, bay=replace(case.bay, wall_thickness=4e-3))
    assert hold_deviation(strong) == pytest.approx(drawn(strong).std(), rel=0.03)


@pytest.mark.parametrize(
    "pins",
    [
        'count = 4\nstrength = { value = "120 N", spread = "10 %" }',
        'count = 4\nstrength = { value = "120 N", spread = "10 %", group = "a", correlation=0.6 }',
        'count = 4\nstrength = { sample = ["110 N", "125 N", "131 N"] }',
    ],
)  # fmt: skip
def test_measured_pins_scatter_as_their_group_says(pins: str) -> None:
    case = changed('count = 3\n', f"{pins}\n")  # fmt: skip
    assert hold_deviation(case) == pytest.approx(drawn(case).std(), rel=0.06)


def test_weak_wall_caps_the_pins() -> None:
    case = changed('wall_thickness = "0.085 in"', 'wall_thickness = "0.006 in"')
    assert params.bearing_strength(case) < geometry.pin_strength(case)
    hole = 3.0 * params.bearing_strength(case)
    assert hold(case) == pytest.approx(geometry.static_friction(case) + hole)


# variance of the uniform (b - a)^2/12 and of the triangular distribution: any textbook of
# statistics; the latter also from numpy's own draws
def test_deviations_of_the_distributions() -> None:
    uniform = Spread(distribution="uniform", low=2.0, high=8.0)
    assert deviation_of(uniform, 5.0) == pytest.approx(6.0 / np.sqrt(12.0))
    rng = np.random.default_rng(1)
    triangular = Spread(distribution="triangular", low=2.0, high=8.0)
    sample = rng.triangular(2.0, 3.0, 8.0, 200_000)
    assert deviation_of(triangular, 3.0) == pytest.approx(sample.std(), rel=0.01)
    measured = Spread(distribution="sample", sample=(1.0, 2.0, 6.0))
    assert deviation_of(measured, 3.0) == pytest.approx(np.std([1.0, 2.0, 6.0]))
