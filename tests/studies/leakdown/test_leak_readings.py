"""A leak from what was read: intervals that hold as often as they say, and honest bounds.

The checks' outside is the coverage itself: synthetic tests whose truth is known, with noise from
numpy's generators, read by code that knows neither. The share of 95 % intervals that hold the truth
over n tests is binomial; the bounds asked for are 90 to 99 %.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from baypulse.members.parts import StudyError
from baypulse.run.pumped_bay import Vessel, area_of, fall, isothermal_area
from baypulse.studies.leakdown.recorded_falls import averaged, from_trace, the_fall
from baypulse.studies.leakdown.result import Estimate, Falls, Trace
from baypulse.studies.leakdown.timed_falls import COLUMNS, HEAT_SPREAD, from_falls, room_drift

BAY = Vessel(2e-3, 0.12, 5.0, 98e3, 295.0)
TESTS, FEW_TESTS = 200, 80
"""Records of each kind; ``benchmarks/long_statistics.py`` takes all of them."""
MEMBERS = 1024
ZERO_ERROR = 345.0


def truth(draw: np.random.Generator, volume_error: float) -> tuple[Vessel, float, float]:
    """Return a bay as it is, its leak and the pressure that it is pumped to."""
    bay = BAY._replace(
        volume=BAY.volume * np.exp(volume_error * draw.normal()),
        convection=BAY.convection * np.exp(HEAT_SPREAD * draw.normal()),
    )
    return bay, 1e-6 * float(np.exp(draw.normal())), float(draw.uniform(10e3, 25e3))


def correlated(draw: np.random.Generator, size: int, share: float) -> np.ndarray:
    """Return noise of variance one in which each reading keeps a share of the one before."""
    found = np.empty(size)
    found[0] = draw.normal()
    for k in range(1, size):
        found[k] = share * found[k - 1] + np.sqrt(1.0 - share**2) * draw.normal()
    return found


def recorded(
    seed: int, size: int, share: float, reach: float, noise: float, volume_error: float
) -> tuple[Estimate, float]:
    draw = np.random.default_rng(seed)
    bay, area, start = truth(draw, volume_error)
    long = isothermal_area(bay, start, reach * start, 1.0) / area
    time = np.linspace(0.0, long, size)
    seen = fall(bay, area, start, time) + noise * correlated(draw, size, share)
    seen += ZERO_ERROR * draw.normal()
    seen += room_drift(bay, reach * start, long) * draw.normal() * time / long
    return from_trace(BAY, Trace(time, seen, ZERO_ERROR), volume_error), area


def watched(seed: int, repeats: int, volume_error: float) -> tuple[Estimate, float]:
    draw = np.random.default_rng(seed)
    bay, _, start = truth(draw, volume_error)
    reading, clock = 345.0, 0.1
    # the gauge is read at its own errors: it shows start and end when it does
    true_start, end = start + reading * draw.normal(), 0.5 * start
    true_end = end + reading * draw.normal()
    # slow enough for a hand on a stop watch
    long = float(draw.uniform(1.5, 8.0))
    area = isothermal_area(bay, true_start, true_end, 1.0) / long
    curve = np.linspace(0.0, 1.2 * long, 400)
    gauge = fall(bay, area, true_start, curve)
    seconds = float(np.interp(-true_end, -gauge, curve))
    times = tuple((seconds + clock * draw.normal(size=repeats)).tolist())
    z = draw.normal(size=(MEMBERS, COLUMNS))
    volumes = BAY.volume * np.exp(volume_error * draw.normal(size=MEMBERS))
    return from_falls(BAY, Falls(start, end, times, clock, reading), volumes, z), area


def coverage(one: Callable[[int], tuple[Estimate, float]], tests: int) -> float:
    found = [one(seed) for seed in range(tests)]
    return float(np.mean([estimate.low <= area <= estimate.high for estimate, area in found]))


RECORDS = [
    (50, 0.8, 0.2, 100.0, 0.0),  # a gauge with a memory: the noise must be counted honestly
    (12, 0.0, 0.2, 300.0, 0.05),  # few readings off a dial
    (40, 0.5, 0.03, 100.0, 0.05),  # down to nothing, which tells the zero
]
"""Readings, how alike they are, how far down they go, their noise, and the error of the volume."""


def check_records(record: tuple[int, float, float, float, float], tests: int) -> float:
    """Say that the intervals of records hold the truth as often as they say; return how often."""
    held = coverage(lambda seed: recorded(seed, *record), tests)
    assert 0.90 <= held <= 0.99
    return held


@pytest.mark.parametrize("record", RECORDS)
def test_intervals_of_records_hold_as_often_as_they_say(
    record: tuple[int, float, float, float, float],
) -> None:
    check_records(record, FEW_TESTS)


@pytest.mark.parametrize(("repeats", "volume_error"), [(1, 0.05), (3, 0.0)])
def test_intervals_of_watched_falls_hold_as_often_as_they_say(
    repeats: int, volume_error: float
) -> None:
    held = coverage(lambda seed: watched(seed, repeats, volume_error), TESTS)
    assert 0.90 <= held <= 0.99


def test_clean_record_gives_the_area_back() -> None:
    time = np.linspace(0.0, 8.0, 100)
    found = from_trace(BAY, Trace(time, fall(BAY, 4e-7, 20e3, time), ZERO_ERROR), 0.0)
    assert found.area == pytest.approx(4e-7, rel=2e-3)
    assert found.low < 4e-7 < found.high < 1.1 * found.low
    assert found.readings is not None
    assert found.readings.start == pytest.approx(20e3, rel=1e-3)


def test_record_to_the_end_tells_its_gauge_zero_and_a_short_one_does_not() -> None:
    draw = np.random.default_rng(3)
    time = np.linspace(0.0, 40.0, 200)
    seen = fall(BAY, 5e-7, 20e3, time) + 300.0 + 30.0 * draw.normal(size=time.size)
    whole = from_trace(BAY, Trace(time, seen, ZERO_ERROR), 0.0)
    part = from_trace(BAY, Trace(time[:20], seen[:20], ZERO_ERROR), 0.0)
    assert whole.readings is not None
    assert part.readings is not None
    assert whole.readings.zero_told
    assert whole.readings.zero == pytest.approx(300.0, abs=5.0 * whole.readings.zero_error)
    assert not part.readings.zero_told
    assert part.readings.zero_error > 0.5 * ZERO_ERROR


def test_spikes_hardly_pull() -> None:
    draw = np.random.default_rng(8)
    time = np.linspace(0.0, 8.0, 200)
    seen = fall(BAY, 4e-7, 20e3, time) + 50.0 * draw.normal(size=time.size)
    plain = from_trace(BAY, Trace(time, seen, ZERO_ERROR), 0.0)
    seen[[17, 90, 151]] += (60e3, -30e3, 60e3)
    spiked = from_trace(BAY, Trace(time, seen, ZERO_ERROR), 0.0)
    assert spiked.area == pytest.approx(plain.area, rel=0.02)
    assert spiked.high / spiked.low < 1.3 * plain.high / plain.low
    assert spiked.readings is not None
    assert spiked.readings.effective > 60.0


def test_wider_volume_wider_interval_and_the_cause_is_named() -> None:
    time = np.linspace(0.0, 8.0, 100)
    trace = Trace(time, fall(BAY, 4e-7, 20e3, time), ZERO_ERROR)
    found = from_trace(BAY, trace, 0.2)
    assert found.causes[0][0] == "the free volume"
    assert found.causes[0][1] > 0.9
    # normal score of 95 %: 1.96 (any table)
    assert np.log(found.high / found.area) == pytest.approx(1.96 * 0.2, rel=0.05)
    assert sum(share for _, share in found.causes) == pytest.approx(1.0)


@pytest.mark.parametrize("level", [5e3, 15e3])
def test_level_pressure_with_noise_gives_a_bound_only(level: float) -> None:
    draw = np.random.default_rng(1)
    time = np.linspace(0.0, 30.0, 300)
    found = from_trace(BAY, Trace(time, level + 60.0 * draw.normal(size=300), ZERO_ERROR), 0.05)
    assert not found.measurable
    assert 0.0 < found.telling == found.high
    # a fall that three standard errors of the mean would show: the bound must not promise more
    seen = 3.0 * 60.0 / np.sqrt(300.0)
    assert found.high > area_of(BAY, level, level - 0.2 * seen, 30.0)


def test_fall_within_the_gauges_error_gives_a_bound_only() -> None:
    draw = np.random.default_rng(2)
    z = draw.normal(size=(MEMBERS, COLUMNS))
    volumes = np.full(MEMBERS, BAY.volume)
    found = from_falls(BAY, Falls(20e3, 19.8e3, (60.0,), 0.2, 345.0), volumes, z)
    assert not found.measurable
    # the fall may be its own 200 Pa and 1.96 errors of both readings more
    most = area_of(BAY, 20e3, 19.8e3 - 1.96 * np.sqrt(2.0) * 345.0, 60.0)
    assert found.high == pytest.approx(most, rel=0.15)


def test_repeats_narrow_the_interval_and_scatter_widens_it() -> None:
    draw = np.random.default_rng(4)
    z = draw.normal(size=(MEMBERS, COLUMNS))
    volumes = np.full(MEMBERS, BAY.volume)

    def width(*times: float) -> float:
        # without heat, which would err alike in all of them
        found = from_falls(BAY._replace(convection=0.0), Falls(20e3, 10e3, times, 0.2, 1.0),
                           volumes, z)  # fmt: skip
        return float(np.log(found.high / found.low))

    # four repeats halve the error of the mean (any text on statistics)
    assert width(3.0, 3.0, 3.0, 3.0) == pytest.approx(0.5 * width(3.0), rel=0.15)
    assert width(2.0, 3.4, 2.4, 4.2) > 2.0 * width(3.0, 3.0, 3.0, 3.0)


@pytest.mark.parametrize("column", range(COLUMNS))
def test_members_of_a_watched_fall_have_the_areas_of_their_own_falls(column: int) -> None:
    # the members are read off a table; here each against its own search
    test, score = Falls(20e3, 10e3, (3.0,), 0.3, 345.0), 1.7
    z = np.zeros((4, COLUMNS))
    z[:, column] = score
    volume = 1.1 * BAY.volume
    found = from_falls(BAY, test, np.full(4, volume), z)
    start, end, time, bay = 20e3, 10e3, 3.0, BAY._replace(volume=volume)
    if column == 0:
        time += 0.3 * score
    elif column == 1:
        start += 345.0 * score
    elif column == 2:
        end += 345.0 * score
    elif column == 3:
        bay = bay._replace(convection=5.0 * np.exp(HEAT_SPREAD * score))
    else:
        end -= room_drift(BAY, 10e3, 3.0) * score
    assert found.low == pytest.approx(area_of(bay, start, end, time), rel=3e-3)
    assert found.high == found.low


def test_time_no_longer_than_its_error_is_refused() -> None:
    with pytest.raises(StudyError, match="too short for a time that errs"):
        from_falls(BAY, Falls(20e3, 10e3, (0.4,), 0.2, 345.0), np.zeros(0), np.zeros((0, COLUMNS)))


def test_fall_begins_where_the_pump_is_shut_off() -> None:
    draw = np.random.default_rng(5)
    time = np.linspace(0.0, 10.0, 200)
    pressure = np.concatenate((np.linspace(0.0, 20e3, 50), 20e3 * np.exp(-time[:150] / 4.0)))
    kept, seen, cut = the_fall(Trace(time, pressure + 20.0 * draw.normal(size=200), 1.0))
    assert cut == pytest.approx(time[50], abs=0.2)
    assert kept[0] == 0.0
    assert seen.size == kept.size
    assert seen[0] == pytest.approx(20e3, rel=0.03)


@pytest.mark.parametrize(
    ("pressure", "said"),
    [
        (np.linspace(5e3, 20e3, 100), "the pressure rises"),
        (np.full(100, 100.0), "no pressure to speak of"),
        (np.full(5, 20e3), "too few"),
        (np.concatenate((np.full(60, 1e4), np.linspace(1e4, 3e4, 36), np.full(4, 1e3))), "rises"),
    ],
)
def test_what_is_no_fall_is_refused_with_a_sentence(pressure: np.ndarray, said: str) -> None:
    with pytest.raises(StudyError, match=said):
        the_fall(Trace(np.arange(float(pressure.size)), pressure, 1.0, "record.csv"))


def test_very_many_readings_are_averaged_and_give_the_same_area() -> None:
    draw = np.random.default_rng(6)
    time = np.linspace(0.0, 8.0, 100_000)
    coarse = np.linspace(0.0, 8.0, 801)
    pressure = np.interp(time, coarse, fall(BAY, 4e-7, 20e3, coarse))
    few, mean, each = averaged(time, pressure)
    assert few.size == mean.size == 100_000 // each <= 400
    assert few[0] == pytest.approx(time[:each].mean())
    noisy = pressure + 200.0 * draw.normal(size=time.size)
    found = from_trace(BAY, Trace(time, noisy, ZERO_ERROR), 0.0)
    assert found.area == pytest.approx(4e-7, rel=0.03)
    assert found.readings is not None
    assert found.readings.count == 100_000
    assert found.readings.noise == pytest.approx(200.0, rel=0.15)
