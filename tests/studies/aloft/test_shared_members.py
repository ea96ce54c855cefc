"""Members shared by variants of a case: one score for what they share."""

from __future__ import annotations

import numpy as np

from baypulse.case.casefile import reads
from baypulse.members.factors import factors
from baypulse.studies.aloft.altitude_case import cold_factors, lifted
from baypulse.studies.aloft.gas_sources import other_powder, trial_gas
from baypulse.studies.aloft.shared_members import SharedMembers
from report_cases import BENCH


def test_what_variants_share_is_the_same_and_what_differs_is_its_own() -> None:
    home = reads(BENCH, "bay")
    other = other_powder(home)
    assert other is not None
    gas = trial_gas(home)
    variants = [each for one in (home, other.case, gas) for each in (one, lifted(one, 14e3))]
    shared = SharedMembers(variants, cold_factors(home), 300, 5)
    drawn = [shared.values(case) for case in variants]
    for values, case in zip(drawn, variants, strict=True):
        assert set(values) == {path for factor in factors(case) for path in factor.paths}
        for path, column in values.items():
            for others in drawn:
                if path in others:
                    assert np.array_equal(column, others[path]), path
    # thin air acts on the loose powder up there, on nothing else
    thin = "library.powders.3F.thin_air_full"
    assert [thin in values for values in drawn] == [False, True, False, False, False, False]
    assert "holder.burst" in drawn[2]
    assert drawn[4]["cold_gas.pressure"].std() > 0.0


def test_columns_are_apart_and_members_can_be_left_out() -> None:
    home = reads(BENCH, "bay")
    shared = SharedMembers([home], cold_factors(home), 512, 5)
    values = shared.values(home, cold_factors(home))
    columns = np.stack([column for column in values.values() if column.ndim == 1])
    ranks = columns.argsort(axis=1).argsort(axis=1)
    apart = np.corrcoef(ranks) - np.eye(len(ranks))
    assert np.abs(apart).max() < 0.2  # 512 independent members: 4.5 standard deviations
    gone = np.arange(512) % 4 == 0
    shared.leave_out(gone)
    assert shared.members == 384
    for path, column in shared.values(home).items():
        assert np.array_equal(column, values[path][~gone])
