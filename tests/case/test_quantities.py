"""How chances are written: no surer than the records."""

import pytest
from scipy import stats

from baypulse.case import quantities
from baypulse.members.chances import chance


def test_a_chance_is_bounded_by_the_rule_of_succession() -> None:
    # the mean of the chance of the next success after n of n, with all chances alike before: scipy
    expected = stats.beta(quantities.RECORDED + 1, 1).mean()
    assert expected == pytest.approx(quantities.SUPPORTED)


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (1.0, "over 96 %"), (0.9999, "over 96 %"), (0.966, "over 96 %"), (0.965, "96.5 %"),
        (0.5, "50.0 %"), (0.035, "3.5 %"), (0.034, "under 4 %"), (0.0, "under 4 %"),
    ],
)  # fmt: skip
def test_no_chance_is_written_surer_than_the_records(value: float, text: str) -> None:
    assert quantities.likely(value) == text


@pytest.mark.parametrize(
    ("grams", "least", "most"),
    [(0.4, 0.4, 0.4), (0.401, 0.41, 0.4), (0.996, 1.0, 0.99), (1.0, 1.0, 1.0), (1.01, 1.05, 1.0),
     (3.5, 3.5, 3.5), (3.53, 3.55, 3.5), (12.34, 12.35, 12.3)],
)  # fmt: skip
def test_a_mass_of_powder_is_rounded_to_what_a_scale_shows_and_to_the_safe_side(
    grams: float, least: float, most: float
) -> None:
    assert quantities.weighable(1e-3 * grams, up=True) == pytest.approx(1e-3 * least)
    assert quantities.weighable(1e-3 * grams, up=False) == pytest.approx(1e-3 * most)


def test_what_was_counted_stands_behind_a_chance_that_is_bounded() -> None:
    everyone, most, none, half = (chance("", k, 20_000) for k in (20_000, 19_990, 0, 10_000))
    assert quantities.often(everyone) == "in over 96 % of the shots (all of 20,000 simulated shots)"
    assert "(99.950 % of 20,000 simulated shots)" in quantities.often(most)
    assert quantities.often(none) == "in under 4 % of the shots (none of 20,000 simulated shots)"
    assert quantities.often(half) == "in 50.0 % of 20,000 simulated shots (49.3 to 50.7)"
    assert quantities.chance(everyone) == "over 96 %"
