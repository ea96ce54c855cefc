"""Sources of gas that are set beside the case's own."""

from __future__ import annotations

import math

import pytest

from aloft_findings import CASES
from baypulse.case import geometry
from baypulse.case.casefile import consistency, reads
from baypulse.studies.aloft import gas_sources
from baypulse.studies.aloft.gas_sources import COLD_GAS, HOLDER, LOOSE
from report_cases import BENCH


@pytest.mark.parametrize(
    ("name", "own", "other"), [("loose", LOOSE, HOLDER), ("held", HOLDER, LOOSE)]
)
def test_powder_is_set_beside_itself_the_other_way(name: str, own: str, other: str) -> None:
    case = reads(CASES[name], name)
    assert gas_sources.own_source(case) == gas_sources.Source(own, case, True, "")
    found = gas_sources.other_powder(case)
    assert found is not None
    assert (found.name, found.own) == (other, False)
    assert found.case.powder == case.powder
    assert (found.case.holder is None) == (other == LOOSE)
    assert not any(consistency.problems(found.case))
    # the holder takes its room from the bay
    held = case if found.case.holder is None else found.case
    assert held.holder is not None
    apart = geometry.free_volume(case).total - geometry.free_volume(found.case).total
    assert abs(apart) == pytest.approx(held.holder.volume)


def test_tried_holder_by_hand() -> None:
    # 1.00 g at 1 g/cm^3 and a tenth more room; 60 psi; 0.9 of the width of a can as wide as long
    found = gas_sources.other_powder(reads(BENCH, "bay"))
    assert found is not None and found.case.holder is not None
    holder = found.case.holder
    assert holder.volume == pytest.approx(1.1e-6)
    assert holder.burst == pytest.approx(60.0 * 6894.757, rel=1e-6)
    assert math.pi / 4.0 * (holder.opening / 0.9) ** 3 == pytest.approx(1.1e-6)
    assert found.case.spreads["holder.burst"].deviation == pytest.approx(15.0 * 6894.757, rel=1e-6)
    assert "estimates" in found.assumed


def test_tried_reservoir_by_hand() -> None:
    home = reads(BENCH, "bay")
    found = gas_sources.filled(gas_sources.trial_gas(home), 3e6)
    gas = found.cold_gas
    assert gas is not None
    assert found.powder is None
    assert not any(consistency.problems(found))
    assert gas.volume == pytest.approx(0.08 * geometry.free_volume(home).total)
    # choked nitrogen at 15 degC: 0.58 of 346 m/s leaves through 0.8 of the hole; 15 ms
    assert gas.volume / (0.8 * math.pi / 4.0 * gas.orifice**2 * 0.58 * 346.0) == pytest.approx(
        0.015, rel=0.02
    )
    assert found.spreads["cold_gas.pressure"].deviation == pytest.approx(0.03 * 3e6)
    told = gas_sources.gas_source(found, 2.5)
    assert told.name == COLD_GAS
    assert "2.50 times the least" in told.assumed


def test_case_of_cold_gas_has_no_other_powder() -> None:
    case = reads(CASES["cold gas"], "gas")
    assert gas_sources.own_source(case).name == COLD_GAS
    assert gas_sources.other_powder(case) is None
