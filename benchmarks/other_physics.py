"""Whether a charge that is recommended after shots opens bays whose physics differ from the case's.

python benchmarks/other_physics.py            # about ten minutes on two cores
python benchmarks/other_physics.py --builds 4
python benchmarks/other_physics.py --builds 3 --only leaks

A case is believed; the bay that is fired is another one: its powder burns half as fast, less of it
burns, its joint and its pack hold three times as much, or it leaks through a hole that nobody knows
of. Somebody fires what ``window`` recommends, up to five times, and says what was seen (opened or
not, pins, sound); after each shot ``window`` is asked again with all shots so far. A recommendation
is wrong where that very bay fails with it in more than one shot of ten. Charges are capped
at three times the first recommendation, as somebody at a bench would.
"""

from __future__ import annotations

import argparse
import os
import sys
import time
from dataclasses import replace
from pathlib import Path

import numpy as np

import baypulse
from baypulse.case.casefile.shot_file import ShotRow
from baypulse.case.held_value import with_value
from baypulse.case.model import Case, Opening
from baypulse.members import draws
from baypulse.members.charges import with_charge
from baypulse.members.factors import factors
from baypulse.members.parts import StudyError
from baypulse.observed.build_weights import fired, learn
from baypulse.observed.shot_log import ShotLog, shot_of
from baypulse.observed.shot_to_shot import fresh_points
from baypulse.observed.sighting_odds import report, traces
from baypulse.studies.shots.compute import build_chances
from baypulse.studies.window.compute import window

ROOT = Path(__file__).parents[1]

SHOTS, MEMBERS, CAP = 5, 256, 3.0
# a recommendation is wrong where the bay fails with it in more than one shot of ten
WRONG = 0.9
KINDS = ("outcome", "pins", "sound")


def kept(case: Case, path: str, value: float) -> Case:
    """Return a case with another value, whose spreads stay."""
    return replace(with_value(case, path, value), spreads=case.spreads)


def truths(case: Case) -> dict[str, Case]:
    """Return bays that differ from the case, by name."""
    assert case.powder is not None and case.contents is not None
    pull = case.joint.pull_off
    out = case.contents.extraction_force
    assert pull is not None and out is not None
    tight = kept(kept(case, "joint.pull_off", 3.0 * pull), "contents.extraction_force", 3.0 * out)
    hole = Opening(name="open wire hole", diameter=6e-3)
    return {
        "as the case": case,
        "burns half as fast": kept(case, "powder.rate_factor", 0.5),
        "less of it burns": kept(case, "powder.burnable_fraction", 0.55),
        "joint and pack hold three times as much": tight,
        "leaks through 6 mm": replace(case, openings=(*case.openings, hole)),
    }


def seen_of(true: Case, build: dict[str, np.ndarray], charge: float, seed: int) -> ShotRow:
    """Fire one shot of a build, and return what somebody reports."""
    scattering = factors(true)
    shot = shot_of(true, ShotRow(charge=charge, saw=("separated",)))
    points = fresh_points(scattering, build, 1, seed)
    members = fired(true, true, scattering, shot, points, 1)
    left = traces(members.case, [members])
    rng = np.random.default_rng(seed)
    told = [report(left.kinds[name], left, 0, rng) for name in KINDS]
    return ShotRow(charge=charge, saw=tuple(each.text for each in told if each is not None))


def one(case: Case, true: Case, seed: int, workers: int) -> list[tuple[float, float] | None]:
    """Return of every number of shots the recommendation and the bay's own chance; None without."""
    scattering = factors(true)
    u = draws.unit_points(seed, 7, 1 + max(c for f in scattering for c in f.columns))[:1]
    build = {f.name: u[:, f.columns[0]] for f in scattering}
    rows: list[ShotRow] = []
    found: list[tuple[float, float] | None] = []
    first = charge = None
    for k in range(SHOTS + 1):
        log = ShotLog("made up", tuple(shot_of(case, row) for row in rows))
        try:
            learnt = learn(case, log, seed=seed, workers=workers) if rows else None
            held = window(case, members=MEMBERS, seed=seed, workers=workers, learnt=learnt)
            trial = held.recommended
        except StudyError:
            trial = None
        if trial is None:
            found.append(None)
        else:
            loaded = replace(with_charge(true, trial.charge), spreads=true.spreads)
            own = build_chances(loaded, scattering, build, seed + k, workers, times=64)
            found.append((trial.charge, float(own.mean())))
            first = first or trial.charge
            charge = min(trial.charge, CAP * first)
        if charge is None:
            return found
        rows.append(seen_of(true, build, charge, 1000 * seed + k))
    return found


def main() -> int:
    """Print how often a recommendation is wrong after each number of shots."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--builds", type=int, default=8)
    parser.add_argument("--only", metavar="NAME", help="begin of the name of one kind of bay")
    parser.add_argument("--case", default=str(ROOT / "cases" / "bench-76.toml"))
    chosen = parser.parse_args()
    case = baypulse.load(chosen.case)
    workers = os.cpu_count() or 1
    wrong = given = 0
    for name, true in truths(case).items():
        if not name.startswith(chosen.only or ""):
            continue
        began = time.perf_counter()
        rows = [one(case, true, seed, workers) for seed in range(1, chosen.builds + 1)]
        print(f"{name} ({time.perf_counter() - began:.0f} s)", flush=True)
        for k in range(SHOTS + 1):
            told = [row[k] for row in rows if k < len(row)]
            some = [each for each in told if each is not None]
            bad = sum(chance < WRONG for _, chance in some)
            middle = f"{1e3 * np.median([c for c, _ in some]):.2f} g" if some else "-"
            least = f"{min(chance for _, chance in some):.2f}" if some else "-"
            print(f"  after {k} shots: {len(some)} of {len(told)} recommended, {bad} wrong; "
                  f"middle charge {middle}, least own chance {least}", flush=True)  # fmt: skip
            if k and name != "as the case":
                wrong, given = wrong + bad, given + len(some)
    print(f"after one to {SHOTS} shots, other physics: {wrong} of {given} recommendations wrong")
    return 0


if __name__ == "__main__":
    sys.exit(main())
