"""A step that is aimed at an event ends there as one that is located at once, whatever the aim; and
what a state tells is told by it alone."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

CASES = Path(__file__).parents[2] / "cases"

PROGRAM = """
import copy, sys
import numpy as np
from baypulse.case import params
from baypulse.case.casefile import read
from baypulse.engine import layout as at
from baypulse.engine import stepper
from baypulse.engine.any_step import take_step
from baypulse.engine.event import OF_FORCES
from baypulse.engine.events import event_functions
from baypulse.engine.parameters import pack_members, unpacked
from baypulse.engine.phases import apply_event
from baypulse.engine.stepper import Outcome
from baypulse.engine.workspace import HIGH, IMPLICIT, KIND, SHARE, SLOPE

np.seterr(all="ignore")
TOLERANCE, aimed = 2e-5, 0
case = read(sys.argv[1])
record = pack_members(params.parameters(case), 1)[0]
P = unpacked(record)
w = stepper.workspace(record, int(record["heats_at"]), 0)
at.begin(P, w.state, w.modes)
at.state_scale(P, w.scale)
w.memory[:], w.highs[:] = 0.0, 0.0
t, h, end = 0.0, 1e-3, case.run.end_time


def told(found, w):
    return [*map(float, found[:4]), *w.state, *w.highs, *w.method, *w.before, *w.rates[0]]


def assert_told_by_state(t, w):
    # whatever the tables hold
    events = [np.empty_like(w.before) for _ in range(2)]
    for g, k in zip(events, (1.0, np.nan)):
        event_functions(t, w.state, w.modes, w.memory, P, k * w.work, k * w.force, g)
    forces = [*OF_FORCES, *[False] * (len(w.before) - len(OF_FORCES))]
    np.testing.assert_array_equal(*(np.where(forces, 0.0, g) for g in events))


for phase in range(int(sys.argv[2])):
    growth, event = stepper.MOST_GROWTH, stepper.begin_phase(t, P, w)
    outcome = Outcome.EVENT if event >= 0 else Outcome.GOING
    assert_told_by_state(t, w)
    while outcome == Outcome.GOING:
        outcome, h, last = stepper.before_step(t, end, h, 0, w)
        assert outcome == Outcome.GOING
        take_step(t, h, P, w, w.rates, w.end)
        error, fastest = stepper.errors(h, TOLERANCE, P, w)
        given = t, end, h, last, error, fastest, growth, TOLERANCE, 0
        others = [copy.deepcopy(w) for _ in range(3)]
        found = stepper.end_step(*given, False, P, w)
        for spoilt, other in enumerate(others if w.method[KIND] != IMPLICIT else []):
            before = stepper.end_step(*given, True, P, other)
            if before[0] != Outcome.AIMED:
                assert told(before, other) == told(found, w)
                continue
            aimed += spoilt == 0
            take_step(t, before[3], P, other, other.rates, other.end)
            assert before[3] == other.aim[SHARE] * h
            other.aim[SLOPE] *= 1e-6 if spoilt == 1 else 1.0
            other.aim[HIGH] *= 0.0 if spoilt == 2 else 1.0
            after = stepper.end_at_event(t, end, last, growth, TOLERANCE, P, other)
            assert told(after, other) == told(found, w), (phase, spoilt)
        outcome, event, t, h, growth, _ = found
    assert outcome == Outcome.EVENT
    if apply_event(event, w.state, w.modes, w.memory, P, w.force):
        break
    h = min(h, 1e-3)
print(aimed)
"""


@pytest.mark.parametrize(("name", "phases"), [("bench-76", 30), ("cold-gas-98", 12)])
def test_it_ends_where_it_would_have_been_located(name: str, phases: int) -> None:
    """With an aim that leads nowhere the whole step is taken once more."""
    done = subprocess.run(
        [sys.executable, "-c", PROGRAM, str(CASES / f"{name}.toml"), str(phases)],
        env={**os.environ, "NUMBA_DISABLE_JIT": "1"}, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    assert int(done.stdout) > phases // 3
