"""The fit as a whole: it finds again what a record was made from, and is as sure as it says.

Synthetic recovery: the truth is known because the records are made from it (fit_records). The
calibration is a small one of benchmarks/fit.py, which runs hundreds of records (Talts et al. 2018,
arXiv:1804.06788).
"""

from __future__ import annotations

import importlib.util
from pathlib import Path

import numpy as np
import pytest

import baypulse
from baypulse.case.casefile import reads
from baypulse.case.casefile.fitted_values import with_values
from baypulse.case.casefile.joint_retention import deviation_of
from baypulse.members.draws import member_case
from baypulse.members.parts import StudyError
from baypulse.observed.measured import (
    POSITION,
    PRESSURE,
    MeasuredShot,
    Record,
    shot,
)
from baypulse.studies.fit.compute import fit, written_case
from baypulse.studies.fit.fitted_case import entries, remarks
from baypulse.studies.fit.responses import BEHIND
from baypulse.studies.fit.responses import FIRED as MOMENT
from baypulse.studies.fit.responses import LAG as DELAY
from baypulse.studies.fit.responses import ZERO as REST
from baypulse.studies.fit.unknowns import choices, with_priors
from fit_records import FIRED, LAG, LEAK, NOISE, TEXT, TRUTH, ZERO, case, fired, trace
from fit_records import shot as real_shot
from quick_bays import strand_text
from report_cases import BENCH, without
from studies.fit.documents import FREE, SMALL_RANGE, by_gauge, by_loggers, by_numbers


def test_intervals_hold_the_truth() -> None:
    assert {each.unknown.path for each in by_gauge().fitted} == set(TRUTH)
    for each in by_gauge().fitted:
        assert each.after.low < TRUTH[each.unknown.path] < each.after.high, each.unknown.label


def test_much_is_learnt_of_the_burning_rate() -> None:
    rate = next(e for e in by_gauge().fitted if e.unknown.path == "powder.rate_factor")
    assert rate.left < 0.6
    assert rate.after.high - rate.after.low < 0.6 * (rate.before.high - rate.before.low)


def test_gauge_and_moment_of_firing_are_found_beside() -> None:
    (record,) = by_gauge().records
    beside = {each.name: each for each in record.unsure}
    assert beside[DELAY].value == pytest.approx(LAG, rel=0.15)
    # the ignition's delay cannot be told from it, and may be 1.5 ms off
    assert beside[MOMENT].value == pytest.approx(FIRED, abs=4e-3)
    assert abs(beside[REST].value - ZERO) < 4.0 * beside[REST].deviation


def test_error_is_the_noise_and_the_readings_count() -> None:
    (record,) = by_gauge().records
    peak = record.prepared.peak
    assert record.error == pytest.approx(NOISE * peak, rel=0.15)
    assert record.effective > 0.6 * record.prepared.record.time.size


def test_band_lies_on_the_curve() -> None:
    # of the curve, not of a reading: narrower than the noise, and never far from the best curve
    (record,) = by_gauge().records
    assert np.median(record.high - record.low) < 4.0 * record.error
    assert np.mean((record.low <= record.after + 0.5 * record.error)
                   & (record.after <= record.high + 0.5 * record.error)) > 0.95  # fmt: skip


def test_numbers_that_say_nothing_return_the_prior() -> None:
    blind = by_numbers("peak 20 psi +/- 20000 psi")
    for each in blind.fitted:
        assert each.left == pytest.approx(1.0, abs=0.03)
        assert each.after.middle == pytest.approx(each.before.middle, rel=0.03)
        assert each.after.high == pytest.approx(each.before.high, rel=0.05)
    assert blind.opens_after.share == pytest.approx(blind.opens_before.share, abs=0.05)


