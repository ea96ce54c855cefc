"""The same code, compiled and not, gives the same shot."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

TESTS = Path(__file__).parents[1]
PROGRAM = """
import json, sys
import numpy as np
from baypulse.engine.parameters import ANNULUS, SHOULDER
from baypulse.case.model import Powder
from baypulse.case.params import parameters
from tools import case, go, shot
from baypulse.physics import flow
mass, end = float(sys.argv[1]), 0.12
stand = dict(stand_friction=11.0) if sys.argv[2] == "stand" else {}
P = shot(mass, **stand)
if sys.argv[2] == "gap":
    P = P._replace(opening_kind=np.array([SHOULDER, ANNULUS]),
                   opening_area=np.array([2.4e-5, P.opening_area[1]]),
                   opening_gap=np.array([1e-4, 0.0]), opening_discharge=np.array([0.6, 0.0]))
if sys.argv[2] == "contents":
    P = parameters(case(powder=Powder(grade="4F", mass=mass), pins=None))
track, seen = go(P, end, 1e-6)
plain = type(flow.mass_flux).__name__ == "function"
print(json.dumps({"plain": plain, "events": track.events, "steps": track.steps,
                  "times": seen.times.tolist(),
                  "pressure": seen.volumes[:, P.chamber, 0].tolist(),
                  "state": seen.states[-1].tolist()}))
"""


def run(*arguments: str, jit: bool) -> dict[str, object]:
    paths = [str(TESTS), os.environ.get("PYTHONPATH", "")]
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(paths)}
    environment["NUMBA_DISABLE_JIT"] = "0" if jit else "1"
    done = subprocess.run(
        [sys.executable, "-c", PROGRAM, *arguments], env=environment, capture_output=True,
        text=True, check=True,
    )  # fmt: skip
    return json.loads(done.stdout)


@pytest.mark.parametrize(
    "arguments",
    [("0.6e-3", "clamped"), ("0.6e-3", "stand"), ("0.6e-3", "gap"), ("1.5e-3", "contents")],
)
def test_compiled_and_uncompiled_code_agree(arguments: tuple[str, str]) -> None:
    compiled, plain = run(*arguments, jit=True), run(*arguments, jit=False)
    assert plain["plain"] is True and compiled["plain"] is False
    assert [e for _, e in plain["events"]] == [e for _, e in compiled["events"]]
    assert plain["steps"] == compiled["steps"]
    np.testing.assert_allclose(plain["state"], compiled["state"], rtol=1e-9, atol=1e-12)
    # the length of a step follows an error that is itself near rounding, so both curves have their
    # points at times that differ in the ninth digit: they are compared as curves
    np.testing.assert_allclose(plain["times"], compiled["times"], rtol=1e-7)
    curve = np.interp(compiled["times"], plain["times"], plain["pressure"])
    # where an event makes a jump, both sides stand at one time
    steady = np.r_[np.diff(compiled["times"]) > 0.0, True]
    steady &= np.r_[True, np.diff(compiled["times"]) > 0.0]
    assert steady.mean() > 0.8
    np.testing.assert_allclose(curve[steady], np.array(compiled["pressure"])[steady], rtol=1e-9)
    times = [[t for t, _ in run["events"]] for run in (plain, compiled)]
    np.testing.assert_allclose(times[0], times[1], rtol=1e-9)
