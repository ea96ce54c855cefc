"""Verdicts and the sentences that go with them."""

from dataclasses import replace

import numpy as np
import pytest

from baypulse.case.model import (
    Airframe,
    Bay,
    Case,
    ColdGas,
    Holder,
    Joint,
    Nose,
    Opening,
    Pins,
    Powder,
    Setting,
)
from baypulse.run.simulation import simulate


def bay(mass: float = 0.5e-3, **changes: object) -> Case:
    fields: dict = {
        "name": "bay", "title": "bay", "powder": Powder(grade="3F", mass=mass),
        "bay": Bay(bore=0.075, tube_length=0.3, wall="fibre glass", wall_thickness=2e-3),
        "nose": Nose(mass=0.6), "airframe": Airframe(mass=2.0),
        "joint": Joint(shoulder_length=0.075, pull_off=25.0),
        "pins": Pins(count=3, thread="#2-56"),
    }  # fmt: skip
    return Case(**(fields | changes))


def test_the_verdict_follows_the_charge() -> None:
    verdicts = [simulate(bay(mass)).verdict for mass in (0.02e-3, 0.5e-3)]
    assert verdicts == ["no separation", "separates"]


def test_a_limit_turns_opens_into_opens_hard() -> None:
    case = bay()
    numbers = simulate(case).numbers
    velocity = numbers.greatest_velocity
    assert velocity is not None and numbers.clear_velocity is not None
    # the gas still pushes after the shoulder is clear: the limit is on the greatest velocity
    assert numbers.clear_velocity < 0.99 * velocity
    for limit, verdict in ((1.01 * velocity, "separates"), (0.99 * velocity, "separates too hard")):
        result = simulate(replace(case, limits=replace(case.limits, separation_velocity=limit)))
        assert result.verdict == verdict
        assert ("1.01 times its limit" in " ".join(result.reasons)) == (
            verdict == "separates too hard"
        )


def test_a_weak_tube_tears_before_its_pins_shear() -> None:
    thin = replace(bay().bay, wall="card", wall_thickness=2e-4)
    pins = Pins(count=3, thread="#6-32")
    result = simulate(bay(bay=thin, pins=pins))
    assert result.tears_wall and any("tears at the pin holes" in r for r in result.reasons)
    assert not simulate(bay()).tears_wall


def test_a_holder_that_never_bursts_is_told() -> None:
    result = simulate(bay(holder=Holder(volume=8e-6, burst=5e7, opening=0.01)))
    assert result.verdict == "no separation"
    assert "the holder never burst" in result.reasons


def test_drag_that_parts_the_sections_before_the_spark_is_told() -> None:
    # a tight bay would be held by its own suction, so it has a wide vent
    case = bay(
        openings=(Opening(name="vent", diameter=0.02),),
        pins=None, joint=Joint(shoulder_length=0.075, pull_off=2.0),
        airframe=Airframe(mass=2.0, drag=300.0), setting=Setting(kind="flight"),
        powder=Powder(grade="3F", mass=0.5e-3, ignition_delay=0.5),
    )  # fmt: skip
    result = simulate(case)
    assert result.numbers.clear_time is not None and result.numbers.clear_time < 0.5
    assert any("before the charge fires" in reason for reason in result.reasons)


def test_contents_stay_in_for_the_right_reason() -> None:
    from baypulse.case.model import Contents, Cord

    def packed(**cord: object) -> Case:
        fields = {"type": "tubular nylon 1/2 in", "length": 3.0} | cord
        return bay(contents=Contents(mass=0.2, volume=3e-4), cord=Cord(**fields))

    assert simulate(packed()).contents == "comes out"
    short = simulate(packed(length=0.5, nose_share=1.0))
    assert short.contents == "stays in" and "too short for its packing" in " ".join(short.reasons)
    stuck = simulate(
        replace(packed(), contents=Contents(mass=0.2, volume=3e-4, extraction_force=2000.0))
    )
    assert stuck.contents == "stays in" and "too little speed" in " ".join(stuck.reasons)


@pytest.mark.parametrize("count", [1, 3, 6])
def test_pins_that_share_a_load_fail_together(count: int) -> None:
    result = simulate(bay(1e-3, pins=Pins(count=count, thread="#2-56")))
    times = [
        e.time for e in result.events if e.name.startswith("pin ") and e.name.endswith("fails")
    ]
    assert len(times) == count and max(times) - min(times) < 1e-9


def test_a_short_pulse_that_moved_the_joint_a_little_is_told_so() -> None:
    wide = Opening(name="hole", diameter=20e-3)
    result = simulate(bay(0.6e-3, nose=Nose(mass=60.0), pins=None, openings=(wide,)))
    share = result.numbers.peak_pressure / result.numbers.pin_pressure
    assert result.verdict == "no separation" and share > 1.0
    assert (
        f"{100.0 * share:.0f} % of the pressure that overcomes friction, but so briefly"
        in (result.reasons[0])
    )


def test_a_zone_without_gas_has_no_temperature() -> None:
    curves = simulate(bay()).curves
    cold = curves["cold_temperature"].values
    empty = np.isnan(cold)
    assert (cold[~empty] > 200.0).all()
    assert (curves["cold_air_mass"].values[empty] < 1e-9).all()


def test_a_slow_source_is_followed_to_its_end() -> None:
    gas = ColdGas(gas="nitrogen", volume=90e-6, pressure=2.0e6, orifice=0.1e-3)
    result = simulate(bay(powder=None, cold_gas=gas))
    assert result.good and result.curves["time"].values[-1] > 20.0
    assert result.verdict != "undecided"
