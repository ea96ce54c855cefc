"""Real separations: fitted runs beside the logs, and the cords that they must have had.

Source: raw logs of a university team, public repository
NCSU-High-Powered-Rocketry-Club/AirbrakesV2, launch_data (2025-26), seen; cut to the push in
``records/logs``. Tolerances are those that the pairs are asked to meet: 15 %, the rise a factor of
1.5, with charge, room, pins and friction free within what such a rocket can hold.
"""

from __future__ import annotations

import numpy as np
import pytest

from cold_gas_pairs import LARGE, SMALL, fitted_gas
from cord_jerks import JERKS, spans
from separations import (
    CHARGE,
    FREE,
    curve_miss,
    fitted,
    log,
    strongest,
)

PAIRS = ("separation-4in-pair", "separation-6in-pair")


@pytest.mark.parametrize("name", PAIRS)
@pytest.mark.parametrize(
    "quantity",
    ["relative_speed", "push_time", "rise_time", "release_pressure", "peak_pressure",
     "clear_pressure"],
)  # fmt: skip
def test_a_pair_is_met_with_what_such_a_rocket_can_hold(name: str, quantity: str) -> None:
    found = fitted(name)
    assert found.met(quantity), found.ratios[quantity]


@pytest.mark.parametrize("name", sorted(FREE))
def test_what_was_fitted_is_possible(name: str) -> None:
    found = fitted(name)
    low, high = FREE[name]
    assert low <= found.free <= high
    assert CHARGE[0] <= found.charge / found.usual <= CHARGE[1]


def test_the_single_event_can_be_met() -> None:
    found = fitted("separation-6in-aft")
    assert all(found.met(quantity) for quantity in found.ratios), found.ratios


@pytest.mark.parametrize("name", PAIRS)
def test_the_greatest_force_on_the_aft_piece_was_not_fitted_and_is_met(name: str) -> None:
    # read from the log's own samples; the fit knows pressures and the relative speed
    measured, computed = strongest(name, fitted(name).result)
    assert computed == pytest.approx(measured, rel=0.15)


@pytest.mark.xfail(
    strict=True,
    reason="0.22 and 0.27 of the peak: pins that fail let go in 3 ms, the logs' push grows over 6",
)
@pytest.mark.parametrize("name", PAIRS)
def test_the_aft_piece_follows_its_log_through_the_push(name: str) -> None:
    # a fifth of the peak, by root mean square over the whole push
    assert curve_miss(name, fitted(name).result) < 0.2


@pytest.mark.parametrize("name", PAIRS)
def test_both_pieces_of_a_pair_take_the_same_push(name: str) -> None:
    # momentum: the logs' own masses are from the ratio of both changes of speed, as records.md
    # has them; integrals of the samples give that ratio again (a bad cut would not)
    changes = []
    for piece in ("aft", "forward"):
        record = log(f"{name}-{piece}")
        push = (record.time > -0.010) & (record.time < 0.060)
        changes.append(float(np.trapezoid(record.force[push], record.time[push])))
    expected = {PAIRS[0]: (-3.83, 4.01), PAIRS[1]: (-5.75, 4.17)}[name]
    assert changes == pytest.approx(expected, rel=0.10)


@pytest.mark.parametrize("jerk", JERKS, ids=lambda jerk: jerk.name)
def test_delay_and_jerk_follow_from_a_nylon_cord_of_a_possible_length(jerk) -> None:  # type: ignore[no-untyped-def]
    # two to six times the length of such rockets (2 to 3 m): common practice, no source
    (short, long), (light, hard) = spans(jerk)
    assert short > 6.0 and long < 18.0
    low, high = jerk.load
    assert light < low and high < hard


def test_a_cartridge_of_compressed_gas_would_not_part_the_six_inch_pair() -> None:
    assert not fitted_gas("separation-6in-pair", SMALL).met


@pytest.mark.parametrize(
    ("name", "bottle"), [("separation-4in-pair", SMALL), ("separation-6in-pair", LARGE)]
)
def test_compressed_gas_meets_the_pairs_as_well_as_powder_does(name: str, bottle: float) -> None:
    # so that the logs do not say what the source was: whatever is learnt from them as powder rests
    # on the guess that it was powder
    found = fitted_gas(name, bottle)
    assert found.met, found.ratios
