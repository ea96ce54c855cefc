"""Events go to the handler that names them, whatever their codes."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from baypulse.case.model import Powder
from baypulse.case.params import parameters
from baypulse.engine import layout as at
from baypulse.engine import phases, run
from baypulse.engine.event import COMMON_EVENTS, EventCode, onward_event, pin_of, slack_event
from baypulse.engine.parameters import pack
from baypulse.engine.rates import FORCES
from baypulse.physics import fit
from baypulse.run.result import EventKind
from baypulse.run.simulation import KINDS
from tools import case

TESTS = Path(__file__).parents[1]
CODES = [*EventCode, *(COMMON_EVENTS + k for k in (0, 1, 4, 5))]
"""Those of all, and both of the first and the third pin."""


def takers(event: int) -> list[str]:
    """Return which handlers take an event of a shot that has just begun."""
    P = parameters(case())
    record = pack(P)
    found = []
    for name in ("gas", "joint", "contents", "cord"):
        y, memory, force = np.empty(P.state_size), np.zeros(at.MEMORY), np.zeros(FORCES)
        modes = np.empty(at.PINS + P.pin_strength.size, dtype=np.int64)
        at.begin(record, y, modes)
        given = {
            "gas": (y, modes, record),
            "joint": (y, modes, record, force),
            "contents": (y, modes, record, force),
            "cord": (y, modes, memory, record),
        }[name]
        if getattr(phases, f"apply_{name}_event")(event, *given):
            found.append(name)
    return found


@pytest.mark.parametrize("event", CODES)
def test_every_event_is_taken_by_exactly_one_handler(event: int) -> None:
    assert len(takers(int(event))) == 1


def test_a_code_that_is_no_event_is_taken_by_none() -> None:
    assert takers(-1) == []


def test_events_of_pins_follow_the_common_ones_and_lead_back_to_their_pin() -> None:
    assert sorted(EventCode) == list(range(COMMON_EVENTS))
    assert [pin_of(int(code)) for code in EventCode] == [-1] * COMMON_EVENTS
    pairs = [(onward_event(pin), slack_event(pin)) for pin in range(4)]
    assert [pin_of(code) for pair in pairs for code in pair] == [0, 0, 1, 1, 2, 2, 3, 3]
    assert sorted(sum(pairs, ())) == list(range(COMMON_EVENTS, COMMON_EVENTS + 8))


def test_people_are_told_every_event_but_those_that_mean_nothing_to_them() -> None:
    untold = {code.name for code in EventCode} - {code.name for code in KINDS}
    assert untold == {"RISE", "PARTED", "NOSE_SLIP", "NOSE_STOP", "BRAKE"}
    assert len({kind.format(1) for kind in EventKind}) == len(EventKind)


SHIFTED = """
import json
from enum import IntEnum
from baypulse.engine import event
names = [code.name for code in event.EventCode]
for place in (0, 7, 16, 25, 31, len(names)):
    names.insert(place, f"NEW_{place}")
event.EventCode = IntEnum("EventCode", names, start=0)
event.COMMON_EVENTS = len(names)
from baypulse.engine import run
from baypulse.case.params import parameters
from baypulse.case.model import Powder
from tools import case
track = run.integrate(parameters(case(powder=Powder(grade="3F", mass=1.5e-3))), 2.0, 1e-6)
print(json.dumps([[t, names[code] if code < len(names) else code - len(names)]
                  for t, code in track.events]))
"""


def test_a_shot_is_the_same_when_events_are_inserted_before_others() -> None:
    paths = [str(TESTS), os.environ.get("PYTHONPATH", "")]
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(paths), "NUMBA_DISABLE_JIT": "1"}
    done = subprocess.run(
        [sys.executable, "-c", SHIFTED], env=environment, capture_output=True, text=True,
        check=True,
    )  # fmt: skip
    shifted = json.loads(done.stdout)
    track = run.integrate(parameters(case(powder=Powder(grade="3F", mass=1.5e-3))), 2.0, 1e-6)
    plain = [
        EventCode(code).name if code < COMMON_EVENTS else code - COMMON_EVENTS
        for _, code in track.events
    ]
    assert [name for _, name in shifted] == plain
    assert {"START", "SLIP", "CLEAR", "CONTENTS_OUT", "TAUT", "CORD_SLACK", 0} <= set(plain)
    times = [t for t, _ in track.events]
    np.testing.assert_allclose([t for t, _ in shifted], times, rtol=1e-9)


def test_a_pin_goes_on_and_back_by_its_own_events() -> None:
    P = parameters(case())
    record, y = pack(P), np.empty(P.state_size)
    modes = np.empty(at.PINS + P.pin_strength.size, dtype=np.int64)
    at.begin(record, y, modes)
    memory, force = np.zeros(at.MEMORY), np.zeros(FORCES)
    stages = []
    for event in (onward_event(1), slack_event(1), onward_event(1), onward_event(1)):
        assert not phases.apply_event(event, y, modes, memory, record, force)
        stages.append(modes[at.PINS :].tolist())
    rest = fit.SLACK
    assert stages == [
        [rest, fit.LOADED, rest], [rest] * 3, [rest, fit.LOADED, rest], [rest, fit.FAILING, rest]
    ]  # fmt: skip
