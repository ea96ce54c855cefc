"""Statistics that take minutes: what the tests hold with few members, held with many.

    python benchmarks/long_statistics.py              # all of it
    python benchmarks/long_statistics.py --only worst # what a word is part of

The statements and their tolerances are those of the tests, whose functions are called here with
more members or seeds: the error of the worst member of thousands against runs at a tolerance of
1e-9 (tests/members/test_ensemble.py), the chance of a bay of which only pins scatter against a
normal integral, chances of rare failures against known tails (tests/studies/scatter/test_rare.py),
and how often intervals of leak-down records hold the truth
(tests/studies/leakdown/test_leak_readings.py). Exit code 1 when one does not hold. Hundreds of fits
and of diagnoses have programs of their own: benchmarks/fit.py and benchmarks/why.py.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np

ROOT = Path(__file__).parents[1]
sys.path[:0] = [str(ROOT / "tests")]

from members import test_ensemble as held  # noqa: E402
from studies.leakdown import test_leak_readings as leaks  # noqa: E402
from studies.scatter import test_rare as tails  # noqa: E402

MEMBERS = 2048
"""Among which the worst is looked for."""

SIZES, SEEDS = (64, 256, 1024, 4096), 8
"""Of ensembles of which only pins scatter."""

WORST = 2e-4
"""Greatest relative error of a member, as in the tests."""


def worst() -> str:
    """Return the worst error of any number of any member of two shipped cases."""
    found = {}
    for name in ("bench-76", "main-98"):
        errors = held.errors(name, MEMBERS)
        column = max(errors, key=lambda each: np.nanmax(errors[each]))
        found[name] = float(np.nanmax(errors[column]))
        assert found[name] < WORST, (name, column, found[name])
    told = ", ".join(f"{error:.1e} in {name}" for name, error in found.items())
    return f"worst of {MEMBERS} members: {told} (allowed {WORST:.0e})"


def pins() -> str:
    """Return the error of the chance against the integral, for each size."""
    errors = held.check_normal_integral(SIZES, SEEDS)
    told = ", ".join(f"{error:.4f} of {size}" for size, error in zip(SIZES, errors, strict=True))
    return f"error of the chance that all pins fail, {SEEDS} seeds: {told}"


def rare() -> str:
    """Return how far the means of rare chances are off, and how often their intervals hold."""
    off = [tails.check_mean(name, tails.SEEDS) for name in tails.CASES]
    often = tails.check_intervals(tails.SEEDS)
    told = ", ".join(f"{each:+.1%} {name}" for name, each in zip(tails.CASES, off, strict=True))
    return f"means of {tails.SEEDS} seeds: {told}; intervals hold {often:.1%}"


def leakdown() -> str:
    """Return how often intervals of leak-down records hold the truth."""
    often = [leaks.check_records(record, leaks.TESTS) for record in leaks.RECORDS]
    return f"intervals hold {', '.join(f'{each:.1%}' for each in often)} of {leaks.TESTS}"


CHECKS: tuple[Callable[[], str], ...] = (worst, pins, rare, leakdown)
"""What is held."""


def main() -> int:
    """Hold each statement, and print its figure and its time."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0], allow_abbrev=False)
    parser.add_argument("--only", default="", metavar="WORD", help="checks whose name holds it")
    chosen = parser.parse_args()
    failed = 0
    for check in CHECKS:
        if chosen.only not in check.__name__:
            continue
        began = time.process_time()
        try:
            told = check()
        except AssertionError as error:
            failed += 1
            told = f"does not hold: {error}"
        took = time.process_time() - began
        print(f"{check.__name__}: {told}; {took:.0f} s of the processor", flush=True)
    return int(failed > 0)


if __name__ == "__main__":
    sys.exit(main())
