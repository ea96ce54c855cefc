"""A pushed column of cloth: its growth and the part of it that is still in the tube."""

from __future__ import annotations

import math

import pytest

from baypulse.physics import piston


@pytest.mark.parametrize("z", [0.0, 1e-9, 1e-3, 0.4, 2.0])
def test_growth_is_the_series_of_the_exponential(z: float) -> None:
    # (e^z - 1)/z = sum of z^n/(n + 1)!
    series = math.fsum(z**n / math.factorial(n + 1) for n in range(40))
    assert piston.growth(z) == pytest.approx(series, rel=1e-12)


def test_both_forms_of_the_growth_meet() -> None:
    below, above = (piston.growth(piston.SHORT * (1.0 + d)) for d in (-1e-6, 1e-6))
    assert above == pytest.approx(below, rel=1e-11)


def test_a_pack_that_leaves_its_tube_is_in_it_by_what_is_left() -> None:
    # a pack of 0.1 m whose rear passes the lip after 0.3 m of travel: whole to 0.2 m, half at 0.25
    shares = [piston.engaged_share(u, 0.3, 0.1) for u in (0.0, 0.2, 0.25, 0.29, 0.3, 0.5)]
    assert shares == pytest.approx([1.0, 1.0, 0.5, 0.1, 0.0, 0.0], abs=1e-12)
