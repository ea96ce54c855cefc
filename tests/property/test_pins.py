"""More or stronger pins never let a joint go at a lower pressure."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from baypulse.case import geometry, library
from baypulse.case.model import Case, Joint, Pins, Powder
from baypulse.run.result import Result
from baypulse.run.simulation import simulate
from tools import case as shot_case

# no shrinking of failures: one run costs some 10 ms, and the whole case is printed anyway
QUIET = settings(
    phases=[Phase.explicit, Phase.reuse, Phase.generate],
    suppress_health_check=[HealthCheck.too_slow],
)  # fmt: skip

SAME = 1.0 - 1e-4
"""Pressures this close count as the same: two runs have steps of their own."""


def bay(count: int, **changes: Any) -> Case:
    """Return a bay with so many pins, none for 0."""
    pins = changes.pop("pins", Pins(count=1, thread="#2-56"))
    held = replace(pins, count=count) if count else None
    return shot_case(pins=held, joint=Joint(shoulder_length=0.075, pull_off=25.0), **changes)


def let_go(result: Result) -> float | None:
    """Return the gauge pressure at which the first pin fails [Pa]; at the slip without pins."""
    name = "joint slips" if result.case.pins is None else "pin 1 fails"
    event = result.event(name)
    return None if event is None else event.gauge_pressure


@given(
    st.sampled_from(library.names("threads")), st.integers(0, 23), st.floats(1.0, 500.0),
    st.floats(1.0, 4.0),
)  # fmt: skip
@settings(QUIET)
def test_more_or_stronger_pins_raise_the_pressure_that_overcomes_them(
    thread: str, count: int, strength: float, times: float
) -> None:
    """By hand: (friction + n F)/(pi D^2/4), with D = 75 mm and 25 N of friction."""
    kind = Pins(count=1, thread=thread)
    fewer, more = (geometry.static_hold(bay(n, pins=kind)).pressure for n in (count, count + 1))
    assert more > fewer
    measured = replace(kind, strength=strength)
    known = geometry.static_hold(bay(count + 1, pins=measured)).pressure
    area = 0.25 * 3.141592653589793 * 0.075**2
    assert known == pytest.approx((25.0 + (count + 1) * strength) / area, rel=1e-12)
    stronger = replace(kind, strength=times * strength)
    assert geometry.static_hold(bay(count + 1, pins=stronger)).pressure >= known


@given(
    st.sampled_from(["4F", "3F", "2F", "1F"]), st.floats(0.15e-3, 1.5e-3), st.integers(0, 7),
    st.floats(20.0, 300.0), st.floats(1.0, 3.0),
)  # fmt: skip
@settings(QUIET, max_examples=40)
def test_a_joint_with_more_or_stronger_pins_lets_go_at_no_lower_pressure(
    grade: str, mass: float, count: int, strength: float, times: float
) -> None:
    powder = Powder(grade=grade, mass=mass)
    weak = Pins(count=1, thread="#2-56", strength=strength)
    strong = replace(weak, strength=times * strength)
    first = simulate(bay(count, powder=powder, pins=weak))
    for more in (
        simulate(bay(count + 1, powder=powder, pins=weak)),
        simulate(bay(count + 1, powder=powder, pins=strong)),
    ):
        # the friction is the same, and the pins do not touch their holes before it is overcome
        one, two = first.event("joint slips"), more.event("joint slips")
        assert (one is None) == (two is None)
        if one is not None and two is not None:
            assert two.gauge_pressure == pytest.approx(one.gauge_pressure, rel=1e-4)
        before, after = let_go(first), let_go(more)
        if after is not None:
            # what breaks more pins breaks fewer
            assert before is not None
            assert after >= SAME * before
            first = more
