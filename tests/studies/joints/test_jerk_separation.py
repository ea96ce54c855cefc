"""A jerk on a closed joint against mechanics that can be done by hand.

* Newton's second law of a train that is pulled at one end: any mechanics text.
* A load that is put on suddenly stretches a spring twice as far: Timoshenko, Vibration Problems in
  Engineering, and Roark, Formulas for Stress and Strain, "impact and sudden loading" (from memory).
* A short blow acts by its impulse, a slow one by its highest force: the two ends of the shock
  spectrum, Biggs, Introduction to Structural Dynamics (from memory).
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import quad, solve_ivp
from scipy.optimize import brentq

from baypulse.case.geometry import felt_share
from baypulse.case.model import Airframe, Nose, OtherJoint
from baypulse.studies.joints.jerk_separation import (
    ClosedJoint,
    LoadCurve,
    comes_out,
    least_factor,
    lets_go,
    load_of,
    part,
)
from tools import case


def joint(
    strength: tuple[float, ...] = (200.0,) * 3, *, gap: float = 0.0, friction: float = 0.0,
    ratio: float = 1.0, rise: float = 5e-4, fail: float = 5e-4, beyond: float = 1.3,
) -> ClosedJoint:  # fmt: skip
    n = len(strength)
    return ClosedJoint(
        beyond, 4.2, friction, ratio, 0.0, 0.1, np.array(strength), np.full(n, gap),
        np.full(n, rise), np.full(n, fail),
    )  # fmt: skip


def step(force: float, length: float = 0.5) -> LoadCurve:
    """A load that is there at once, and stays."""
    return LoadCurve(np.array([0.0, 1e-9, length]), np.array([0.0, force, force]))


def half_sine(force: float, length: float) -> LoadCurve:
    t = np.linspace(0.0, length, 401)
    return LoadCurve(t, force * np.sin(np.pi * t / length).clip(0.0))


def test_share_is_that_of_the_last_car_of_a_train_that_is_pulled_steadily() -> None:
    # two cars with a stiff damped coupling, pulled at the first: F = (m1 + m2) a, T = m2 a
    m1, m2, pull, k, c = 2.9, 1.3, 500.0, 4e5, 900.0

    def rates(_t: float, y: np.ndarray) -> list[float]:
        x1, v1, x2, v2 = y
        tension = k * (x1 - x2) + c * (v1 - v2)
        return [v1, (pull - tension) / m1, v2, tension / m2]

    end = solve_ivp(rates, (0.0, 1.0), [0.0] * 4, rtol=1e-9, atol=1e-12).y[:, -1]
    tension = k * (end[0] - end[2]) + c * (end[1] - end[3])
    other = OtherJoint(name="main", side="nose", mass=m2, hold=1.0)
    section = case(nose=Nose(mass=m1 + m2))
    assert felt_share(section, other) * pull == pytest.approx(tension, rel=1e-6)
    behind = case(airframe=Airframe(mass=m1 + m2))
    other = OtherJoint(name="main", side="airframe", mass=m2, hold=1.0)
    assert felt_share(behind, other) * pull == pytest.approx(tension, rel=1e-6)


def test_sudden_load_bends_soft_pins_twice_as_far_as_a_slow_one() -> None:
    # far below its strength a pin is a spring of stiffness 2 F/rise
    held = joint(rise=5e-3)
    force = 0.01 * held.hold / held.share
    slow = part(held, LoadCurve(np.array([0.0, 20.0]), np.array([0.0, force])))
    sudden = part(held, step(force))
    assert sudden.greatest_travel == pytest.approx(2.0 * slow.greatest_travel, rel=0.01)


def test_sudden_load_does_the_work_that_bends_the_pins() -> None:
    held = joint()
    force = 0.5 * held.hold
    # P x = F (u^2 - u^3/3) rise with x = u rise: the load's work against the pins' curve
    u = brentq(lambda v: force * v - held.hold * (v**2 - v**3 / 3.0), 1e-3, 1.0)
    found = part(held, step(force / held.share))
    assert found.greatest_travel == pytest.approx(u * 5e-4, rel=1e-6)
    assert found.pins_failed == 0


@pytest.mark.parametrize("gap", [0.0, 2e-4, 6e-4])
def test_least_sudden_load_that_shears_the_pins_is_that_of_the_energy(gap: float) -> None:
    held = joint(gap=gap)
    rise, fail = 5e-4, 5e-4
    # work of the load up to any point of the fall against the area under the pins' curve
    y = np.linspace(0.0, fail, 20001)
    area = held.hold * (2.0 / 3.0 * rise + y - y**2 / (2.0 * fail))
    expected = float((area / (gap + rise + y)).max())
    found = least_factor(held, step(1.0 / held.share), lets_go)
    assert found == pytest.approx(expected, rel=1e-3)


def test_slow_load_parts_the_joint_just_when_it_passes_what_holds() -> None:
    held = joint(gap=1e-4, friction=60.0)
    load = half_sine(1000.0, 1.0)
    found = least_factor(held, load, lets_go)
    assert found == pytest.approx(held.hold / (held.share * 1000.0), rel=2e-3)


def test_short_blow_parts_the_joint_by_its_impulse() -> None:
    held = joint(friction=60.0, ratio=0.8, gap=1e-4)
    load = half_sine(1e6, 4e-6)
    impulse = held.share * 1e6 * 4e-6 * 2.0 / np.pi
    last = 1e-4 + 5e-4 + 5e-4
    pins = 600.0 * (2.0 / 3.0 * 5e-4 + 0.5 * 5e-4)
    friction = quad(lambda x: 0.8 * 60.0 * (1.0 - x / 0.1), 0.0, last)[0]
    # I = m v, and m v^2/2 is spent on pins and friction
    expected = np.sqrt(2.0 * held.reduced_mass * (pins + friction)) / impulse
    assert least_factor(held, load, lets_go) == pytest.approx(expected, rel=3e-3)
    whole = quad(lambda x: 0.8 * 60.0 * (1.0 - x / 0.1), 0.0, 0.1)[0]
    out = np.sqrt(2.0 * held.reduced_mass * (pins + whole)) / impulse
    assert least_factor(held, load, comes_out) == pytest.approx(out, rel=3e-3)


def test_joint_without_pins_slides_as_far_as_its_friction_lets_it() -> None:
    held = joint((), friction=50.0, ratio=0.8)
    blow = half_sine(1e6, 4e-6)
    impulse = held.share * 1e6 * 4e-6 * 2.0 / np.pi
    energy = impulse**2 / (2.0 * held.reduced_mass)
    # friction 0.8 F (1 - x/L): spent energy 0.8 F (x - x^2/(2 L))
    travel = brentq(lambda x: 40.0 * (x - x**2 / 0.2) - energy, 0.0, 0.1)
    found = part(held, blow)
    assert not found.parted and found.held_by_pins
    assert found.greatest_travel == pytest.approx(travel, rel=2e-3)
    assert lets_go(part(held, blow, 3.0)) and comes_out(part(held, blow, 3.0))


def test_motion_agrees_with_an_integration_that_knows_no_phases() -> None:
    held = joint((150.0, 180.0, 210.0), gap=2e-4, friction=40.0, ratio=0.8)
    load = half_sine(0.93 * held.hold / held.share, 0.02)

    def pins(x: float) -> float:
        u = min(max((x - 2e-4) / 5e-4, 0.0), 1.0)
        w = min(max((x - 7e-4) / 5e-4, 0.0), 1.0)
        return 540.0 * (u * (2.0 - u) if w == 0.0 else 1.0 - w)

    # explicit steps of 0.2 us; a joint at rest waits for static friction
    x = v = 0.0
    dt = 2e-7
    for t in np.arange(0.0, 0.02, dt):
        push = held.share * 0.93 * held.hold / held.share * np.sin(np.pi * t / 0.02)
        fit = 40.0 * (1.0 - x / 0.1)
        if v <= 0.0 and push <= pins(x) + fit:
            v = 0.0
            continue
        v += dt * (push - pins(x) - 0.8 * fit) / held.reduced_mass
        x += dt * max(v, 0.0)
    found = part(held, load)
    assert not found.parted
    assert found.greatest_travel == pytest.approx(x, rel=2e-3)


def test_no_load_and_no_joint_that_it_could_move() -> None:
    none = load_of(np.linspace(0.0, 1.0, 5), np.zeros(5))
    assert none.peak == 0.0
    assert least_factor(joint(), none, lets_go) is None
    below = part(joint(friction=100.0), step(50.0 / joint().share))
    assert below.greatest_travel == 0.0 and below.times.size == 0 and below.held_by_pins


def test_higher_factor_never_moves_the_joint_less() -> None:
    held = joint((150.0, 200.0), gap=2e-4, friction=30.0, ratio=0.8)
    load = half_sine(400.0 / held.share, 0.03)
    travels = [part(held, load, f).greatest_travel for f in np.linspace(0.1, 2.0, 20)]
    assert np.all(np.diff(travels) >= -1e-9)


def test_load_keeps_both_sides_of_a_jump_in_order() -> None:
    t = np.array([0.0, 1.0, 1.0, 2.0, 3.0])
    found = load_of(t, np.array([0.0, 0.0, 5.0, 4.0, 0.0]))
    assert np.all(np.diff(found.times) > 0.0)
    assert found.peak == 5.0
