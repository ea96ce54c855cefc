"""The push of the gas on a shoulder that leaves its tube, and the volume it opens."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import quad

from baypulse.engine import layout as at
from baypulse.engine import run
from baypulse.engine.event import EventCode
from baypulse.physics import motion
from tools import P_STANDARD, PERFECT_AIR, at_event, go, vessel

BORE, STROKE, MASS, RISE = 0.076, 0.05, 0.6, 3.0 * P_STANDARD


def shot_of_a_large_bay() -> tuple[run.Track, run.Observed]:
    """Return a shot that pushes a nose of 0.6 kg without friction, at a pressure that stays."""
    P = vessel(
        1e3, p=P_STANDARD + RISE, air=PERFECT_AIR, bore=BORE, stroke=STROKE, friction=0.0,
        nose_mass=MASS,
    )  # fmt: skip
    return go(P, 0.05)


def test_bore_area_is_that_of_the_printed_table() -> None:
    # areas of circles, as in any engineer's handbook: 3 in, 7.0686 sq in; 100 mm, 7854.0 mm^2
    assert motion.bore_area(3.0) == pytest.approx(7.0686, rel=1e-5)
    assert motion.bore_area(0.1) == pytest.approx(7854.0e-6, rel=1e-5)


def test_the_annulus_is_as_large_as_the_bore_a_quarter_of_a_bore_outside() -> None:
    # pi D s = pi D^2/4 at s = D/4
    for share in (0.0, 0.3, 1.0):
        s = STROKE + share * BORE / 4.0
        annulus = math.pi * BORE * (s - STROKE) / (0.25 * math.pi * BORE**2)
        assert motion.opened_share(s, STROKE, BORE) == pytest.approx(annulus, abs=1e-12)
    assert motion.opened_share(0.5 * STROKE, STROKE, BORE) == 0.0
    assert motion.opened_share(STROKE + BORE, STROKE, BORE) == 1.0


def test_half_way_to_the_open_bore_a_quarter_of_the_push_is_left() -> None:
    # (1 - z)^2, the law that the page of closures states
    assert motion.pushed_share(0.9 * STROKE, STROKE, BORE) == 1.0
    assert motion.pushed_share(STROKE + BORE / 8.0, STROKE, BORE) == pytest.approx(0.25)
    assert motion.pushed_share(STROKE + BORE / 4.0, STROKE, BORE) == pytest.approx(0.0, abs=1e-24)


@pytest.mark.parametrize("share", [0.1, 0.5, 0.9, 1.0, 3.0])
def test_swept_length_is_the_integral_of_the_push(share: float) -> None:
    end = STROKE + share * BORE / 4.0
    within = quad(motion.pushed_share, 0.0, STROKE, args=(STROKE, BORE))[0]
    seam = min(end, STROKE + BORE / 4.0)
    outside = quad(motion.pushed_share, STROKE, seam, args=(STROKE, BORE))[0]
    assert motion.swept_length(end, STROKE, BORE) == pytest.approx(within + outside, rel=1e-12)


def test_the_push_after_clearance_works_over_a_twelfth_of_a_bore() -> None:
    # a bay so large that its pressure stays: 1/2 m (v^2 - v_clear^2) = dp A times the integral of
    # (1 - 4x/D)^2 from 0 to D/4, which is D/12
    track, seen = shot_of_a_large_bay()
    gained = seen.states[-1, at.NOSE_V] ** 2 - at_event(track, EventCode.CLEAR)[at.NOSE_V] ** 2
    work = RISE * 0.25 * math.pi * BORE**2 * BORE / 12.0
    assert 0.5 * MASS * gained == pytest.approx(work, rel=1e-5)


def test_impulse_of_the_push_after_clearance() -> None:
    # the same shot: m dv = dp A int (1 - z)^2 dt, with z at the speed that the work so far gives,
    # v^2 = v_c^2 + 2 dp A/m D/12 (1 - (1 - z)^3) and dt = D/4 dz/v
    track, seen = shot_of_a_large_bay()
    force = RISE * 0.25 * math.pi * BORE**2
    v_clear = at_event(track, EventCode.CLEAR)[at.NOSE_V]

    def velocity(z: float) -> float:
        return math.sqrt(v_clear**2 + 2.0 * force / MASS * BORE / 12.0 * (1.0 - (1.0 - z) ** 3))

    impulse = quad(lambda z: force * (1.0 - z) ** 2 * BORE / 4.0 / velocity(z), 0.0, 1.0)[0]
    gained = seen.states[-1, at.NOSE_V] - v_clear
    assert MASS * gained == pytest.approx(impulse, rel=1e-5)
    times = {event: t for t, event in track.events}
    clear, parted = times[EventCode.CLEAR], times[EventCode.PARTED]
    crossing = quad(lambda z: BORE / 4.0 / velocity(z), 0.0, 1.0)[0]
    assert parted - clear == pytest.approx(crossing, rel=1e-3)
    assert np.all(np.diff(seen.states[:, at.NOSE_V]) >= 0.0)
