"""The gap of a shoulder in a leak-down test against falls of the slow phase."""

from __future__ import annotations

import math

import numpy as np
import pytest

from baypulse.case import params
from baypulse.case.casefile import reads
from baypulse.case.held_value import with_value
from baypulse.engine.parameters import OUTSIDE
from baypulse.engine.slow import Network, follow
from baypulse.run.pumped_bay import fall, vessel_of
from baypulse.studies.leakdown.shoulder_gap import area_of_gap, gap_of_area, time_through_gap
from report_cases import BENCH

START, END = 20e3, 10e3
CASE = with_value(reads(BENCH, "bench"), "joint.clearance", 5e-5)
VESSEL = vessel_of(CASE)._replace(convection=1e7)
"""At one temperature."""


def test_time_through_the_gap_is_that_of_the_slow_phase() -> None:
    time = time_through_gap(CASE, VESSEL, START, END)
    network = Network(
        np.array([VESSEL.volume]), np.array([0]), np.array([OUTSIDE]),
        np.array([math.pi * 0.076 * 5e-5]), np.array([[5e-5, 0.076, params.LEAK_DISCHARGE]]),
        np.array([VESSEL.wall_area]), VESSEL.convection, VESSEL.temperature,
    )  # fmt: skip
    first = np.array([[VESSEL.pressure + START, VESSEL.temperature]])
    outside = np.full(2, VESSEL.pressure), np.full(2, VESSEL.temperature)
    found = follow(np.array([0.0, time]), *outside, network, first)
    assert found.pressure[-1, 0] - VESSEL.pressure == pytest.approx(END, rel=1e-3)


def test_the_hole_of_a_gap_falls_as_fast() -> None:
    area = area_of_gap(CASE, VESSEL, START, END)
    moment = np.array([0.0, time_through_gap(CASE, VESSEL, START, END)])
    assert fall(VESSEL, area, START, moment)[-1] == pytest.approx(END, rel=1e-3)
    # laminar: far less than an orifice of the gap's area
    assert area < 0.05 * math.pi * 0.076 * 5e-5
    assert area_of_gap(with_value(CASE, "joint.clearance", 0.0), VESSEL, START, END) == 0.0


def test_the_gap_is_found_back_from_its_hole() -> None:
    area = area_of_gap(CASE, VESSEL, START, END)
    found = gap_of_area(CASE, VESSEL, area, START, END)
    assert found == pytest.approx(5e-5, rel=1e-4)
    assert gap_of_area(CASE, VESSEL, 1.0, START, END) is None
