"""Whether the causes of made-up failed shots are found again, and what a diagnosis costs.

python benchmarks/why.py            # print
python benchmarks/why.py --check    # exit 1 when causes are not found or odds are off

Members of the shots are drawn apart from those of the diagnosis; reports are drawn from the
sightings' own error rates. Two sets of shots for each case:

* as many failed shots of every cause that makes this case fail, for the confusion table. Causes
  that are the same to the bay are put together, by shots that serve for nothing else.
* shots as often as the prior odds say, pairs of causes among them, for reliability and Brier score.
"""

from __future__ import annotations

import os
import sys
import time
from dataclasses import replace
from pathlib import Path

import numpy as np
import simulated_failures as failures

import baypulse
from baypulse.case.held_value import with_value
from baypulse.case.model import Case
from baypulse.observed.sightings import kinds
from baypulse.studies.why.compute import PreparedDiagnosis, posterior, prepare

ROOT = Path(__file__).parents[1]

SHOTS = 520
"""Shots of each set, at least."""

TOP_TWO = 0.80
"""Required share of shots with the true cause first or second, where the physics can tell."""

FAR = 4.5
"""Allowed distance of what was said and what came in any bin of the reliability diagram, in
standard errors of as many independent shots; the largest of thirty such is above 4 once in 500."""

NUMBERS = tuple(name for name, kind in kinds().items() if not kind.answers)
WORDS = tuple(name for name, kind in kinds().items() if kind.answers)
ALL = dict.fromkeys((*WORDS, *NUMBERS), 1.0)
SOME = {**dict.fromkeys(WORDS, 0.8), **dict.fromkeys(NUMBERS, 0.5)}
"""What is asked in the two sets: everything, and whatever people happen to say."""


def main() -> int:
    """Print how causes are found again, and check it if asked."""
    bench, pins = (
        baypulse.load(ROOT / "cases" / f"{name}.toml") for name in ("bench-76", "main-98")
    )
    low = with_value(bench, "powder.mass", 0.5e-3)
    low = replace(low, name="bench-76 with half its charge", spreads=bench.spreads)
    less = replace(
        with_value(pins, "powder.mass", 0.6e-3), name="main-98 with a quarter of its charge"
    )
    good = [one(case) for case in (bench, pins, low, replace(less, spreads=pins.spreads))]
    return int("--check" in sys.argv and not all(good))


def one(case: Case) -> bool:
    """Print all about a case; say whether it is as it should be."""
    threads = os.cpu_count() or 1
    begun = time.perf_counter()
    # as many as a diagnosis gives to causes that matter: nothing is seen here yet
    full = prepare(case, members=256, pair_members=32, workers=threads)
    taken = time.perf_counter() - begun
    print(f"\n{case.name}: {full.seen.usable.size} members in {taken:.1f} s on {threads} threads")
    truth = prepare(case, members=1024, pair_members=64, seed=1001, workers=threads)
    good = confusion(full, truth)
    return calibrated(full, truth) and good


def confusion(full: PreparedDiagnosis, truth: PreparedDiagnosis) -> bool:
    """Print the confusion table; say whether enough causes were found again."""
    able = sum(
        failed.size >= failures.FEWEST and len(each.causes) == 1
        for each, failed in zip(truth.ensembles, failures.failing(truth), strict=True)
    )
    each = -(-SHOTS // able)
    even = failures.even_priors(truth)
    single = failures.single_causes(full)
    trial = failures.shots_of_each(truth, each, ALL, 11)
    groups = failures.alike(failures.chances(single, trial, even), trial)
    shots = failures.shots_of_each(truth, each, ALL, 12)
    shares = failures.chances(single, shots, even)
    found = failures.recovery(single, shares, shots, groups)
    every = failures.recovery(single, shares, shots, [[k] for group in groups for k in group])
    print(f"{found.shots} failed shots, {each} of each of {able} causes, everything asked")
    for row, name in zip(found.confusion, found.names, strict=False):
        print("  " + " ".join(f"{n:4d}" if n else "   ." for n in row) + f"  {name}")
    print(f"  first {found.first:.3f}, top two {found.top_two:.3f} of {len(groups)} groups")
    print(f"  (expected by the diagnoses themselves {found.expected_two:.3f})")
    print(f"  every cause by itself: first {every.first:.3f}, top two {every.top_two:.3f}")
    none = np.array([posterior(single, shot.sightings, even).share[-1] for shot in shots])
    wild = [failures.random_shot(truth, ALL, seed) for seed in range(200)]
    nonsense = np.array([posterior(single, said, even).share[-1] for said in wild])
    print(f"  none of these: mean {none.mean():.3f}; of reports at random {nonsense.mean():.3f}")
    return found.top_two >= TOP_TWO


def calibrated(full: PreparedDiagnosis, truth: PreparedDiagnosis) -> bool:
    """Print reliability and Brier score; say whether odds are what they say."""
    shots = failures.shots_by_odds(truth, SHOTS, SOME, 13)
    shares = failures.chances(full, shots, {})
    found = failures.calibration(full, shares, shots, failures.failure_shares(truth))
    print(f"{len(shots)} shots by the prior odds, some things asked: said, came, chances")
    for said, came, count in zip(found.said, found.came, found.counts, strict=True):
        print(f"  {said:6.3f} {came:6.3f} {count:6d}")
    print(f"  worst bin off by {found.worst:.1f} standard errors (at most {FAR:g})")
    print(f"  Brier score {found.brier:.3f}, of the prior {found.brier_prior:.3f}")
    return found.worst <= FAR and found.brier < found.brier_prior


if __name__ == "__main__":
    sys.exit(main())
