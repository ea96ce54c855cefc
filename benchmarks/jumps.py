"""Whether small changes of an input ever change a shot a lot, though the same things happen in it.

python benchmarks/jumps.py                          # all inputs of all shipped cases, 200 values
python benchmarks/jumps.py bench-76 --values 50     # one case, fewer values
python benchmarks/jumps.py --input powder.mass      # one input
python benchmarks/jumps.py --check                  # exit 1 when a jump has no cause

Every number that a case has is swept within a factor of two of its value and inside its allowed
range. A step between neighbours that is far above those around it is a jump; where the events of
the shots on both sides differ, they are its cause: a pin that fails or holds, a joint that
separates or does not separate. A jump without such a cause is a defect of the engine. Nothing is
drawn, so that the table is the same on every run.
"""

from __future__ import annotations

import argparse
import sys
import warnings
from collections import Counter
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

import numpy as np

import baypulse
from baypulse.case import geometry, params
from baypulse.case.casefile import consistency
from baypulse.case.casefile.keys import tables
from baypulse.case.held_value import with_value
from baypulse.case.model import Case
from baypulse.case.spec import Number
from baypulse.engine import ensemble, run
from baypulse.engine.event import EventCode, pin_of
from baypulse.engine.parameters import pack
from baypulse.errors import RangeWarning

ROOT = Path(__file__).parents[1]

WATCHED = ("peak_pressure", "clear_velocity")
TOLERANCE = 1e-7
"""Of the steps: what a sweep shows below some 1e-6 is their rounding."""

AROUND, FAR_ABOVE, ABOVE_NEXT = 4, 8.0, 4.0
"""Steps on either side that a step is held against, how many times their median is far above them,
and how many times either step next to it. A root that begins at a threshold has a first step of 3.4
and 2.4 times those; beside a flat top steps grow, but each little more than the last."""

LEAST = 2e-4
"""Share of the greatest value below which a step is none."""

NOT_OF_THE_SHOT = {"limits", "rule", "ascent", "run"}
"""Tables that say nothing of the shot."""


@dataclass(frozen=True)
class Jump:
    """A step far above those around it.

    Attributes
    ----------
    case, path, watched : str
        Case, input, and what jumps.
    low, high : float
        Values of the input on both sides [SI].
    before, after : float
        What is watched there [SI].
    cause : str
        How the events differ; empty where they are the same.
    """

    case: str
    path: str
    watched: str
    low: float
    high: float
    before: float
    after: float
    cause: str


def inputs(case: Case) -> list[str]:
    """Return the paths of the numbers that a case has a value for."""
    found = []
    for table in tables().values():
        held = getattr(case, table.name)
        if table.name in NOT_OF_THE_SHOT or held is None:
            continue
        rows = enumerate(held) if table.repeated else [(None, held)]
        for index, row in rows:
            place = table.name if index is None else f"{table.name}[{index}]"
            for key in table.keys.values():
                if isinstance(key.spec, Number) and getattr(row, key.name):
                    found.append(f"{place}.{key.name}")
    return found


def swept(case: Case, path: str, values: int) -> tuple[np.ndarray, list[Case]]:
    """Return the values of an input that make a valid case, rising, and the cases."""
    table, _, name = path.partition(".")
    table, _, index = table.partition("[")
    held = getattr(case, table)
    held = held[int(index[:-1])] if index else held
    spec = tables()[table].keys[name].spec
    assert isinstance(spec, Number)
    ends = sorted((0.5 * getattr(held, name), 2.0 * getattr(held, name)))
    row = np.linspace(max(ends[0], spec.low), min(ends[1], spec.high), values)
    cases = [with_value(case, path, value) for value in row]
    valid = [n for n, each in enumerate(cases) if possible(each)]
    return row[valid], [cases[n] for n in valid]


def possible(case: Case) -> bool:
    """Say whether a case could be read from a file, and has room for what it holds."""
    return not consistency.problems(case) and geometry.free_volume(case).total > 0.0


def flown(cases: list[Case], tolerance: float = TOLERANCE) -> np.ndarray:
    """Return a row of :data:`baypulse.engine.ensemble.COLUMNS` for each case."""
    records = np.array([pack(params.parameters(case)) for case in cases])
    return ensemble.run_members(records.view(np.recarray), cases[0].run.end_time, tolerance)


