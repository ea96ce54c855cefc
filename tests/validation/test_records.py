"""Recorded shots against the calibrated engine: every row through the ordinary front door.

Sources stand beside each figure in ``records/measured.toml``. The numbers of the closures were
learnt from these rows (``benchmarks/calibrate.py``), so that this is a test of fit; the same
program says how well each row is predicted by the others.
"""

from __future__ import annotations

import math

import pytest

from baypulse import simulate
from recorded import Measured, Record, computed, inside, records
from recorded import band as band_of

RECORDS = {record.name: record for record in records()}
SHOTS = [name for name in RECORDS if not name.startswith("separation")]
SEPARATIONS = [name for name in RECORDS if name.startswith("separation")]

LEAST_INSIDE = 0.85
"""Share of the rows that must lie inside their 90 % band."""

WIDEST = 1.6
"""Factor in speed that the band may span."""


def band(name: str) -> dict[str, tuple[float, float]]:
    return band_of(RECORDS[name])


def nominal(name: str) -> float:
    return computed(simulate(RECORDS[name].case))["speed"]


def energy_per_gram(name: str) -> float:
    case = RECORDS[name].case
    assert case.powder is not None
    return 0.5 * case.nose.mass * nominal(name) ** 2 / case.powder.mass


def test_nearly_all_rows_lie_inside_their_band() -> None:
    rows = {(name, q): inside(RECORDS[name].measured[q], *band(name)[q]) for name in SHOTS
            for q in RECORDS[name].measured}  # fmt: skip
    outside = [f"{name}: {q}" for (name, q), within in rows.items() if not within]
    assert len(rows) - len(outside) >= LEAST_INSIDE * len(rows), outside


@pytest.mark.parametrize("name", SEPARATIONS)
def test_a_separation_lies_inside_its_band(name: str) -> None:
    for quantity, ends in band(name).items():
        assert inside(RECORDS[name].measured[quantity], *ends), (quantity, ends)


@pytest.mark.xfail(strict=True, reason="1.6 under the closest ball, to 5 under loose ones")
def test_no_band_is_wider_than_asked() -> None:
    # grains that leave through a gap, whose size nobody knows, and the burning that they would have
    # fed: all of the width is on the weak side
    for name in SHOTS:
        for low, high in band(name).values():
            assert high < WIDEST * low, name


def test_the_yield_of_a_gram_rises_with_the_charge() -> None:
    # Hutton's iron ball: E/C 116 to 121 J/g from one ounce and 165 to 188 from two
    assert energy_per_gram("small-mortar-iron-2oz") > energy_per_gram("small-mortar-iron-1oz")


@pytest.mark.xfail(strict=True, reason="1.2: one ounce under the closest ball is too strong")
def test_the_yield_of_a_gram_rises_with_the_charge_as_measured() -> None:
    ratio = energy_per_gram("small-mortar-iron-2oz") / energy_per_gram("small-mortar-iron-1oz")
    assert 1.3 < ratio < 1.7


def test_light_bodies_take_little_energy() -> None:
    # oak and paper, whose drag leaves a range of speeds (section 1)
    for name in ("small-mortar-oak-1oz", "small-mortar-paper-1oz", "small-mortar-whiting-1oz"):
        low, high = band(name)["speed"]
        assert inside(RECORDS[name].measured["speed"], low, high), (name, low, high)


def test_more_windage_makes_a_slower_ball() -> None:
    # the shell filled with lead is heavier and looser than the iron ball: 27.8 to 33.9 m/s
    assert nominal("small-mortar-lead-1oz") < 0.9 * nominal("small-mortar-iron-1oz")


@pytest.mark.xfail(strict=True, reason="0.71: as the yield, the closest ball is too quick")
def test_more_windage_makes_a_ball_as_much_slower_as_measured() -> None:
    assert 0.75 < nominal("small-mortar-lead-1oz") / nominal("small-mortar-iron-1oz") < 0.90


def test_a_measured_figure_carries_its_range_and_its_shots() -> None:
    # evenly between both ends: a standard deviation of the width over sqrt(12)
    measured = Measured(10.0, 10.0 * math.e**0.2, 0.05)
    assert measured.deviation == pytest.approx(math.hypot(0.2 / math.sqrt(12.0), 0.05), rel=1e-12)
    assert isinstance(next(iter(RECORDS.values())), Record)
