"""Which measurement would narrow a bay's least charge most."""

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from scipy.stats import spearmanr

from baypulse import load
from baypulse.members.charges import Charges, Tally, works
from baypulse.members.factors import factors
from baypulse.observed import least_charges as own
from baypulse.observed.least_charges import explained, least_charges, measurement_of, measurements

CASES = Path(__file__).parents[2] / "cases"


def test_explained_share_of_normal_numbers_is_that_of_their_rank_correlation() -> None:
    # K. Pearson, On further methods of determining correlation, 1907: of normal numbers with
    # correlation r the rank correlation is 6/pi asin(r/2)
    rng = np.random.default_rng(7)
    x, noise = rng.standard_normal((2, 40_000))
    for r in (0.0, 0.3, 0.6, 0.9):
        y = r * x + math.sqrt(1.0 - r * r) * noise
        expected = (6.0 / math.pi * math.asin(0.5 * r)) ** 2
        assert explained(y, [x]) == pytest.approx(expected, abs=0.01)


def test_two_numbers_that_are_independent_explain_the_sum_of_their_shares() -> None:
    rng = np.random.default_rng(8)
    a, b = rng.standard_normal((2, 20_000))
    whole = explained(a + b, [a, b])
    assert whole == pytest.approx(explained(a + b, [a]) + explained(a + b, [b]), abs=0.02)
    assert whole > 0.9
    # what never changes is explained by nothing
    assert explained(np.ones(50), [np.arange(50.0)]) == 0.0


def test_every_number_that_scatters_has_a_measurement() -> None:
    for name in ("main-98", "cold-gas-98", "drogue-98"):
        case = load(CASES / f"{name}.toml")
        for factor in factors(case):
            for path in factor.paths:
                assert measurement_of(path).how
    assert measurements()[-1].numbers == ("*",) and not measurements()[-1].key
    assert measurement_of("library.packs.unknown.shear").key == "contents.extraction_force"
    assert measurement_of("library.pin materials.nylon 6/6.shear_strength").key == "pins.strength"
    assert measurement_of("bay.model_agreement").key == ""


def test_each_bay_opens_a_little_above_its_own_least_charge_and_not_below() -> None:
    charges = Charges(load(CASES / "bench-76.toml"), 24, 3, 1, Tally())
    found = own._thresholds(charges)
    assert np.isfinite(found).all()
    for member, charge in enumerate(found):
        below, above = (
            works(charges.fire(float(charge * times), np.array([member])))[0]
            for times in (1 / 1.06, 1.06)
        )
        assert above and not below


def test_a_pull_that_nobody_measured_is_what_to_measure_where_it_decides() -> None:
    case = load(CASES / "bench-76.toml")
    assert case.contents is not None and case.pins is not None
    spreads = {path: s for path, s in case.spreads.items() if path != "contents.extraction_force"}
    contents = replace(case.contents, extraction_force=None, tightness="tight")
    unmeasured = replace(case, contents=contents, spreads=spreads, pins=None)
    first, *others, last = least_charges(unmeasured).ranked
    assert first.measurement.name == "extraction force" and first.narrows > 0.1
    assert all(each.narrows < first.narrows for each in others)
    # what takes a shot comes last, however much it would tell
    assert not last.measurement.key


def test_equal_numbers_share_their_ranks() -> None:
    rng = np.random.default_rng(4)
    x = rng.integers(5, size=300).astype(float)
    y = x + rng.integers(6, size=300)
    # scipy's rank correlation; adjusted as any coefficient of determination of one column
    share = float(spearmanr(x, y).statistic) ** 2
    assert explained(y, [x]) == pytest.approx(1.0 - (1.0 - share) * 299 / 298, rel=1e-9)