def story(row: np.ndarray) -> tuple:
    """Return what happened in a shot, in order, as far as its row tells."""
    times = [n for n, name in enumerate(ensemble.COLUMNS)
             if name.endswith("_time") and name not in ("peak_time", "cord_time")]  # fmt: skip
    happened = sorted((row[n], n) for n in times if not np.isnan(row[n]))
    return (
        row[ensemble.RunColumn.STATUS],
        row[ensemble.RunColumn.PINS_FAILED],
        tuple(n for _, n in happened),
    )


def steep(values: np.ndarray, same: np.ndarray) -> list[int]:
    """Return the steps that are far above those around them.

    Parameters
    ----------
    values : ndarray, shape (n,)
        What is watched, along a sweep.
    same : ndarray of bool, shape (n - 1,)
        Whether the same things happened on both sides of each step.
    """
    steps = np.abs(np.diff(values))
    same = same & np.isfinite(steps)
    least = LEAST * np.nanmax(np.abs(values), initial=0.0)
    found = []
    for n in np.flatnonzero(same & (steps > least)):
        around = [k for k in range(max(n - AROUND, 0), min(n + AROUND + 1, steps.size))
                  if same[k] and k != n]  # fmt: skip
        beside = [steps[k] for k in around if abs(k - n) == 1]
        far = len(around) >= 2 and steps[n] > FAR_ABOVE * np.median(steps[around])
        if far and steps[n] > ABOVE_NEXT * max(beside, default=0.0):
            found.append(int(n))
    return found


def happened(case: Case) -> list[str]:
    """Return the names of all that happens in a shot, in order, however often."""
    track = run.integrate(params.parameters(case), case.run.end_time, TOLERANCE)
    return [
        f"pin {pin_of(index) + 1}" if pin_of(index) >= 0 else EventCode(index).name
        for _, index in track.events
    ]


def difference(one: Case, two: Case) -> str:
    """Return how the events of two shots differ, in names, number and order."""
    first, second = happened(one), happened(two)
    if first == second:
        return ""
    before, after = Counter(first), Counter(second)
    less, more = (before - after).elements(), (after - before).elements()
    told = [f'no "{name}"' for name in less] + [f'"{name}"' for name in more]
    k = next((n for n, (a, b) in enumerate(zip(first, second, strict=False)) if a != b), -1)
    return ", ".join(told) or f'"{first[k]}" or "{second[k]}" comes first'


def jumps(case: Case, path: str, values: int) -> list[Jump]:
    """Sweep one input of a case; return its jumps.

    Parameters
    ----------
    case : Case
        The case.
    path : str
        Of a number.
    values : int
        How many to try.
    """
    row, cases = swept(case, path, values)
    if row.size < 3:
        return []
    records = [pack(params.parameters(each)) for each in (cases[0], cases[-1])]
    if records[0] == records[1]:
        return []
    rows = flown(cases)
    stories = [story(each) for each in rows]
    same = np.array([a == b for a, b in pairwise(stories)])
    found = []
    for watched in WATCHED:
        column = rows[:, ensemble.COLUMNS.index(watched)]
        for n in steep(column, same):
            cause = difference(cases[n], cases[n + 1])
            found.append(
                Jump(case.name, path, watched, row[n], row[n + 1], column[n], column[n + 1], cause)
            )
    return found


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("cases", nargs="*", help="names of shipped cases; all when left out")
    parser.add_argument("--values", type=int, default=200, help="values of each input")
    parser.add_argument("--input", action="append", help="path of an input, such as powder.mass")
    parser.add_argument("--check", action="store_true", help="exit 1 when a jump has no cause")
    asked = parser.parse_args()
    names = asked.cases or sorted(path.stem for path in (ROOT / "cases").glob("*.toml"))
    unexplained = 0
    for name in names:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", RangeWarning)
            case = baypulse.load(ROOT / "cases" / f"{name}.toml")
        paths = [path for path in inputs(case) if not asked.input or path in asked.input]
        for path in paths:
            for jump in jumps(case, path, asked.values):
                unexplained += not jump.cause
                print(
                    f"{jump.case:13} {jump.path:28} {jump.low:.6g} .. {jump.high:.6g}  "
                    f"{jump.watched} {jump.before:.6g} -> {jump.after:.6g}  "
                    f"{jump.cause or 'NO CAUSE'}",
                    flush=True,
                )
        print(f"{name}: {len(paths)} inputs, {asked.values} values each", flush=True)
    print(f"jumps without a cause: {unexplained}")
    return int(asked.check and unexplained > 0)


if __name__ == "__main__":
    sys.exit(main())
