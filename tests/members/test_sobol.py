"""Sobol' points, against those of SciPy."""

from __future__ import annotations

import subprocess
import sys
from typing import Any

import numpy as np
import pytest
from scipy.stats import qmc

from baypulse.members import draws, sobol

LOADED = """
import sys
from baypulse.members import charge_search, draws
from baypulse.studies.aloft import compute, document
from baypulse.studies.pins import compute, document
from baypulse.studies.plan import compute, document
from baypulse.studies.scatter import compute, document, influence
from baypulse.studies.shots import compute, document
from baypulse.studies.why import explanation, document
from baypulse.studies.window import compute, document

draws.unit_points(1, 0, 8)
charge_search.ranks(0.99, 1000)
influence.indices(lambda u: u, [influence.Group("alone", (0,))], 1, 64, seed=1)
print([name for name in sys.argv[1:] if name in sys.modules])
"""


class Plain:
    """Stands for a generator, and scrambles nothing."""

    def integers(self, high: int, size: Any, dtype: Any) -> np.ndarray:
        return np.zeros(size, dtype=dtype)


@pytest.mark.parametrize("dimensions", [1, 2, 62, 160])
def test_scrambled_points_are_those_of_scipy(dimensions: int) -> None:
    ours = sobol.scrambled(dimensions, np.random.default_rng(5).spawn(1)[0])
    engine = qmc.Sobol(dimensions, scramble=True, bits=10, rng=np.random.default_rng(5))
    assert np.array_equal(ours, engine.random(1024))


@pytest.mark.parametrize("dimensions", [1, 124, 500, sobol.MOST])
@pytest.mark.parametrize("members", [2, 64, 1024, 4096])
def test_points_of_thirty_digits_are_those_of_scipy(dimensions: int, members: int) -> None:
    ours = sobol.scrambled(dimensions, np.random.default_rng(5).spawn(1)[0], members, digits=30)
    engine = qmc.Sobol(dimensions, scramble=True, rng=np.random.default_rng(5))
    assert np.array_equal(ours, engine.random(members))


def test_plain_points_are_those_of_scipy_in_every_column() -> None:
    # of 30 digits, so that those of all columns are right; the first 1024 points have ten
    engine = qmc.Sobol(sobol.MOST, scramble=False)
    plain: Any = Plain()
    assert np.array_equal(sobol.scrambled(sobol.MOST, plain), engine.random(1024))


@pytest.mark.parametrize("dimensions", [161, 400, sobol.MOST + 60])
def test_no_column_stands_still_however_many_there_are(dimensions: int) -> None:
    u = draws.unit_points(3, 0, dimensions)
    cells = np.sort(np.floor(u * draws.BLOCK).astype(int), axis=0)
    even = np.all(cells == np.arange(draws.BLOCK)[:, None], axis=0)
    assert even[: sobol.MOST].all()
    # the standard deviation of uniform numbers is 1/sqrt(12), of 1024 random ones within 1.4 %
    # with one standard error: five of them here
    assert u.std(axis=0) == pytest.approx(12.0**-0.5, rel=0.07)


def test_no_answer_waits_for_what_draws_or_counts_slowly() -> None:
    dear = ("scipy.stats", "scipy.interpolate", "scipy.optimize", "scipy.linalg", "matplotlib")
    ran = subprocess.run([sys.executable, "-c", LOADED, *dear], capture_output=True, text=True)
    assert (ran.stdout, ran.stderr) == ("[]\n", "")