def test_several_shots_tell_more_than_one() -> None:
    # without pins: where they only just break, their strength sets the peak whatever the rate
    free = reads(without(TEXT, "pins"), "free")
    _, pressure, _ = fired(free, TRUTH)
    text = f"peak {pressure.max():.0f} Pa +/- 10 %"
    one = fit(free, [shot(text, "one")], unknowns=["rate"], workers=2)
    several = [shot(text, f"shot {k}") for k in range(4)]
    four = fit(free, several, unknowns=["rate"], workers=2)
    assert min(e.left for e in four.fitted) < 0.97 * min(e.left for e in one.fitted)


def test_positions_of_a_video_find_the_friction_or_say_that_they_do_not() -> None:
    time, _, travel = real_shot()
    at = np.linspace(0.0, 0.08, 30)
    gap = np.interp(at, time, travel) + 5e-4 * np.random.default_rng(2).normal(size=30)
    record = Record(POSITION, at, gap, "video.csv", fired=0.0)
    seen = fit(case(), [MeasuredShot("recorded shot", (record,))], workers=2)
    labels = {each.unknown.path: each for each in seen.fitted}
    assert "joint.pull_off" in labels
    for path, truth in TRUTH.items():
        assert labels[path].after.low < truth < labels[path].after.high


def test_what_a_record_does_not_tell_is_called_so(monkeypatch: pytest.MonkeyPatch) -> None:
    # no chance is looked at, and each takes shots of its own
    monkeypatch.setattr("baypulse.studies.fit.compute.MEMBERS", 32)
    # the cloth takes little of the heat within a few milliseconds, whatever its area
    text = strand_text(BENCH)
    time, values = trace(120, text=text)
    record = Record(PRESSURE, time, values, "gauge.csv")
    (wall,) = fit(case(text), [MeasuredShot("s", (record,))], unknowns=["wall"], workers=2).fitted
    assert wall.left > 0.9 and not wall.learnt
    assert wall.after.middle == pytest.approx(wall.before.middle, rel=0.2)


def test_answer_does_not_depend_on_the_number_of_threads() -> None:
    seen = [shot("peak 15 psi, velocity 12 m/s", "one")]
    one = fit(case(), seen, unknowns=["rate"], workers=1)
    two = fit(case(), seen, unknowns=["rate"], workers=2)
    assert [e.after for e in one.fitted] == [e.after for e in two.fitted]
    assert one.opens_after == two.opens_after


def test_mixing_is_the_law_of_entrainment_unless_a_time_is_typed() -> None:
    timed = reads(BENCH.replace("[bay]\n", '[bay]\nmixing_time = "40 ms"\n'), "timed")
    assert choices(case())["mixing"].path == "bay.entrainment"
    assert choices(timed)["mixing"].path == "bay.mixing_time"
    _, (unknown,), found = with_priors(timed, ["mixing"])
    assert unknown.value == pytest.approx(0.04)
    # the law does nothing there, so it neither scatters nor can be asked for
    assert "bay.entrainment" not in {factor.name for factor in found}
    with pytest.raises(StudyError, match="does nothing"):
        with_priors(timed, ["bay.entrainment"])


def test_delay_needs_the_moment_of_firing() -> None:
    time, values = trace()
    record = Record(PRESSURE, time, values, "gauge.csv")
    with pytest.raises(StudyError, match="--fired"):
        fit(case(), [MeasuredShot("s", (record,))], unknowns=["delay"])


@pytest.mark.parametrize(
    ("word", "said"),
    [("mixng", 'did you mean "mixing"'), ("powder.mass", "gives it no spread"),
     ("cord.wear", "gives it no spread"), ("nothing.at_all", "no such number")],
)  # fmt: skip
def test_unknowns_that_cannot_be_fitted(word: str, said: str) -> None:
    with pytest.raises(StudyError) as caught:
        fit(case(), [shot("peak 15 psi", "one")], unknowns=[word])
    assert said in str(caught.value)


