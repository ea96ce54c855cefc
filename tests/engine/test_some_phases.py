"""A run that goes over its events within compiled code is the one that comes back at each."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from baypulse.case.casefile import read
from baypulse.case.params import parameters
from baypulse.engine import run
from baypulse.engine.parameters import Parameters
from baypulse.engine.status import Status
from tools import run_phase

CASES = Path(__file__).parents[2] / "cases"


def shot(name: str) -> Parameters:
    return parameters(read(str(CASES / f"{name}.toml")))


def same(one: run.Track, two: run.Track) -> bool:
    assert one.status == two.status and one.events == two.events and one.steps == two.steps
    return all(
        np.array_equal(getattr(a, name), getattr(b, name))
        for a, b in zip(one.phases, two.phases, strict=True)
        for name in ("times", "states", "modes", "memory")
    )


@pytest.mark.parametrize("name", ["bench-76", "drogue-98", "cold-gas-98", "many-152"])
def test_phase_by_phase_it_is_the_same_to_the_bit(name: str) -> None:
    """Loose powder; a holder, and many more events than a call goes over; gas; many pins."""
    P = shot(name)
    assert same(run.integrate(P, 3.0, 1e-6), run.integrate(P, 3.0, 1e-6, run_phase))


def test_it_is_where_points_are_taken_away_meanwhile(monkeypatch: pytest.MonkeyPatch) -> None:
    P = shot("bench-76")
    monkeypatch.setattr(run, "ROOM", 48)
    found = run.integrate(P, 3.0, 1e-6)
    assert same(found, run.integrate(P, 3.0, 1e-6, run_phase))
    assert len(found.phases) > len(found.events)
    assert max(part.times.size for part in found.phases) <= 49


def test_a_run_ends_at_its_time_and_with_its_events(monkeypatch: pytest.MonkeyPatch) -> None:
    P = shot("bench-76")
    whole = run.integrate(P, 3.0, 1e-6)
    early = 0.5 * (whole.events[3][0] + whole.events[4][0])
    short = run.integrate(P, early, 1e-6)
    assert short.status == Status.TIME_END and short.events == whole.events[:4]
    monkeypatch.setattr(run, "MOST_EVENTS", 5)
    restless = run.integrate(P, 3.0, 1e-6)
    assert restless.status == Status.RESTLESS
    assert restless.events == whole.events[:6] and len(restless.phases) == 6
