"""The static rule gives the numbers that builders print. Common practice, no source."""

from __future__ import annotations

import math

import pytest

from baypulse.case import static_rule as rule
from baypulse.case.model import Bay, Joint, Nose, Pins, RulePressure
from baypulse.run.breakdown import static_rule
from tools import case

INCH, POUND_FORCE = 0.0254, 4.4482216152605
PSI = POUND_FORCE / INCH**2
AREA = 0.25 * math.pi * (3.9 * INCH) ** 2
LENGTH = 10.0 * INCH


def truncated(value: float, digits: int) -> float:
    """Return a value with the digits cut, not rounded, as the worked example prints it."""
    return math.floor(value * 10**digits) / 10**digits


def test_bore_of_3_9_inches_has_11_95_square_inches_and_10_psi_push_119_pounds() -> None:
    assert round(AREA / INCH**2, 2) == 11.95
    assert truncated(rule.force(10.0 * PSI, AREA) / POUND_FORCE, 0) == 119.0


def test_three_pins_of_64_24_pounds_together_ask_for_15_38_psi() -> None:
    pins = 64.24 * POUND_FORCE
    total = rule.force(10.0 * PSI, AREA) + pins
    assert round(total / POUND_FORCE, 2) == 183.70
    assert truncated(total / POUND_FORCE, 0) == 183.0
    assert round(total / AREA / PSI, 2) == 15.38


@pytest.mark.parametrize(("psi", "grams"), [(10.0, 0.62), (15.38, 0.95)])
def test_ten_inches_of_free_length_ask_for_the_printed_charge(psi: float, grams: float) -> None:
    mass = rule.charge_mass(psi * PSI, AREA * LENGTH)
    assert round(mass * 1e3, 2) == grams
    assert rule.pressure(mass, AREA * LENGTH) == pytest.approx(psi * PSI, rel=1e-12)


def test_whole_case_gives_the_same_worked_example() -> None:
    shoulder = 4.0 * INCH
    bench = case(
        bay=Bay(
            bore=3.9 * INCH, tube_length=LENGTH + shoulder, wall="fibre glass",
            wall_thickness=2e-3,
        ),
        contents=None, cord=None, nose=Nose(mass=1.0),
        joint=Joint(shoulder_length=shoulder, pull_off=10.0),
        pins=Pins(count=3, thread="#2-56", strength=64.24 / 3.0 * POUND_FORCE),
        rule=RulePressure(target=10.0 * PSI),
    )  # fmt: skip
    told = static_rule(bench)
    assert round(told.area / INCH**2, 2) == 11.95
    assert truncated(told.target_force / POUND_FORCE, 0) == 119.0
    assert round(told.needed_pressure / PSI, 2) == 15.38
    assert round(told.empty.target_mass * 1e3, 2) == 0.62
    assert round(told.empty.needed_mass * 1e3, 2) == 0.95
    # nothing is packed, so both readings of the volume are the same
    assert told.free == told.empty


def test_the_trade_divides_by_the_empty_bay_pack_and_all() -> None:
    # common practice, no source: p V/(R T) with the tube less shoulder and coupler; the other
    # reading takes the pack off
    bench = case(rule=RulePressure(target=15.0 * PSI))
    told = static_rule(bench)
    assert bench.contents is not None and bench.contents.volume is not None
    assert told.empty.volume - told.free.volume == pytest.approx(bench.contents.volume)
    for each in (told.empty, told.free):
        assert each.target_mass == pytest.approx(rule.charge_mass(15.0 * PSI, each.volume))
    assert told.empty.target_mass > told.free.target_mass
    assert told.empty.promised_pressure < told.free.promised_pressure
