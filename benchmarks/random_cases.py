"""Random valid cases over all that the model allows: each ends quickly, balanced, with a verdict.

python benchmarks/random_cases.py                  # 20,000 cases, some ten minutes
python benchmarks/random_cases.py --cases 600      # as CI does
python benchmarks/random_cases.py --only 4711      # one of them again, with its text

Every key of the model is drawn from its whole range, half of them near what is usual; tables that
may be left out are there or not. What the reader refuses is left out. A run is wrong
when it takes more than two seconds, when its balances of mass and energy are open by more than
1e-4 (those by more than 1e-6 are counted), when numbers are not finite, or when it raises anything.
Runs that say that they had to stop early are counted apart, with their status.
"""

from __future__ import annotations

import argparse
import collections
import math
import random
import sys
import time
import traceback
import warnings
from typing import Any

import numpy as np

from baypulse.case import units
from baypulse.case.casefile import reads
from baypulse.case.casefile.keys import KeyTable, options, tables
from baypulse.case.model import Case
from baypulse.case.spec import Choice, Count, Number
from baypulse.errors import CaseError
from baypulse.run.result import Result
from baypulse.run.simulation import simulate

LONGEST = 2.0
"""Longest time of the processor for one run [s]: others may use the machine."""

OPEN, TORN = 1e-6, 1e-4
"""How far a balance shall and may be open, relative: those between are counted."""

ALTERNATIVES = (
    ("contents", ("packing_density", "packed_length", "volume")),
    ("joint", ("pull_off", "fit")),
)
"""Keys of a table of which one at the most is typed."""

REPAIRS = 8
"""How often a refused case is read again without what was refused."""

APART = ("run", "rule", "limits", "ascent")
"""Tables that say nothing of the shot."""

SUFFIX = {"gauge pressure": " gauge", "absolute pressure": " abs"}


def written(value: float, dimension: str) -> str:
    """Return a value as a case has it."""
    return f"{value:.8g} {units.SI_UNITS[dimension]}{SUFFIX.get(dimension, '')}".strip()


def drawn(spec: Any, draw: random.Random, wide: float) -> str:
    """Return a value of a key as TOML."""
    if isinstance(spec, Choice):
        return f'"{draw.choice(list(options(spec)))}"'
    if isinstance(spec, Count):
        return str(draw.randint(spec.low, min(spec.high, max(2 * int(spec.example), 4))))
    if not isinstance(spec, Number):
        return '"made up"'
    usual = units.parse(spec.example, spec.dimension)
    if draw.random() > wide and usual != 0.0:
        value = usual * draw.lognormvariate(0.0, 0.4)
    elif spec.low > 0.0:
        value = math.exp(draw.uniform(math.log(spec.low), math.log(spec.high)))
    elif spec.low == 0.0:
        value = spec.high * 10.0 ** draw.uniform(-6.0, 0.0)
    else:
        value = draw.uniform(spec.low, spec.high)
    return f'"{written(min(max(value, spec.low), spec.high), spec.dimension)}"'


def keys_of(table: KeyTable, draw: random.Random, wide: float) -> list[str]:
    """Return the lines of one table."""
    left_out = set()
    for name, keys in ALTERNATIVES:
        if name == table.name:
            left_out = set(keys) - {draw.choice(keys)}
    rows = []
    for key in table.keys.values():
        if key.required or (key.name not in left_out and draw.random() < 0.35):
            rows.append(f"{key.name} = {drawn(key.spec, draw, wide)}")
    return rows


def text_of(number: int) -> str:
    """Return a random case as TOML."""
    draw = random.Random(number)
    wide = draw.choice((0.02, 0.1, 0.3, 0.6))
    source = draw.choice(("powder", "powder", "cold_gas"))
    lines = ['title = "made up"']
    for table in tables().values():
        if table.name in APART or table.name in {"powder", "cold_gas"} - {source}:
            continue
        if table.name == "holder" and source != "powder":
            continue
        often = 1.0 if table.required or table.name == source else 0.5
        for _ in range(draw.choice((1, 1, 2, 3)) if table.repeated else 1):
            if draw.random() < often:
                lines += ["", table.header, *keys_of(table, draw, wide)]
    return "\n".join(lines) + "\n"


