"""A leak-down test as a document: it says what was found."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import cache
from html import unescape

import numpy as np
import pytest

from baypulse.case import quantities
from baypulse.case.casefile import reads
from baypulse.run.pumped_bay import fall, isothermal_area, vessel_of
from baypulse.show import as_json, figure_files, in_terminal
from baypulse.studies.leakdown import words
from baypulse.studies.leakdown.compute import leakdown
from baypulse.studies.leakdown.document import compare, document
from baypulse.studies.leakdown.figures import fall as drawn
from baypulse.studies.leakdown.result import Falls, LeakDown, Trace, hole
from report_cases import BENCH

PSI = 6894.757293168


def tight() -> Falls:
    return Falls(3.0 * PSI, 1.5 * PSI, (3.0,), 0.2, 345.0)


CASES = {
    "small": BENCH,
    "gap": BENCH.replace("pull_off", 'clearance = "0.05 mm"\npull_off'),
    # a charge that just opens the bay
    "weak": BENCH.replace("1.00 g", "0.85 g"),
}


def record() -> Trace:
    time = np.arange(0.0, 10.0, 0.05)
    seen = fall(vessel_of(reads(BENCH)), 3e-7, 3.0 * PSI, time)
    noise = 40.0 * np.random.default_rng(1).normal(size=time.size)
    return Trace(time, seen + noise, 345.0, "gauge <b>.csv", ("Time is column t.",))


TESTS = {
    "small": ("small", tight),
    "gap": ("gap", tight),
    "record": ("small", record),
    "none": ("small", lambda: Falls(3.0 * PSI, 2.98 * PSI, (20.0,), 0.2, 345.0)),
    "open": ("weak", lambda: Falls(3.0 * PSI, 0.5 * PSI, (0.05,), 0.002, 345.0)),
}
"""The case, and what makes its test, which may ask for compiled code."""


@cache
def found(name: str) -> LeakDown:
    case, test = TESTS[name]
    return leakdown(reads(CASES[case], case), test(), members=64)


def flat(text: str) -> str:
    return " ".join(unescape(text).split())


def said(name: str) -> str:
    return flat(in_terminal.told(document(found(name)), full=True))


def test_text_says_area_hole_and_interval() -> None:
    leak, told = found("small"), said("small")
    for each in (leak.estimate.area, leak.estimate.low, leak.estimate.high):
        assert f"{1e6 * each:.3f} mm²" in told
    assert f"one round hole of {1e3 * float(hole(leak.estimate.area)):.3f} mm" in told
    # 0.65 pi d^2/4 of the hole is the area
    assert 0.65 * np.pi / 4.0 * hole(leak.estimate.area) ** 2 == pytest.approx(leak.estimate.area)


def test_leak_that_is_small_does_not_matter_and_an_open_one_does() -> None:
    small, wide = found("small"), found("open")
    assert words.matters(small) == words.NO
    assert small.gone < 0.01
    assert words.matters(wide) == words.YES
    assert wide.leaking.held < 0.9 * wide.tight.held
    assert wide.lost > 0
    assert wide.gone > 10.0 * small.gone
    # a leak that would need so much longer to empty the bay than the bay has is no leak
    assert small.bleed > 50.0 * small.gone_until


def test_only_a_bound_is_told_where_nothing_falls() -> None:
    leak = found("none")
    assert not leak.estimate.measurable
    assert "at most" in words.headline(leak)
    assert leak.leaking.area == leak.estimate.high
    entry = words.entry(leak, "one.toml")
    assert 'distribution = "uniform", low = "0 mm"' in entry.diameter


def test_gap_of_the_case_is_told_beside_the_leak() -> None:
    told = said("gap")
    assert "The case reckons with a gap around the shoulder that leaks as" in told
    # the hole through which the bay falls in the time that plane Poiseuille flow takes through the
    # ring: of V dp/dt = -W h^3 (p^2 - p0^2)/(24 mu L), with mu 1.79e-5 Pa s of air at 15 degC
    bay, p0 = vessel_of(found("gap").case), 101_325.0
    start, end = 3.0 * PSI, 1.5 * PSI
    logarithm = np.log(start * (2.0 * p0 + end) / (end * (2.0 * p0 + start)))
    ring = np.pi * 0.076 * 5e-5**3
    time = 12.0 * 1.79e-5 * 0.076 * bay.volume / (ring * p0) * logarithm
    expected = isothermal_area(bay, start, end, time)
    assert found("gap").clearance == pytest.approx(expected, rel=0.02)
    assert found("gap").given.result.numbers != found("gap").tight.result.numbers
    assert "reckons with no gap" in said("small")


def test_what_a_gap_would_do_in_place_of_the_hole_is_told_where_it_matters() -> None:
    # a charge whose pressure the pins do not set
    quick = Falls(3.0 * PSI, 1.5 * PSI, (0.04,), 0.004, 345.0)
    leak = leakdown(reads(BENCH.replace("1.00 g", "0.80 g")), quick, members=16)
    (said,) = [each for each in leak.warnings if "thin gap" in each]
    assert "were it all in the gap around the shoulder" in said
    assert not [each for each in found("small").warnings if "thin gap" in each]


def test_vents_that_may_not_have_been_plugged_are_warned_of() -> None:
    warned = " ".join(found("open").warnings)
    assert "if they were not plugged, they count twice" in warned
    assert "if they were not plugged" not in " ".join(found("small").warnings)


def test_record_says_its_noise_and_zero() -> None:
    leak = found("record")
    read = leak.estimate.readings
    assert read is not None
    assert read.noise == pytest.approx(40.0, rel=0.2)
    told = said("record")
    measured = as_json.numbers(document(leak))["tables"]["measured"]
    assert measured["zero_told"] is True
    assert "Time is column t." in told
    assert re.search(r"Readings +200 +Over +9\.95 s", told)
    # a ruler of 0.3 mm^2 went in
    assert leak.estimate.low < 3e-7 < leak.estimate.high


def test_settling_is_told() -> None:
    told = " ".join(words.settled(found("small")))
    # filling a rigid tank from the room to 3 psi warms its air by some 15 K, and so 5 % of its
    # absolute pressure goes by cooling: first law, worked out by hand
    assert "at least 15 K" in told
    drop = found("small").settling.drop
    assert drop == pytest.approx(0.05 * (101.3e3 + 3.0 * PSI), rel=0.05)
    assert found("small").estimate.fresh < found("small").estimate.area


def test_entry_has_no_line_breaks_and_reads() -> None:
    leak = found("record")
    assert isinstance(leak.test, Trace)
    odd = replace(leak, test=replace(leak.test, source="a\nb\x07.csv"))
    for remark in words.entry(odd, "c\nd.toml").remarks:
        assert remark.isprintable()


def test_comparison_has_a_line_a_case() -> None:
    table = compare([found("small"), found("open"), found("none")])
    assert [row[0] for row in table.rows] == ["small", "weak", "small"]
    bound = table.rows[2][1]
    assert bound.text.startswith("at most")
    # the hole's diameter, as in the rows above it, and not its area
    area = found("none").estimate.high
    assert 0.65 * np.pi / 4.0 * bound.value**2 == pytest.approx(area)
    assert [row[-1] for row in table.rows[:2]] == ["does not matter", "matters"]


def test_figure_names_what_it_shows() -> None:
    for name in ("gap", "record"):
        text = figure_files.svg(drawn(found(name)))
        # a text on several lines is several elements, one behind the other
        text = re.sub(r"</text>\s*<text[^>]*>", " ", text)
        for label in ("measured", "on the bench", "tight, 0 mm²", "fitted, and 95 % band"):
            assert f">{label}<" in text


def test_figure_has_the_areas_in_the_unit_that_comes_first() -> None:
    with quantities.written_in(quantities.US):
        text = figure_files.svg(drawn(found("gap")))
    assert ">tight, 0 in²<" in text
    assert "mm²" not in text
