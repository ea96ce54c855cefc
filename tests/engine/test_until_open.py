"""Members of which only is asked whether they open: the same answer, in fewer steps."""

from __future__ import annotations

import numpy as np
import pytest

from baypulse.engine import ensemble
from baypulse.engine.ensemble import RunColumn, Until
from engine.test_side_by_side import TOLERANCE, records, shipped

SAID = [
    RunColumn.BURST_TIME, RunColumn.SLIP_TIME, RunColumn.FIRST_PIN_TIME, RunColumn.PINS_FAILED,
    RunColumn.CLEAR_TIME, RunColumn.CLEAR_VELOCITY, RunColumn.CONTENTS_TIME,
]  # fmt: skip
"""What the way to an open bay says."""


@pytest.mark.parametrize("factor", [0.7, 1.3])
@pytest.mark.parametrize("name", ["bench-76", "main-98", "drogue-98", "cold-gas-98"])
def test_they_open_as_they_do_when_they_are_run_to_their_end(name: str, factor: float) -> None:
    """With contents that have to come out, a bay that leaks, and cold gas in one without any."""
    case = shipped(name)
    given, end = records(case, 48), case.run.end_time
    given["charge_mass"] *= factor
    given["burnable_fraction"] *= min(factor, 1.0)
    whole = ensemble.run_members(given, end, TOLERANCE)
    found = ensemble.run_members(given, end, TOLERANCE, Until.OPEN)
    parted = np.isfinite(whole[:, RunColumn.CLEAR_TIME])
    out = np.isfinite(whole[:, RunColumn.CONTENTS_TIME]) | (given["contents_mass"] <= 0.0)
    opens = parted & out
    np.testing.assert_array_equal(found[~opens], whole[~opens])
    np.testing.assert_array_equal(found[opens][:, SAID], whole[opens][:, SAID])
    assert (found[opens, RunColumn.STATUS] == ensemble.FINISHED).all()
    assert (found[opens, RunColumn.STEPS] <= whole[opens, RunColumn.STEPS]).all()
    if opens.any():
        assert found[opens, RunColumn.STEPS].sum() < whole[opens, RunColumn.STEPS].sum()


def test_both_happen_among_them() -> None:
    """Without bays that open and bays that stay shut the above would say nothing."""
    case = shipped("bench-76")
    shares = []
    for factor in (0.7, 1.3):
        given = records(case, 48)
        given["charge_mass"] *= factor
        rows = ensemble.run_members(given, case.run.end_time, TOLERANCE, Until.OPEN)
        shares.append(np.isfinite(rows[:, RunColumn.CLEAR_TIME]).mean())
    assert shares[0] < 0.8 < shares[1]
