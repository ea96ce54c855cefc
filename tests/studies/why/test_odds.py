"""Bayes' rule of the diagnosis on made-up members, against closed forms and a bootstrap."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest

from baypulse.case.casefile import reads
from baypulse.engine.ensemble import COLUMNS
from baypulse.members.outcomes import Outcomes
from baypulse.observed.cause_ensemble import CauseEnsemble
from baypulse.observed.causes import Cause
from baypulse.observed.sighting_odds import Traces
from baypulse.observed.sightings import Sighting, SightingKind, answered, kinds
from baypulse.studies.why.cause_file import CauseError, CauseList
from baypulse.studies.why.compute import (
    CausePosterior,
    PreparedDiagnosis,
    _wanted,
    diagnose,
    posterior,
)
from report_cases import BENCH

TEST = SightingKind("test", "a test", "made up", ("positive", "negative"), wrong=0.0)
OTHER = replace(TEST, name="other")


def made_up(
    odds: Sequence[float],
    chances: Sequence[Sequence[float]],
    none: float = 0.0,
    kind: SightingKind = TEST,
) -> PreparedDiagnosis:
    """Return causes with these odds; a row of chances of the first answer for each's members."""
    case = reads(BENCH, "bench")
    groups, answers = [], []
    for k, (each, row) in enumerate(zip(odds, chances, strict=True)):
        size = len(row)
        nothing = Outcomes(
            {"powder.mass": np.full(size, 0.5e-3)}, np.full((size, len(COLUMNS)), np.nan),
            np.zeros(size), np.zeros(size), np.zeros((size, 1), dtype=bool),
        )  # fmt: skip
        cause = Cause(f"cause {k}", "made up", each, "made up", (), (), False)
        groups.append(
            CauseEnsemble((cause,), case, nothing.values, nothing, np.ones(size, dtype=bool))
        )
        answers += [(chance, 1.0 - chance) for chance in row]
    table = np.array(answers)
    seen = Traces(
        {}, {kind.name: table, OTHER.name: table[:, ::-1]}, {}, np.ones(len(answers), dtype=bool)
    )
    listed = CauseList(tuple(each.causes[0] for each in groups), none, "else", "made up")
    return PreparedDiagnosis(case, listed, tuple(groups), seen, max(map(len, chances)), 0, 1)


def test_a_textbook_example() -> None:
    """A disease of 1 in 100, found with 99 %, falsely with 5 %: 0.0099/0.0594 = 1/6.

    The example stands, with numbers of this kind, in any text on probability (from memory).
    """
    ill = made_up([1.0, 99.0], [[0.99] * 4, [0.05] * 7])
    assert posterior(ill, [answered(TEST, 0)]).share == pytest.approx([1 / 6, 5 / 6, 0.0])


def test_members_with_different_answers_count_by_their_number() -> None:
    """3 of 4 members of one cause answer yes, 1 of 2 of the other: 3/4 : 1/2 at even odds."""
    found = posterior(made_up([1.0, 1.0], [[1, 1, 1, 0], [1, 0]]), [answered(TEST, 0)])
    assert found.share[:2] == pytest.approx([0.6, 0.4])
    assert found.ess == pytest.approx([3.0, 1.0])


def test_effective_members_are_one_over_the_sum_of_squared_weights() -> None:
    """Weights 1/2, 1/3, 1/6: 1/(1/4 + 1/9 + 1/36) = 18/7 (Kish's formula, from memory)."""
    prepared = made_up([1.0], [[0.9, 0.6, 0.3]])
    assert posterior(prepared, [answered(TEST, 0)]).ess[0] == pytest.approx(18 / 7)
    kept = diagnose(prepared, [answered(TEST, 0)]).ensembles["cause 0"]
    assert kept.weights == pytest.approx([1 / 2, 1 / 3, 1 / 6])


def test_none_of_these_is_as_likely_whatever_is_seen() -> None:
    """Half and half before; a cause that gives the answer with 0.8 against 1/2 of any answer."""
    found = posterior(made_up([1.0], [[0.8] * 3], none=0.5), [answered(TEST, 0)])
    assert found.share == pytest.approx([0.8 / 1.3, 0.5 / 1.3])
    # and it is all that is left when no cause can give the answer
    found = posterior(made_up([1.0], [[0.0] * 3], none=0.01), [answered(TEST, 0)])
    assert found.share == pytest.approx([0.0, 1.0])


def test_a_sighting_that_a_cause_cannot_give_rules_it_out() -> None:
    found = posterior(made_up([5.0, 1.0], [[0.0, 0.0], [1.0, 1.0]]), [answered(TEST, 0)])
    assert found.share == pytest.approx([0.0, 1.0, 0.0])


def test_without_sightings_the_odds_stay() -> None:
    prepared = made_up([2.0, 1.0, 1.0], [[0.1, 0.9], [0.3] * 3, [0.5]], none=0.2)
    found = posterior(prepared, [])
    assert found.share == pytest.approx([0.4, 0.2, 0.2, 0.2])
    assert found.share == pytest.approx(found.prior)
    assert found.error == pytest.approx(np.zeros(4), abs=1e-12)
    coin = replace(TEST, wrong=0.5)
    assert posterior(prepared, [answered(coin, 0)]).share == pytest.approx(found.prior)


