"""The curve that is drawn through chances, against the distribution function of scipy.stats."""

from itertools import pairwise

import numpy as np
import pytest
from scipy.stats import norm

from baypulse.show.figures.quantity_curves import UNSEEN, through_chances


def test_through_chances_of_a_normal_spread_it_is_its_distribution() -> None:
    spread = norm(1.2, 0.3)
    x = np.array([0.7, 0.9, 1.3, 1.45, 1.9])
    dense, line = through_chances(x, 100.0 * spread.cdf(x))
    np.testing.assert_allclose(line, 100.0 * spread.cdf(dense), rtol=1e-9)


@pytest.mark.parametrize("share", [[0, 0, 3, 60, 61, 100, 100], [100, 80, 80, 0], [0, 100]])
def test_it_meets_them_and_turns_nowhere_between(share: list[float]) -> None:
    x = np.cumsum(1.0 + np.arange(len(share)) % 3)
    dense, line = through_chances(x, np.array(share, dtype=float))
    np.testing.assert_allclose(
        np.interp(x, dense, line), share, atol=100.0 * UNSEEN + 0.6 * np.abs(np.diff(line)).max()
    )
    for low, high in pairwise(x):
        steps = np.diff(line[(dense >= low) & (dense <= high)])
        assert (steps >= 0.0).all() or (steps <= 0.0).all()