def test_written_case_is_read_back_as_it_was_meant() -> None:
    held = by_gauge()
    text, read = with_values(case().source_text, entries(held), remarks(held), "new", "new.toml")
    meant = written_case(case(), held.fitted)
    for each in (e for e in held.fitted if e.learnt):
        table, _, name = each.unknown.path.partition(".")
        got, wanted = (getattr(getattr(c, table), name) for c in (read, meant))
        assert got == pytest.approx(wanted, rel=1e-3)
        spreads = [c.spreads[each.unknown.path] for c in (read, meant)]
        assert deviation_of(spreads[0], got) == pytest.approx(
            deviation_of(spreads[1], wanted), rel=0.06
        )
    assert text.startswith("# Fitted from gauge.csv with baypulse fit")
    assert "[cord]\ntype = " in text
    assert baypulse.simulate(read).verdict == baypulse.simulate(case()).verdict


def test_a_small_calibration(tmp_path: Path) -> None:
    spec = importlib.util.spec_from_file_location(
        "fit_benchmark", Path(__file__).parents[3] / "benchmarks" / "fit.py"
    )
    assert spec is not None and spec.loader is not None
    benchmark = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(benchmark)
    benchmark.POINTS = 80
    benchmark.CASE = tmp_path / "quick.toml"
    benchmark.CASE.write_text(TEXT, "utf-8")
    rows = [benchmark.calibrate((seed, False), moved=False)[1] for seed in range(3)]
    held = [hit for each in rows if not isinstance(each, str) for _, hit, *_ in each[0]]
    assert len(held) >= 6
    # of 9 intervals at 95 %, fewer than 7 hold the truth once in 120 times (binomial)
    assert sum(held) >= len(held) - 2


@pytest.mark.parametrize("rate", [1600.0, 800.0])
def test_loggers_of_both_sections_find_the_truth(rate: float) -> None:
    found = by_loggers(rate)
    for each in found.fitted:
        if each.unknown.path in TRUTH:
            truth = TRUTH[each.unknown.path]
            assert each.after.low < truth < each.after.high, each.unknown.label
    burning = next(e for e in found.fitted if e.unknown.path == "powder.rate_factor")
    # the quick law's push is over within five milliseconds: four readings of the slower logger
    assert burning.left < (0.6 if rate > 1000.0 else 0.8)
    barometer = found.records[-1]
    beside = {each.name: each for each in barometer.unsure}
    assert beside["scale"].value == pytest.approx(LEAK, rel=0.15)
    # of the records that are made, an acceleration stands at the end of its mean, not the pressure
    assert beside[BEHIND].value == pytest.approx(-0.5 / rate, abs=0.2 / rate)
    assert barometer.error < 0.01 * barometer.prepared.peak


def test_a_logger_says_by_itself_what_the_shot_was() -> None:
    known = case(FREE)
    told = {each.name: each for each in by_loggers(1600.0).loggers}
    real = baypulse.simulate(member_case(known, TRUTH))
    clear = real.numbers.clear_velocity
    assert told["speed"].measured == pytest.approx(clear, rel=0.05)
    # both sections and what they carry; momentum is theirs alone
    assert told["mass ratio"].measured == pytest.approx(
        known.nose.mass / known.airframe.mass, rel=0.2
    )
    for each in told.values():
        if np.isfinite(each.after.middle):
            off = abs(each.after.middle - each.measured)
            assert off < 3.0 * each.error + 0.03 * each.measured, each.label


def test_what_a_slow_logger_loses_of_the_peak_is_put_back() -> None:
    fast, slow = (
        {each.name: each for each in by_loggers(rate).loggers} for rate in (4000.0, 1600.0)
    )
    truth = fast["peak"].true.middle
    assert slow["peak"].true.middle == pytest.approx(truth, rel=0.08)
    assert slow["peak"].true.low < truth < slow["peak"].true.high


def test_saturated_readings_are_at_least_so_much() -> None:
    found = by_loggers(1600.0, SMALL_RANGE)
    assert any("end of the sensor's range" in note for note in found.notes)
    told = {each.name: each for each in found.loggers}
    assert told["speed"].least and not told["push"].least
    for each in found.fitted:
        if each.unknown.path in TRUTH:
            assert each.after.low < TRUTH[each.unknown.path] < each.after.high
