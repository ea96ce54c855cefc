"""A holder that is full of grains: it evens out faster than anything is worth following."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from baypulse.case.casefile import reads
from baypulse.case.params import parameters
from baypulse.engine import gasside, run
from baypulse.engine.event import EventCode
from baypulse.engine.parameters import pack
from baypulse.engine.rates import FORCES, rates
from quick_bays import STRAND
from report_cases import without

HOLDER = '[holder]\nvolume = "0.12 cm^3"\nburst = "40 psig"\nopening = "8 mm"\n\n[bay]'


def full(grams: float) -> run.Parameters:
    """Return a bay with so much in a holder that takes 0.21 g without any gap between grains."""
    text = without(STRAND, "contents").replace("[bay]", HOLDER, 1)
    return parameters(reads(text.replace('mass = "0.50 g"', f'mass = "{grams} g"'), "full"))


@pytest.mark.parametrize("grams", [0.16, 0.195])
def test_its_bay_is_that_of_a_holder_which_is_followed_to_the_end(grams: float) -> None:
    # scipy's LSODA (Hindmarsh) from the burst on, with the holder a space of its own to the end
    P = full(grams)
    track = run.integrate(P, 1.0, 1e-6)
    names = [EventCode(code) for _, code in track.events[:4]]
    assert names == [EventCode.START, EventCode.BURST, EventCode.MERGE, EventCode.SLIP]
    # thousands where the last thousandth of its excess is waited for
    assert track.steps < 400
    begun, slip = track.phases[2], track.phases[3]
    record, work, force = pack(P), np.empty((P.volume.size, gasside.WORK)), np.empty(FORCES)
    dy = np.empty(P.heats_at)

    def slope(t: float, state: np.ndarray) -> np.ndarray:
        rates(t, state, begun.modes, begun.memory, record, work, force, dy)
        return dy.copy()

    start, y = begun.times[0], begun.states[0, : P.heats_at]
    some = slice(None, None, max(slip.times.size // 20, 1))
    times = slip.times[some]
    far = solve_ivp(
        slope, (start, times[-1]), y, method="LSODA", rtol=1e-8, atol=1e-14, t_eval=times
    )
    assert far.success, far.message
    ours, theirs = [], []
    for state, held in zip(far.y.T, slip.states[some], strict=True):
        slope(0.0, state)
        theirs.append(work[P.bay, gasside.P_])
        rates(0.0, held[: P.heats_at], slip.modes, slip.memory, record, work, force, dy)
        ours.append(work[P.bay, gasside.P_])
    assert all(a < b for a, b in pairwise(ours))
    # in the merged one the grains burn at the bay's pressure and stir all of its air
    gauge = np.subtract(ours, P.p_ambient)
    np.testing.assert_allclose(gauge, np.subtract(theirs, P.p_ambient), rtol=0.02, atol=1.0)