def valid_case(number: int) -> tuple[Case | None, str]:
    """Return a random case and its text; what the reader refuses is left out, key by key."""
    text = text_of(number)
    for _ in range(REPAIRS):
        try:
            return reads(text, f"random {number}"), text
        except CaseError as error:
            refused = {p.line for p in error.problems if p.line is not None}
            lines = text.split("\n")
            if not refused:
                return None, text
            for line in sorted(refused, reverse=True):
                if lines[line - 1].startswith("["):
                    # the whole table
                    end = line
                    while end < len(lines) and lines[end].strip():
                        end += 1
                    del lines[line - 1 : end]
                else:
                    del lines[line - 1]
            text = "\n".join(lines)
    return None, text


def open_by(case: Case, result: Result) -> float:
    """Return how far the worst balance of a run is open, relative."""
    budget = result.budget
    turned = sum(abs(term) for term in budget.terms.values())
    energy = max(budget.total, turned, 1e-9)
    mass = case.powder.mass if case.powder is not None else 1e-3
    held = (
        (sum(budget.terms.values()) - budget.total) / energy, budget.gas_residual / energy,
        budget.motion_residual / energy, budget.mass_residual / mass,
    )  # fmt: skip
    return max(map(abs, held))


def not_finite(result: Result) -> list[str]:
    """Return the curves that hold what is no number; a zone without gas has no temperature."""
    return [
        f"{name} is not finite" for name, curve in result.curves.items()
        if "temperature" not in name and not np.isfinite(curve.values).all()
    ]  # fmt: skip


def main() -> int:
    """Run random cases, and say what broke."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--cases", type=int, default=20_000)
    parser.add_argument("--only", type=int, default=None)
    chosen = parser.parse_args()
    warnings.simplefilter("ignore")
    wrong: list[str] = []
    early: dict[str, list[int]] = collections.defaultdict(list)
    times: list[tuple[float, int]] = []
    gaps: list[tuple[float, int]] = []
    number, valid = 0, 0
    began = time.perf_counter()
    while valid < chosen.cases if chosen.only is None else not number:
        number += 1
        k = number if chosen.only is None else chosen.only
        case, text = valid_case(k)
        if chosen.only is not None:
            print(text)
        if case is None:
            continue
        valid += 1
        start = time.process_time()
        try:
            result = simulate(case)
        except Exception:
            wrong.append(f"{k}: {traceback.format_exc(limit=-2)}")
            continue
        took = time.process_time() - start
        if valid > 1 or chosen.only is not None:  # the first one may compile
            times.append((took, k))
            if took > LONGEST:
                wrong.append(f"{k}: {took:.1f} s, {result.steps} steps, {result.status}")
        if not result.good:
            early[str(result.status)].append(k)
        else:
            wrong += [f"{k}: {fault}" for fault in not_finite(result)]
            gap = open_by(case, result)
            if not gap <= OPEN:
                gaps.append((gap, k))
            if not gap <= TORN:
                wrong.append(f"{k}: a balance is open by {gap:.1g}")
    times.sort(reverse=True)
    for each in wrong[:40]:
        print(each)
    for status, some in early.items():
        print(f"stopped early, {status}: {len(some)}, such as {some[:8]}")
    gaps.sort(reverse=True)
    print(f"balances open by more than {OPEN:g}: {len(gaps)}, the widest "
          f"{', '.join(f'{gap:.1g} (number {k})' for gap, k in gaps[:5])}")  # fmt: skip
    if times:
        middle = times[len(times) // 2][0]
        print(f"slowest: {', '.join(f'{t:.2f} s (number {k})' for t, k in times[:6])}; "
              f"middle {1e3 * middle:.0f} ms")  # fmt: skip
    print(f"{valid} valid cases of {number} in {time.perf_counter() - began:.0f} s: "
          f"{len(wrong)} wrong, {sum(map(len, early.values()))} stopped early")  # fmt: skip
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
