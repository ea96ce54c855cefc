"""What a charge window costs, in ensembles of its own size; times are printed for orientation.

python benchmarks/window.py            # print
python benchmarks/window.py --check    # exit 1 when the search takes more runs than it may
"""

from __future__ import annotations

import os
import sys
import time
from pathlib import Path

from timing import best

import baypulse
from baypulse.members.charges import Charges, Tally
from baypulse.members.member_count import LEAST_MEMBERS
from baypulse.studies.window.compute import window

ROOT = Path(__file__).parents[1]

MOST_ENSEMBLES = 8.0
"""Allowed runs of a window, in ensembles of the size behind one of its ends: two for the ends, the
rest for the checks of the recommended and the backup charge, the curve, and the search."""


def main() -> int:
    """Print what a window costs, and check it if asked."""
    case = baypulse.load(ROOT / "cases" / "main-98.toml")
    threads = os.cpu_count() or 1
    began = time.perf_counter()
    found = window(case, workers=threads)
    whole = time.perf_counter() - began
    charges = Charges(case, LEAST_MEMBERS, 1, threads, Tally())
    plain = best(lambda: charges.fire(found.least.charge), 1)
    runs = found.runs / LEAST_MEMBERS
    print(f"window of {case.name}: {whole:.2f} s on {threads} threads, {found.runs} runs")
    print(f"  in runs of an ensemble of {LEAST_MEMBERS}: {runs:.1f} (at most {MOST_ENSEMBLES:g})")
    print(f"  in time of one at the least charge ({plain:.2f} s): {whole / plain:.1f}")
    return int("--check" in sys.argv and runs > MOST_ENSEMBLES)


if __name__ == "__main__":
    sys.exit(main())
