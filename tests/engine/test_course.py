"""The course of a member against the points of a single run, which other tests hold to DOP853."""

from __future__ import annotations

import numpy as np
import pytest

from baypulse.case.params import parameters
from baypulse.engine import course, ensemble, run
from baypulse.engine import layout as at
from baypulse.engine.parameters import pack
from baypulse.physics import whole_code
from baypulse.studies.fit.responses import between
from engine.test_side_by_side import TOLERANCE, records, shipped

END = 0.15
"""Long enough for all that a fit looks at [s]."""


def at_times(rows: np.ndarray, value: int, rate: int, wanted: np.ndarray) -> np.ndarray:
    return between(rows[:, course.TIME], rows[:, value], rows[:, rate], wanted)


@pytest.mark.parametrize("name", ["bench-76", "main-98", "drogue-98", "cold-gas-98", "many-152"])
def test_it_is_what_a_single_run_shows(name: str) -> None:
    """Of the highest value by a part in 20,000, where a fit counts readings of a hundredth.

    The bay whose motor is not capped stays shut.
    """
    P = parameters(shipped(name))
    seen = run.observe(run.integrate(P, END, 1e-10), P)
    (rows,) = ensemble.follow_members(pack(P).reshape(1), END, 1e-6)
    events = np.flatnonzero(np.diff(seen.times) == 0.0)
    points = np.delete(np.arange(seen.times.size), np.concatenate((events, events + 1)))
    wanted, states = seen.times[points], seen.states[points]
    pressure = at_times(rows, course.PRESSURE, course.PRESSURE_RATE, wanted)
    nose = at_times(rows, course.NOSE_SPEED, course.NOSE_GROWTH, wanted)
    frame = at_times(rows, course.FRAME_SPEED, course.FRAME_GROWTH, wanted)
    speed = rows[:, course.NOSE_SPEED] - rows[:, course.FRAME_SPEED]
    travel = between(rows[:, course.TIME], rows[:, course.TRAVEL], speed, wanted)
    fastest = np.abs(states[:, at.NOSE_V] - states[:, at.FRAME_V]).max()
    assert bool(fastest > 1.0) is (name != "drogue-98")
    for found, truth, size in (
        (pressure, seen.volumes[points, P.chamber, 0] - P.p_ambient, pressure.max()),
        (nose, states[:, at.NOSE_V], fastest),
        (frame, states[:, at.FRAME_V], fastest),
        (travel, states[:, at.NOSE_X] - states[:, at.FRAME_X], travel.max()),
    ):
        np.testing.assert_allclose(found, truth, rtol=0.0, atol=5e-5 * size)


def test_each_is_the_same_alone_and_beside_others(monkeypatch: pytest.MonkeyPatch) -> None:
    """To the bit, by all of the code and by what a first study has."""
    given = records(shipped("main-98"), 12)
    beside = ensemble.follow_members(given, END, TOLERANCE)
    monkeypatch.setattr(whole_code, "takes_whole", lambda members: False)
    monkeypatch.setattr(ensemble, "takes_whole", lambda members: False)
    for i, rows in enumerate(beside):
        (alone,) = ensemble.follow_members(given[i : i + 1], END, TOLERANCE)
        np.testing.assert_array_equal(alone, rows)


def test_it_does_not_depend_on_when_rows_are_taken_away() -> None:
    """A pause begins a step anew, which moves what follows by no more than the tolerance does."""
    given = records(shipped("bench-76"), 6)
    wanted = np.linspace(0.0, END, 501)
    whole = ensemble.follow_members(given, END, 1e-6)
    for one, rows in zip(whole, ensemble.follow_members(given, END, 1e-6, 16), strict=True):
        assert len(rows) > len(one)
        truth = at_times(one, course.PRESSURE, course.PRESSURE_RATE, wanted)
        found = at_times(rows, course.PRESSURE, course.PRESSURE_RATE, wanted)
        np.testing.assert_allclose(found, truth, rtol=0.0, atol=5e-5 * truth.max())


def test_time_never_falls_and_both_sides_of_an_event_are_there() -> None:
    for rows in ensemble.follow_members(records(shipped("bench-76"), 8), END, TOLERANCE):
        time = rows[:, course.TIME]
        assert time[0] == 0.0 and time[-1] == pytest.approx(END)
        assert (np.diff(time) >= 0.0).all()
        assert 5 < np.count_nonzero(np.diff(time) == 0.0) < 60


def test_members_are_none_the_worse_for_it() -> None:
    """What they give as an ensemble is the same to the bit whether their course is kept."""
    given = records(shipped("bench-76"), 12)
    kept = ensemble._places(given, 12, ensemble.ROWS)
    rows = ensemble._integrated(given, kept, False, ensemble.Until.END, END, TOLERANCE).rows
    np.testing.assert_array_equal(rows, ensemble.run_members(given, END, TOLERANCE))


def test_a_run_that_is_given_up_is_so_however_often_rows_are_taken_away() -> None:
    """Its events and its work go on being counted."""
    given = records(shipped("bench-76"), 4)
    short = ensemble._places(given, 4, 16)
    ensemble._integrated(given, short, False, ensemble.Until.END, END, TOLERANCE)
    assert short.waiting.all()
    before = short.counts.copy()
    ensemble._integrated(given, short, True, ensemble.Until.END, END, TOLERANCE)
    assert (short.counts[:, :2] >= before[:, :2]).all()
    assert (short.counts[:, 1] > before[:, 1]).all()
