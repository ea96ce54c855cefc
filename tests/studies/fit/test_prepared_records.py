"""Records before they are fitted: what is wrong with them is said, and what is right is kept.

The sentences are our own; the records are made so that what is wrong is known.
"""

from __future__ import annotations

import numpy as np
import pytest

from baypulse.members.parts import StudyError
from baypulse.observed.measured import POSITION, PRESSURE, Record, shot
from baypulse.studies.fit.prepared_records import prepare
from fit_records import NOISE, ZERO, case, trace


def record(time: np.ndarray, values: np.ndarray) -> Record:
    return Record(PRESSURE, time, values, "gauge.csv")


def refused(time: np.ndarray, values: np.ndarray, **how) -> str:
    with pytest.raises(StudyError) as caught:
        prepare(case(), record(time, values), **how)
    return str(caught.value)


def test_a_good_record_keeps_its_pulse_its_noise_and_its_zero() -> None:
    time, values = trace()
    found = prepare(case(), record(time, values))
    peak = values.max() - ZERO
    assert found.peak == pytest.approx(peak, rel=0.02)
    assert found.noise == pytest.approx(NOISE * peak, rel=0.25)
    assert found.zero == pytest.approx(ZERO, abs=4 * NOISE * peak / np.sqrt(20))
    assert found.record.time[0] < found.rise < found.record.time[np.argmax(found.record.values)]
    assert not found.clipped.any()


def test_noise_alone_is_no_shot() -> None:
    noise = 500.0 * np.random.default_rng(0).normal(size=600)
    assert "no pulse stands out" in refused(np.linspace(0.0, 0.6, 600), noise)


def test_two_shots_are_refused_with_their_times_and_a_way_out() -> None:
    time, values = trace()
    both = np.concatenate((time, time + 1.0)), np.concatenate((values, values))
    sentence = refused(*both)
    assert "2 pulses" in sentence and "--between" in sentence
    rise = prepare(case(), record(time, values)).rise
    first = float(sentence.split(" at ")[1].split(" s")[0])
    assert first == pytest.approx(rise, abs=0.01)
    one = prepare(case(), record(*both), between=(1.4, 1.7))
    assert one.rise == pytest.approx(rise + 1.0, abs=1e-6)


def test_clipped_top_is_found_and_its_share_is_right() -> None:
    time, values = trace()
    level = ZERO + 0.7 * (values.max() - ZERO)
    found = prepare(case(), record(time, np.minimum(values, level)))
    assert int(found.clipped.sum()) == int((values >= level).sum())
    assert any("end of its range" in note for note in found.notes)


@pytest.mark.parametrize("factor", [1e3, 1e-5])
def test_wrong_unit_of_the_pressure(factor: float) -> None:
    time, values = trace()
    assert "check the unit" in refused(time, factor * values)


@pytest.mark.parametrize("factor", [1e3, 1e-3])
def test_wrong_unit_of_the_time(factor: float) -> None:
    time, values = trace()
    assert "unit of the time" in refused(factor * time, values)


def test_record_that_begins_after_its_peak() -> None:
    time, values = trace()
    late = int(np.argmax(values)) + 4
    assert "after the rise" in refused(time[late:], values[late:])


def test_too_few_readings_in_the_pulse() -> None:
    time, values = trace()
    assert "at least 6" in refused(time[::40], values[::40])


def test_nothing_between_the_ends() -> None:
    time, values = trace()
    assert "the record goes from" in refused(time, values, between=(5.0, 6.0))


def test_long_record_is_thinned_and_keeps_its_peak() -> None:
    time, values = trace(20_000)
    found = prepare(case(), record(time, values))
    assert found.record.time.size <= 1500
    assert found.record.values.max() == pytest.approx(values.max(), rel=0.03)
    assert any("neighbours" in note for note in found.notes)


def test_positions_that_never_grow() -> None:
    still = Record(POSITION, np.arange(5.0), np.zeros(5), "video.csv")
    with pytest.raises(StudyError, match="nothing moves"):
        prepare(case(), still)


def test_numbers_of_a_shot() -> None:
    found = shot("charge 1.2 g, peak 11 psi +/- 0.5 psi, velocity 9 m/s; slide 3 m ± 10 %", "one")
    assert found.mass == pytest.approx(1.2e-3)
    peak, velocity, slide = found.scalars
    # 1 psi = 6894.757 Pa (NIST SP 811)
    assert (peak.value, peak.error) == pytest.approx((11 * 6894.757, 0.5 * 6894.757), rel=1e-6)
    assert (velocity.value, velocity.error) == pytest.approx((9.0, 0.9))
    assert (slide.value, slide.error) == pytest.approx((3.0, 0.3))


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("velocty 9 m/s", 'did you mean "velocity"'),
        ("peak 11", "no unit"),
        ("velocity 9 psi", "velocity"),
        ("charge 1.2 g", "nothing was measured"),
        ("peak 5 psi, peak 6 psi", "stands twice"),
        ("velocity 0 m/s", "not above zero"),
        ("velocity 9 m/s +/- 0", "error of zero"),
        ("charge 900 g, peak 11 psi", "from 1 mg to 200 g"),
        ("", "none of"),
    ],
)
def test_numbers_that_cannot_be_read(text: str, said: str) -> None:
    with pytest.raises(StudyError) as caught:
        shot(text, "one")
    assert said in str(caught.value)
    assert f'--shot "{text}"' in str(caught.value)
