"""The force of a shear pin over its travel, and what it pushes back with."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.optimize import brentq

from baypulse.engine import layout as at
from baypulse.engine.event import EventCode
from baypulse.engine.parameters import OUTSIDE
from baypulse.physics import fit
from tools import P_STANDARD, PERFECT_AIR, go, openings, vessel

STRENGTH, GAP, RISE, FAIL = 140.0, 2e-4, 5e-4, 7e-4


def pin(s: float, state: int) -> float:
    return fit.pin_force(s, state, STRENGTH, GAP, RISE, FAIL)


def test_a_pin_rises_as_a_parabola_that_is_level_at_its_strength() -> None:
    # F (2u - u^2): slope 2 F/rise at first, 3/4 F half way, level at F; area 2/3 F rise
    assert pin(GAP, fit.LOADED) == 0.0
    assert pin(GAP + 1e-6 * RISE, fit.LOADED) == pytest.approx(2e-6 * STRENGTH, rel=1e-6)
    assert pin(GAP + 0.5 * RISE, fit.LOADED) == pytest.approx(0.75 * STRENGTH)
    assert pin(GAP + RISE, fit.LOADED) == pytest.approx(STRENGTH)
    area = quad(pin, GAP, GAP + RISE, args=(fit.LOADED,))[0]
    assert area == pytest.approx(2.0 / 3.0 * STRENGTH * RISE, rel=1e-9)


def test_a_pin_fails_along_a_straight_line() -> None:
    start = GAP + RISE
    assert pin(start, fit.FAILING) == pytest.approx(STRENGTH)
    assert pin(start + 0.25 * FAIL, fit.FAILING) == pytest.approx(0.75 * STRENGTH)
    assert pin(start + FAIL, fit.FAILING) == pytest.approx(0.0, abs=1e-9)
    for state in (fit.SLACK, fit.GONE):
        assert pin(start, state) == 0.0


def test_engagement_falls_in_proportion_to_the_travel() -> None:
    assert [fit.engaged_share(s, 0.08) for s in (0.0, 0.02, 0.08, 0.1)] == [1.0, 0.75, 0.0, 0.0]


def test_pins_push_back_with_half_their_force() -> None:
    # without friction a push q F moves the joint to where the pins have taken its work, u - u^2/3 =
    # q; there they bear u (2 - u) F, more than q F, and yet do not drive the joint back: a plastic
    # pin has set. It goes back as the bay empties and the push is half of what they bear
    strength, rise, q, bore = 400.0, 5e-4, 0.5, 0.075
    area = 0.25 * math.pi * bore**2
    P = vessel(
        1.0, p=P_STANDARD + q * strength / area, air=PERFECT_AIR, bore=bore, stroke=0.2,
        friction=0.0, pin_strength=np.array([strength]), pin_gap=np.zeros(1),
        pin_rise=np.full(1, rise), pin_fail=np.full(1, 5e-4),
        **openings([(0, OUTSIDE, 1e-2, 0)]),
    )  # fmt: skip
    track, seen = go(P, 0.02)
    at_rest = brentq(lambda u: u - u * u / 3.0 - q, 0.0, 1.0)
    names = [e for _, e in track.events]
    stopped = names.index(EventCode.STOP)
    back = track.events[names.index(EventCode.SLIP, stopped)][0]
    n = int(np.searchsorted(seen.times, back))
    # the bay empties by a few parts in a thousand while the joint moves
    u = seen.states[n, at.NOSE_X] / rise
    assert u == pytest.approx(at_rest, rel=0.02)
    push = (seen.volumes[n, 0, 0] - P_STANDARD) * area
    assert push == pytest.approx(0.5 * u * (2.0 - u) * strength, rel=1e-6)
