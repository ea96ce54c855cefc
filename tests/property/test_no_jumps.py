"""Small changes of an input change a shot a little, as long as the same things happen in it."""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import pytest

import baypulse

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT / "benchmarks"))

from jumps import jumps, steep  # noqa: E402

VALUES = 40
"""Of each input; ``benchmarks/jumps.py`` takes 200, of all inputs of all cases."""


@pytest.mark.parametrize(
    ("name", "path"),
    [
        ("bench-76", "powder.mass"),
        ("bench-76", "contents.extraction_force"),
        ("bench-76", "openings[0].diameter"),
        ("main-98", "holder.burst"),
        ("many-152", "contents.packing_density"),
        ("cold-gas-98", "cold_gas.pressure"),
    ],
)
def test_a_jump_has_a_cause(name: str, path: str) -> None:
    # no model is needed to know the answer: a function that is smooth between its events has steps
    # between neighbours that are about as large as those around them
    case = baypulse.load(ROOT / "cases" / f"{name}.toml")
    found = [jump for jump in jumps(case, path, VALUES) if not jump.cause]
    assert not found, "\n".join(map(str, found))


def test_a_jump_of_a_thousandth_is_seen_and_a_root_and_a_kink_are_none() -> None:
    x = np.linspace(0.0, 1.0, 200)
    same = np.ones(x.size - 1, dtype=bool)
    for smooth in (np.exp(x), np.sqrt(x), np.maximum(x, 0.5), np.cos(6.0 * x), 5.0 + 0.0 * x):
        assert steep(smooth, same) == []
    stepped = np.cos(3.0 * x) + 0.4 * (x > 0.5)
    assert steep(stepped, same) == [99]
    # a thousandth of the whole, where little else changes
    assert steep(1.0 + 1e-4 * x + 1e-3 * (x > 0.25), same) == [49]
    # none where something else happens on the other side
    same[99] = False
    assert steep(stepped, same) == []
