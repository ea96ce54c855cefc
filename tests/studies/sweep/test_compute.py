"""A sweep against single runs and ensembles of its points."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from baypulse import simulate, sweep
from baypulse.members import draws
from baypulse.members.ensemble import Ensemble
from baypulse.members.outcomes import run_members
from baypulse.members.parts import StudyError
from baypulse.run.result import VERDICTS, Verdict
from studies.scatter.test_compute import bench, shipped


def test_a_point_of_a_sweep_is_a_run_of_that_case() -> None:
    case = bench()
    assert case.powder is not None
    curve = sweep(case, ["powder.mass=0.03 g, 0.3 g, 0.9 g"])
    held = {quantity.name: quantity for quantity in curve.quantities}
    for k, mass in enumerate((0.03e-3, 0.3e-3, 0.9e-3)):
        result = simulate(replace(case, powder=replace(case.powder, mass=mass)))
        assert VERDICTS[curve.verdict[k]] == result.verdict
        peak = held["peak_pressure"].middle[k]
        assert peak == pytest.approx(result.numbers.peak_pressure, rel=1e-3)
        speed = held["greatest_velocity"].middle[k]
        if result.numbers.greatest_velocity is None:
            assert np.isnan(speed)
        else:
            assert speed == pytest.approx(result.numbers.greatest_velocity, rel=2e-3)
    assert curve.verdict[0] == Verdict.NO_SEPARATION.code


def test_chances_of_a_sweep_are_those_of_an_ensemble_of_each_point() -> None:
    case = bench()
    table = sweep(case, ["powder.mass=0.08 g..0.16 g:3", "pins.count=2..3"], members=128, seed=4)
    opens = table.quantities[0]
    assert opens.name == "separates" and opens.middle.shape == (3, 2)
    assert case.powder is not None and case.pins is not None
    spreads = {path: s for path, s in case.spreads.items() if path != "powder.mass"}
    held = replace(
        case, powder=replace(case.powder, mass=0.12e-3), pins=replace(case.pins, count=2),
        spreads=spreads,
    )  # fmt: skip
    plan = Ensemble(held, 128, seed=4)
    members = run_members(held, draws.values(held, plan.factors, plan.points(0)), 128)
    assert opens.middle[1, 0] == members.opened.mean()
    # more powder opens more often, more pins less: the same scores are drawn at every point
    assert np.all(np.diff(opens.middle, axis=0) >= 0.0)
    assert np.all(np.diff(opens.middle, axis=1) <= 0.0)


def test_an_impossible_point_is_refused_with_its_place() -> None:
    with pytest.raises(StudyError, match=r"at contents.volume = 1.20 L .*: contents.volume: "):
        sweep(shipped("bench-76"), ["contents.volume=0.4 l..2 l:3"])