def test_the_order_of_sightings_does_not_matter() -> None:
    prepared = made_up([2.0, 1.0], [[0.1, 0.9, 0.4], [0.3, 0.8, 0.2]], none=0.05)
    said = [answered(replace(TEST, wrong=0.1), 0), answered(replace(OTHER, wrong=0.2), 1)]
    one, two = posterior(prepared, said), posterior(prepared, said[::-1])
    assert one.share == pytest.approx(two.share, rel=1e-13)
    # and both together are not each by itself: they come from the same member
    assert one.evidence[0] == pytest.approx(np.mean([(.1*.9+.9*.1)*(.1*.8+.9*.2), (.9*.9+.1*.1)*(.9*.8+.1*.2), (.4*.9+.6*.1)*(.4*.8+.6*.2)]))  # fmt: skip # noqa: E501


def test_odds_can_be_replaced() -> None:
    prepared = made_up([1.0, 1.0], [[0.5], [0.5]], none=0.1)
    share = posterior(prepared, [], {"cause 0": 3.0, "none of these": 0.2}).share
    assert share == pytest.approx([0.6, 0.2, 0.2])
    with pytest.raises(CauseError, match='no cause "cause 9"'):
        posterior(prepared, [], {"cause 9": 3.0})
    with pytest.raises(CauseError, match="above 0"):
        posterior(prepared, [], {"cause 0": 0.0})


def test_standard_errors_are_those_of_a_bootstrap() -> None:
    """400 members drawn anew 2000 times (Efron's bootstrap), all causes by the same indices."""
    rng = np.random.default_rng(5)
    common = rng.random(400)
    rows = [common**3, 0.5 * common + 0.2 * rng.random(400), 0.3 * rng.random(400)]
    prepared = made_up([1.0, 0.5, 2.0], [list(row) for row in rows], none=0.1)
    found = posterior(prepared, [answered(TEST, 0)])
    picks = rng.integers(400, size=(2000, 400))
    parts = [prior * row[picks].mean(axis=1)
             for prior, row in zip(found.prior, rows, strict=False)]  # fmt: skip
    each = np.stack([*parts, np.full(2000, found.prior[-1] * 0.5)])
    spread = (each / each.sum(axis=0)).std(axis=1)
    assert found.error == pytest.approx(spread, rel=0.08)


def test_few_members_that_do_the_same_leave_something_open() -> None:
    """The one that would fit may not have been drawn: of 8, an eighth of half of what fits best."""

    def unseen(size: int) -> CausePosterior:
        rows = [[0.0] * size, [1.0] * 400]
        return posterior(made_up([1.0, 1.0], rows), [answered(TEST, 0)])

    few, many = unseen(8), unseen(800)
    assert few.share[0] == 0.0
    assert few.error[0] == pytest.approx(0.5 / 8)
    assert few.left_open[0] == pytest.approx(few.error[0])
    assert many.error[0] == pytest.approx(few.error[0] / 100.0)
    # and the bootstrap's part of the error is left open too
    mixed = posterior(made_up([1.0, 1.0], [[0.0, 1.0] * 50, [1.0] * 400]), [answered(TEST, 0)])
    part = 0.5 * math.hypot(0.5 / math.sqrt(100.0), 0.5 / 100.0) / 0.75
    assert mixed.left_open[0] == pytest.approx(part)


def test_members_follow_where_most_is_left_open() -> None:
    rows = [[0.0, 1.0] * 8, [1.0] * 16, [0.0, 1.0] * 8]
    prepared = made_up([1.0, 1.0, 0.2], rows)
    open_to = posterior(prepared, [answered(TEST, 0)]).left_open
    assert _wanted(prepared, open_to, 1000) == {
        0: range(16, 64), 1: range(16, 64), 2: range(16, 64)
    }  # fmt: skip
    # no more than are left, and none where hardly anything is
    assert _wanted(prepared, open_to, 50) == {0: range(16, 64)}
    assert _wanted(prepared, 0.01 * open_to, 1000) == {}


def test_shares_add_up_and_are_ranked() -> None:
    prepared = made_up([1.0, 4.0, 2.0], [[0.9, 0.5], [0.1, 0.2], [0.7, 0.7]], none=0.05)
    found = diagnose(prepared, [answered(TEST, 0)])
    assert sum(found.shares.values()) == pytest.approx(1.0)
    shares = [each.share for each in found.causes]
    assert shares == sorted(shares, reverse=True)
    for each in (*found.causes, found.none):
        assert each.low <= each.share <= each.high
    # 0.7 of that cause against 1/2 of anything
    assert found.causes[0].name == "cause 2"
    assert found.causes[0].seen == pytest.approx((1.4,))
    assert math.isnan(found.none.ess)


def test_a_number_beyond_all_is_not_possible_under_none_of_these() -> None:
    kind = kinds()["velocity"]
    assert kind.anything(1e4) == 0.0
    assert Sighting(kind, "", value=6.0).kind.anything(6.0) > 0.0
