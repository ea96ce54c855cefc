"""How high members separate: order statistics of known thresholds, and an honest interval."""

from __future__ import annotations

import math

import numpy as np
import pytest

from baypulse.studies.aloft.first_failure import CLOSE, FirstFailure

GRID = np.linspace(0.0, 15e3, 8)


def of_thresholds(fails: np.ndarray) -> tuple[FirstFailure, list[int]]:
    """Members that open below an altitude of their own, and how many were tried."""
    tried: list[int] = []

    def opens(altitude: float, which: np.ndarray) -> np.ndarray:
        tried.append(which.size)
        return altitude < fails[which]

    return FirstFailure(opens, GRID, GRID[:, None] < fails), tried


@pytest.mark.parametrize("wanted", [0.5, 0.9, 0.99])
def test_height_is_the_order_statistic_of_the_thresholds(wanted: float) -> None:
    fails = np.random.default_rng(3).uniform(1e3, 14e3, 500)
    held, tried = of_thresholds(fails)
    found = held.height(wanted)
    # with 500 members 1 % is 5: the sixth failure is one too many
    exact = np.sort(fails)[round((1.0 - wanted) * 500)]
    assert exact - CLOSE <= found.altitude <= exact
    assert found.low < found.altitude < found.high
    assert sum(tried) < 2 * 500


def test_nobody_fails_and_everybody_fails() -> None:
    held, tried = of_thresholds(np.full(512, 1e9))
    assert held.height(0.99) == (math.inf, math.inf, math.inf)
    # 300 of 300 are not enough to be sure of 99 %: 0.99^300 is 4.9 %, above 2.5 %
    assert of_thresholds(np.full(300, 1e9))[0].height(0.99) == (math.inf, -math.inf, math.inf)
    held, more = of_thresholds(np.full(300, -1.0))
    assert held.height(0.99) == (-math.inf, -math.inf, -math.inf)
    assert not tried
    assert not more


def test_failed_at_home_counts_above_too() -> None:
    opened = np.ones((GRID.size, 256), dtype=bool)
    opened[0, :10] = False  # they fail at home and would open higher up
    held = FirstFailure(lambda *_: np.array([]), GRID, opened)
    assert held.height(0.99).altitude == -math.inf
    assert held.height(0.9).altitude == math.inf


def test_interval_holds_the_true_altitude_as_often_as_it_says() -> None:
    # thresholds uniform from 0 to 15 km: 5 % have failed at 750 m
    hit = []
    for seed in range(300):
        held, _ = of_thresholds(np.random.default_rng(seed).uniform(0.0, 15e3, 256))
        low, high = held.height(0.95)[1:]
        hit.append(low - CLOSE <= 750.0 <= high + CLOSE)
    # 300 samples of 95 %: standard deviation 1.3 %
    assert np.mean(hit) > 0.95 - 3.0 * 0.013
