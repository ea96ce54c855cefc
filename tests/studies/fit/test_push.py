"""The push in a logger's record: pulses of closed form give back what they were made of.

Outside the project: kinematics (speed is the integral of acceleration, way that of speed), and the
published figures of real separations that are quoted beside each (records of a university team's
loggers, as in tests/validation/records).
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from baypulse.constants import STANDARD_GRAVITY
from baypulse.members.parts import StudyError
from baypulse.studies.fit.push import RecordedPush, find, saturated, shape

G = STANDARD_GRAVITY


def pulse(time: np.ndarray, begin: float, end: float, height: float) -> np.ndarray:
    return np.where((time >= begin) & (time < end), height, 0.0)


def test_a_constant_push_gives_v_at_and_half_a_t_squared() -> None:
    time = np.arange(0.0, 0.2, 1e-4)
    found = shape(time, pulse(time, 0.05, 0.08, 150.0))
    assert found.change == pytest.approx(150.0 * 0.03, rel=5e-3)
    assert found.travel == pytest.approx(0.5 * 150.0 * 0.03**2, rel=0.01)
    assert found.end - found.begin == pytest.approx(0.03, abs=1e-4)
    for level in (found.release, found.peak, found.clear, found.mean):
        assert level == pytest.approx(150.0, rel=0.01)


def test_a_half_sine_gives_two_over_pi_of_its_height() -> None:
    time = np.arange(0.0, 0.2, 1e-4)
    half = np.where((time > 0.05) & (time < 0.09), np.sin((time - 0.05) / 0.04 * math.pi), 0.0)
    found = shape(time, 200.0 * half)
    assert found.change == pytest.approx(200.0 * 0.04 * 2.0 / math.pi, rel=2e-3)
    assert found.peak == pytest.approx(200.0, rel=0.03)
    # half the height is passed at 30 and at 150 degrees
    assert found.end - found.begin == pytest.approx(0.04 * 2.0 / 3.0, rel=0.1)


@pytest.mark.parametrize("sign", [1.0, -1.0])
@pytest.mark.parametrize("rest", [0.0, -G, 0.7 * G])
def test_either_sign_and_any_rest_are_found_with_the_cord(sign: float, rest: float) -> None:
    time = np.arange(0.0, 3.0, 1.0 / 800.0)
    rng = np.random.default_rng(5)
    values = sign * (pulse(time, 1.0, 1.025, 160.0) - pulse(time, 1.9, 1.92, 120.0)) + rest
    push = find(time, values + 0.1 * rng.normal(size=time.size), "log.csv")
    assert push.sign == sign
    assert push.rest == pytest.approx(rest, abs=0.05)
    assert push.course.begin == pytest.approx(1.0, abs=2e-3)
    assert push.course.end == pytest.approx(1.025, abs=2e-3)
    assert push.jerk == pytest.approx(1.9, abs=2e-3)
    assert push.jerk_peak == pytest.approx(120.0, rel=0.02)


def test_a_motor_is_no_push_and_two_events_are_refused_with_their_times() -> None:
    time = np.arange(0.0, 60.0, 0.01)
    motor = pulse(time, 1.0, 3.0, 90.0)
    one = motor + pulse(time, 20.0, 20.03, 160.0)
    assert find(time, one, "log.csv").course.begin == pytest.approx(20.0, abs=0.02)
    with pytest.raises(StudyError) as caught:
        find(time, one + pulse(time, 50.0, 50.03, 200.0), "log.csv")
    said = str(caught.value)
    assert "2 events" in said and "--between" in said and "19.99 s" in said and "49.99 s" in said


def test_rest_alone_is_no_push() -> None:
    time = np.arange(0.0, 3.0, 0.01)
    with pytest.raises(StudyError, match="no push stands out"):
        find(time, G + 0.2 * np.random.default_rng(1).normal(size=time.size), "log.csv")


def push_of(values: np.ndarray) -> RecordedPush:
    sign = 1.0 if values.max() > -values.min() else -1.0
    course = shape(np.arange(float(values.size)), sign * values)
    return RecordedPush(course, sign, 0.0, None, 0.0, 0.1)


@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_a_sensor_at_its_end_is_found(sign: float) -> None:
    smooth = 300.0 * np.sin(np.linspace(0.0, math.pi, 40))
    assert not saturated(sign * smooth, push_of(sign * smooth), None).any()
    cut = np.minimum(smooth, 16.0 * G)
    np.testing.assert_array_equal(
        saturated(sign * cut, push_of(sign * cut), None), smooth >= 16.0 * G
    )


def test_a_sensor_that_rings_at_its_end_is_found() -> None:
    # readings of a real separation's nose, clipped at 28 g (m/s^2)
    real = np.array([10.0, 34, 99, 206, 275.6, 275.7, 254, 274.3, 145, 118, 83, 86, 212, 191, -167])
    assert np.flatnonzero(saturated(real, push_of(real), None)).tolist() == [4, 5, 7]


def test_a_stated_range_tells_a_single_reading() -> None:
    values = np.array([0.0, 90.0, 272.0, 180.0, 0.0])
    assert np.flatnonzero(saturated(values, push_of(values), 28.0 * G)).tolist() == [2]
    assert not saturated(values, push_of(values), None).any()


def test_few_readings_tell_the_impulse_and_not_the_course() -> None:
    # a logger at 10 ms that averages: 25 ms of 160 m/s^2 are 4 m/s whatever the phase
    time = np.arange(0.0, 0.2, 0.01)
    edges = np.clip(np.array([time - 0.01, time]), 0.052, 0.077)
    found = shape(time, 160.0 * np.diff(edges, axis=0)[0] / 0.01)
    assert found.change == pytest.approx(4.0, rel=0.02)
    assert math.isnan(found.peak)
    assert 100.0 < found.mean < 220.0
