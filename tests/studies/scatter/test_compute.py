"""The studies as a whole: what they count is what the members did."""

from __future__ import annotations

import warnings
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from scipy.stats import spearmanr

from baypulse import scatter, simulate
from baypulse.case.casefile import read
from baypulse.case.model import Case, Limits
from baypulse.members.ensemble import Ensemble, signature
from baypulse.members.pool import pool_of
from baypulse.run.result import VERDICTS, Verdict
from baypulse.show import in_terminal
from baypulse.studies.scatter.compute import examine, run_scatter
from baypulse.studies.scatter.document import document
from baypulse.studies.scatter.result import Scatter
from quick_bays import HALF, empty, strand

CASES = Path(__file__).parents[3] / "cases"


MEMBERS = 1100
"""More than one block of them."""


@cache
def shipped(name: str) -> Case:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return read(CASES / f"{name}.toml")


@cache
def main() -> Case:
    """Return the main bay under the quick law, with a limit that some of its openings exceed."""
    return replace(strand(shipped("main-98"), 1.4e-3), limits=Limits(separation_velocity=11.0))


@cache
def bench() -> Case:
    """Return the bench bay under the quick law and without contents."""
    return empty(shipped("bench-76"), HALF)


@cache
def found() -> Scatter:
    return scatter(main(), members=MEMBERS, workers=2)


@cache
def rows() -> np.ndarray:
    plan = Ensemble(main(), MEMBERS)
    return np.concatenate([plan(0), plan(1)])


def test_the_chances_are_told_before_what_drives_them(tmp_path: Path) -> None:
    ensemble = Ensemble(bench(), 96)
    with pool_of(2) as pool:
        store = run_scatter(ensemble, tmp_path / "shots", pool, workers=2)
    seen: list[tuple[int, int]] = []
    known = examine(ensemble, store, workers=2)
    whole = known.whole(lambda done, all_: seen.append((done, all_)))
    first, last = document(known.findings), document(whole)
    assert not first.next_steps and last.next_steps
    assert in_terminal.told(first) == in_terminal.told(replace(last, next_steps=()))
    rest = " ".join(in_terminal.late(last, first).split())
    assert all(step in rest for step in last.next_steps)
    assert seen[-1][0] > whole.influence_runs and all(done <= all_ for done, all_ in seen)


def test_chances_are_counts_of_the_members() -> None:
    assert sum(each.count for each in found().verdicts) == MEMBERS
    for code, name in enumerate(VERDICTS):
        each = next(chance for chance in found().verdicts if chance.name == name)
        assert each.count == np.sum(rows()["verdict"] == code)
        assert each.low <= each.share <= each.high
    limit = main().limits.separation_velocity
    exceeded = next(each for each in found().limits if each.name == "greatest separation velocity")
    assert 0 < exceeded.count < MEMBERS
    assert exceeded.count == np.sum(rows()["greatest_velocity"] > limit)
    assert exceeded.count == np.sum(rows()["verdict"] == Verdict.SEPARATES_TOO_HARD.code)


def test_distributions_are_those_of_the_members() -> None:
    for held in found().distributions:
        values = rows()[held.name]
        values = values[~np.isnan(values)]
        assert held.happened == values.size
        np.testing.assert_allclose(held.quantiles, np.quantile(values, held.shares), rtol=1e-12)
        assert held.mean == pytest.approx(values.mean(), rel=1e-12)
        assert held.deviation == pytest.approx(values.std(ddof=1), rel=1e-9)
        np.testing.assert_array_equal(held.counts, np.histogram(values, held.edges)[0])


def test_bands_lie_about_the_nominal_run() -> None:
    result = simulate(main())
    for band in found().bands:
        curve = np.interp(band.times, result.time, result.curves[band.name].values)
        np.testing.assert_allclose(band.nominal, curve, atol=2e-3 * np.abs(curve).max())
        assert np.all(np.diff(band.values, axis=0) >= 0.0)
        low, high = band.values[0], band.values[-1]
        assert np.mean((low <= band.nominal) & (band.nominal <= high)) > 0.9


def test_drivers_name_what_matters() -> None:
    # what goes with the peak most closely in the members, by scipy's ranks: of a nearly linear
    # output a squared correlation is the first-order index (Saltelli et al., Global Sensitivity
    # Analysis, 2008; from memory)
    peak = next(output for output in found().outputs if output.name == "peak_pressure")
    first = peak.influences[0]
    shares = {
        factor.name: spearmanr(rows()[factor.name], rows()["peak_pressure"]).statistic ** 2
        for factor in found().factors
        if factor.name in rows().dtype.names and np.ptp(rows()[factor.name]) > 0.0
    }
    assert first.factor == max(shares, key=lambda name: shares[name])
    assert first.first == pytest.approx(shares[first.factor], abs=0.1)
    assert sum(each.first for each in peak.influences) == pytest.approx(1.0, abs=0.35)
    opens = next(output for output in found().outputs if output.name == "separates")
    assert opens.influences == () and "nearly all" in opens.reason


def test_the_answer_does_not_depend_on_the_number_of_threads() -> None:
    case = bench()
    one, three = (scatter(case, members=200, workers=n) for n in (1, 3))
    assert one.verdicts == three.verdicts
    assert one.outputs == three.outputs


def test_what_decides_a_run_is_in_the_signature_and_what_does_not_is_not() -> None:
    case = main()
    other = replace(case, bay=replace(case.bay, mixing_time=0.031))
    assert signature(other) != signature(case)
    assert signature(replace(case, note="another note", source_text="")) == signature(case)
    assert signature(replace(case, spreads={})) != signature(case)
