"""Is a fit as sure as it says? Simulation-based calibration over invented records.

Talts, Betancourt, Simpson, Vehtari, Gelman, Validating Bayesian Inference Algorithms with
Simulation-Based Calibration (arXiv:1804.06788): draw the truth from the prior, make a record of it
with noise, fit, and count the posterior's draws below the truth. Over many records these ranks are
uniform if, and only if, the posterior is what it says.

python benchmarks/fit.py                  # 240 records, posterior taken as normal about its top
python benchmarks/fit.py --records 60     # Ctrl-C prints what is there by then
python benchmarks/fit.py --sample         # the posterior by sampling (a minute or two a record)
python benchmarks/fit.py --check          # exit 1 when a coverage or a histogram is off
"""

from __future__ import annotations

import argparse
import os
import sys
import time
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

# as the program does: each process has a core of its own
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np
from scipy import stats

import baypulse
from baypulse.case import params
from baypulse.engine import run
from baypulse.members import draws
from baypulse.members.factors import dimensions
from baypulse.members.parts import StudyError
from baypulse.observed.measured import PRESSURE, MeasuredShot, Record
from baypulse.studies.fit.learning import learn
from baypulse.studies.fit.prepared_records import prepare
from baypulse.studies.fit.rml import settled
from baypulse.studies.fit.unknowns import with_priors

ROOT = Path(__file__).parents[1]

UNKNOWNS = ("mixing", "burnt", "rate")
CASE = ROOT / "cases" / "bench-76.toml"
POINTS, NOISE = 250, 0.02
RANKS, BINS = 99, 10
LEAST, MOST = 0.90, 0.99
"""What the coverage of 95 % intervals may be."""

UNLIKELY = 0.001
"""A histogram less likely than this is not flat."""


def record(seed: int) -> tuple[Record, np.ndarray, list]:
    """Return an invented record, the truth's scores, and what was fitted."""
    rng = np.random.default_rng(seed)
    prior, unknowns, factors = with_priors(baypulse.load(CASE), UNKNOWNS)
    z = rng.normal(size=(1, dimensions(factors)))
    truth = draws.one_member(prior, draws.from_scores(prior, factors, z), 0)
    P = params.parameters(truth)
    seen = run.observe(run.integrate(P, 0.6, 1e-8), P)
    gauge = seen.volumes[:, P.chamber, 0] - P.p_ambient
    peak = float(gauge.max())
    half = seen.times[gauge > 0.1 * peak]
    end = min(half[-1] + 0.5 * (half[-1] - half[0]), 0.5)
    # the gauge's lag by small steps of its own equation, not by the fit's closed form
    lag = 5e-4 * np.exp(rng.normal())
    fine = np.arange(0.0, end, min(lag, 1e-4) / 40.0)
    there = np.interp(fine, seen.times, gauge)
    step = fine[1] / lag
    shown = np.empty_like(there)
    shown[0] = there[0]
    for k in range(1, fine.size):
        middle = 0.5 * (there[k] + there[k - 1])
        shown[k] = (shown[k - 1] * (1.0 - 0.5 * step) + middle * step) / (1.0 + 0.5 * step)
    at = np.linspace(-0.15 * end, 0.99 * end, POINTS)
    values = np.interp(at, fine, shown, left=0.0)
    zero, drift = peak * rng.normal(size=2) * (0.02, 0.01)
    values += zero + drift * np.linspace(0.0, 1.0, POINTS)
    values += NOISE * peak * rng.normal(size=POINTS)
    return Record(PRESSURE, at + rng.uniform(0.0, 2.0), values, f"record {seed}"), z[0], unknowns


def calibrate(
    job: tuple[int, bool], moved: bool = True
) -> tuple[int, list[list[tuple[int, bool, float, float]]] | str]:
    """Fit one record; return rank, whether the interval holds the truth, and what is left.

    Of each unknown, for the draws of the posterior and for those that were moved to meet the data.
    """
    seed, sampling = job
    one, truth, _ = record(seed)
    case = baypulse.load(CASE)
    shot = MeasuredShot("shot", (one,))
    try:
        held = learn(case, [shot], [(prepare(case, one),)], unknowns=UNKNOWNS, seed=seed,
                     sampling=sampling)  # fmt: skip
    except StudyError as error:
        return seed, str(error)
    kinds = [held.scores]
    if moved:
        kinds.append(held.scores if sampling else settled(held.model, held.top, held.scores))
    rng = np.random.default_rng(seed + 10**6)
    found = []
    for scores in kinds:
        rows = []
        for unknown in held.unknowns:
            k = held.own(unknown)
            z = scores[:, k]
            real = truth[held.owners[k][2]]
            low, high = np.quantile(z, (0.025, 0.975))
            some = rng.choice(z, RANKS, replace=z.size < RANKS)
            off = float((real - np.median(z)) / np.std(z))
            rows.append(
                (int((some < real).sum()), bool(low <= real <= high), float(np.std(z)), off)
            )
        found.append(rows)
    return seed, found


def main() -> int:
    """Print ranks and coverage, and check them if asked."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--records", type=int, default=240)
    parser.add_argument("--sample", action="store_true")
    parser.add_argument("--check", action="store_true")
    parser.add_argument("--seed", type=int, default=1000)
    chosen = parser.parse_args()
    start = time.perf_counter()
    jobs = [(chosen.seed + k, chosen.sample) for k in range(chosen.records)]
    found = []
    # a record takes twelve seconds of a core: press Ctrl-C and see what there is
    with ProcessPoolExecutor(os.cpu_count()) as pool:
        try:
            for each in pool.map(calibrate, jobs):
                found.append(each)
        except KeyboardInterrupt:
            pool.shutdown(cancel_futures=True)
    good = np.array([rows for _, rows in found if not isinstance(rows, str)])
    if not good.size:
        print("no record was fitted")
        return 1
    took = time.perf_counter() - start
    print(f"{len(good)} records of {POINTS} readings, {NOISE:.0%} noise, {took:.0f} s")
    for _, rows in found:
        if isinstance(rows, str):
            print(f"  refused: {rows}")
    off = table("posterior", good[:, 0])
    table("the same, moved to meet the data (bands of curves)", good[:, 1])
    return int(chosen.check and off)


def table(title: str, good: np.ndarray) -> bool:
    """Print a line for each unknown; return whether any is off."""
    off = False
    print(
        f"{title}\n{'unknown':10} {'held':>6} {'left':>6} {'p(flat)':>8} {'pull':>13}  "
        "ranks in tenths"
    )
    for k, word in enumerate(UNKNOWNS):
        ranks, held, left, off_by = good[:, k].T
        counts = np.bincount((ranks * BINS // (RANKS + 1)).astype(int), minlength=BINS)
        flat = float(stats.chisquare(counts).pvalue)
        pull = f"{off_by.mean():+.2f} +/- {off_by.std():.2f}"
        print(
            f"{word:10} {held.mean():6.1%} {left.mean():6.2f} {flat:8.3f} {pull:>13}  "
            f"{counts.tolist()}"
        )
        off |= not LEAST <= held.mean() <= MOST or flat < UNLIKELY
    return off


if __name__ == "__main__":
    sys.exit(main())
