"""A leak-down test as numbers for other programs: ``numbers.json``."""

from __future__ import annotations

from typing import Any

from baypulse.show.data import both, clean
from baypulse.show.study_data import chance_numbers, foot, head
from baypulse.studies.leakdown import text as words
from baypulse.studies.leakdown.result import HOLE_DISCHARGE, Falls, LeakDown, LeakShot, hole


def leakdown_numbers(leak: LeakDown) -> dict[str, Any]:
    """Return everything that was found, ready for JSON.

    Every name of a number that has a unit ends in it.

    Parameters
    ----------
    leak : LeakDown
        Findings.
    """
    estimate, settling = leak.estimate, leak.settling
    return {
        **head("leakdown", leak.case),
        "headline": words.headline(leak),
        "sentences": [text for text in words.meaning(leak) if text],
        "matters": words.matters(leak),
        "measurable": estimate.measurable,
        "confidence_ratio": 0.95,
        **both("effective_area", estimate.area, "area"),
        **both("effective_area_low", estimate.low, "area"),
        **both("effective_area_high", estimate.high, "area"),
        **both("effective_area_if_read_at_once", estimate.fresh, "area"),
        **both("hole_diameter", float(hole(estimate.area)), "length"),
        **both("hole_diameter_low", float(hole(estimate.low)), "length"),
        **both("hole_diameter_high", float(hole(estimate.high)), "length"),
        "hole_discharge_ratio": HOLE_DISCHARGE,
        "interval_comes_from": [
            {"name": name, "share_ratio": clean(share)} for name, share in estimate.causes
        ],
        "test": _test(leak),
        **both("bench_pressure", leak.air[0], "absolute pressure"),
        **both("bench_temperature", leak.air[1], "temperature"),
        **both("free_volume", leak.volume, "volume"),
        "free_volume_error_ratio": clean(leak.volume_error),
        "free_volume_error_assumed": leak.volume_assumed,
        "plugged": [{"name": name, **both("effective_area", each, "area")}
                    for name, each in leak.plugged],
        **both("clearance_area", leak.clearance, "area"),
        "settling": {
            "warmer_K": clean(settling.warmer),
            **both("pressure_drop", settling.drop, "gauge pressure"),
            **both("time_constant", settling.time, "time"),
            **both("wait", settling.wait, "time"),
        },
        "shots": [_shot(each) for each in (leak.tight, leak.leaking, leak.given)],
        "separates_only_tight": leak.lost,
        "separates_only_with_leak": leak.gained,
        "gas_lost_ratio": clean(leak.gone),
        **both("gas_lost_until", leak.gone_until, "time"),
        **both("bleed_time", leak.bleed, "time"),
        "held_pressure_loss_ratio": clean(words.held_loss(leak)),
        "seed": leak.seed,
        "fall": {
            "time_s": [clean(each) for each in leak.times.tolist()],
            "fitted_Pa": [clean(each) for each in leak.fitted.tolist()],
            "low_Pa": [clean(each) for each in leak.lowest.tolist()],
            "high_Pa": [clean(each) for each in leak.highest.tolist()],
        },
        **foot(leak.case, leak.warnings),
    }  # fmt: skip


def _test(leak: LeakDown) -> dict[str, Any]:
    test = leak.test
    if isinstance(test, Falls):
        return {
            "kind": "times",
            **both("from", test.start, "gauge pressure"),
            **both("to", test.end, "gauge pressure"),
            "times_s": [clean(each) for each in test.times],
            **both("time_error", test.time_error, "time"),
            **both("gauge_error", test.gauge_error, "gauge pressure"),
        }
    read = leak.estimate.readings
    assert read is not None
    return {
        "kind": "record",
        "file": test.source,
        "readings": read.count,
        "effective_readings": clean(read.effective),
        **both("from", read.start, "gauge pressure"),
        **both("noise", read.noise, "gauge pressure"),
        **both("gauge_error", test.gauge_error, "gauge pressure"),
        **both("zero", read.zero, "gauge pressure"),
        **both("zero_error", read.zero_error, "gauge pressure"),
        "zero_told": read.zero_told,
    }


def _shot(shot: LeakShot) -> dict[str, Any]:
    numbers = shot.result.numbers
    return {
        "name": shot.name,
        **both("effective_area", shot.area, "area"),
        "verdict": shot.result.verdict,
        **both("peak_pressure", numbers.peak_pressure, "gauge pressure"),
        **both("held_pressure", shot.held, "gauge pressure"),
        **both("clear_velocity", numbers.clear_velocity, "velocity"),
        "separates": None if shot.opens is None else chance_numbers(shot.opens),
    }
