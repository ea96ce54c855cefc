"""Whether intervals after shots hold the chance of made-up builds, and what it costs to learn.

python benchmarks/shots.py            # print
python benchmarks/shots.py --check    # exit 1 when intervals hold too seldom or shots do not help

Builds are drawn from the spreads of a case and fire the same few charges; somebody reports what was
seen, with the mistakes of the sightings' data. Each build's own chance of separation is known from
many more shots of it. The builds that learn are drawn apart from those that are learnt about.
"""

from __future__ import annotations

import os
import sys
import time
from dataclasses import replace
from pathlib import Path

import numpy as np

import baypulse
from baypulse.case.casefile.shot_file import ShotRow
from baypulse.case.held_value import with_value
from baypulse.case.model import Case
from baypulse.members.factors import factors
from baypulse.members.weights import effective, quantiles, weights
from baypulse.observed.build_weights import WeighedBuilds, learn
from baypulse.observed.shot_log import ShotLog, shot_of
from baypulse.observed.sighting_odds import likelihood, report
from baypulse.studies.shots.compute import build_chances

ROOT = Path(__file__).parents[1]

BUILDS, TIMES = 200, 64
"""Builds that are learnt about, and shots behind the chance of each."""

CHARGES = (0.9, 1.1, 1.0, 1.0)
"""Of the shots, over that of the case."""

LEVELS = (0.5, 0.8, 0.9)
"""Of the intervals. Many builds open always or never, so that an interval from 1 to 1 holds more
than its level: read them as at least."""

LEAST, MOST = 0.82, 0.97
"""Required share of the intervals of 90 % that hold the chance: four standard errors of as many
builds below, three above."""


def main() -> int:
    """Print coverage and score, and check them if asked."""
    bench = baypulse.load(ROOT / "cases" / "bench-76.toml")
    case = replace(with_value(bench, "powder.mass", 0.125e-3), spreads=bench.spreads)
    rows = [ShotRow(charge=share * 0.125e-3, saw=("separated",)) for share in CHARGES]
    log = ShotLog("made up", tuple(shot_of(case, row) for row in rows))
    workers = os.cpu_count() or 1
    began = time.perf_counter()
    knows, true = (
        learn(case, log, members=1024, most=1024, seed=seed, workers=workers) for seed in (1, 2)
    )
    print(f"2 x 1024 builds, {len(rows)} shots each: {time.perf_counter() - began:.1f} s")
    scattering = factors(case)
    share = build_chances(case, scattering, knows.builds, 3, workers, times=32)
    first = {name: points[:BUILDS] for name, points in true.builds.items()}
    truth = build_chances(case, scattering, first, 4, workers, times=TIMES)
    print(f"chance of separation: mean {share.mean():.3f}; of {BUILDS} builds {truth.mean():.3f}")
    good = True
    for kinds in (("outcome",), ("outcome", "pins", "sound"), ("outcome", "velocity")):
        good &= _judged(case, knows, true, share, truth, kinds)
    return 0 if good or "--check" not in sys.argv else 1


def _judged(
    case: Case, knows: WeighedBuilds, true: WeighedBuilds, share: np.ndarray, truth: np.ndarray,
    kinds: tuple[str, ...],
) -> bool:  # fmt: skip
    """Learn from what is reported of every build; print and judge how well."""
    rng = np.random.default_rng(5)
    held = np.zeros((BUILDS, len(LEVELS)))
    after, worth = np.zeros(BUILDS), np.zeros(BUILDS)
    for build in range(BUILDS):
        chances = np.ones(knows.members)
        for s in range(len(CHARGES)):
            for name in kinds:
                told = report(true.seen[s].kinds[name], true.seen[s], build, rng)
                if told is not None:
                    chances *= likelihood(told, knows.seen[s])
        weight = weights(chances)
        after[build], worth[build] = weight @ share, effective(weight)
        for k, level in enumerate(LEVELS):
            low, high = quantiles(share, weight, (0.5 - 0.5 * level, 0.5 + 0.5 * level))
            # chances are counted in steps of one shot
            held[build, k] = low - 1.0 / TIMES <= truth[build] <= high + 1.0 / TIMES
    scores = [float(np.mean((guess - truth) ** 2)) for guess in (share.mean(), after)]
    told = ", ".join(f"{100.0 * level:.0f} %: {h:.3f}" for level, h in
                     zip(LEVELS, held.mean(axis=0), strict=True))  # fmt: skip
    print(
        f"{' + '.join(kinds)}: intervals hold {told}; squared error of the chance {scores[0]:.4f} "
        f"before, {scores[1]:.4f} after; worth {np.median(worth):.0f} builds (least "
        f"{worth.min():.0f})"
    )
    return LEAST <= float(held[:, -1].mean()) <= MOST and scores[1] < scores[0]


if __name__ == "__main__":
    sys.exit(main())
