"""Members: points, marginals, correlations, and that a row is a case like any other."""

from __future__ import annotations

import math
import re
import warnings
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import special, stats
from scipy.stats import qmc

from baypulse.case import geometry, library, params
from baypulse.case.casefile import read, reads
from baypulse.case.casefile.keys import value_at
from baypulse.case.casefile.spreads import shares_cut
from baypulse.case.explanation import explain
from baypulse.case.model import Case, Spread
from baypulse.case.spaces import spaces
from baypulse.engine.parameters import RECORD, pack
from baypulse.errors import RangeWarning
from baypulse.members import draws
from baypulse.members.draws import BLOCK
from baypulse.members.factors import Factor, dimensions, factors
from baypulse.run.simulation import simulate

PATHS = sorted((Path(__file__).parents[2] / "cases").glob("*.toml"))
BENCH = (Path(__file__).parents[2] / "cases" / "bench-76.toml").read_text(encoding="utf-8")
PULL = re.compile(r"pull_off = \{.*\}")
THREAD = 'thread = "#2-56"'


def quietly(text: str) -> Case:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", RangeWarning)
        return reads(text)


def pulling(scatter: str) -> Case:
    """Return the bench case with another scatter of the pull-off force."""
    return quietly(PULL.sub(f"pull_off = {{ {scatter} }}", BENCH))


def shipped(path: Path) -> Case:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", RangeWarning)  # of loose powder in thin air
        return read(path)


def drawn(case: Case, blocks: int = 8, sampling: str = "sobol") -> dict[str, np.ndarray]:
    """Return the values of several blocks, one below the other."""
    found = factors(case)
    parts = [
        draws.values(case, found, draws.unit_points(7, block, dimensions(found), sampling))
        for block in range(blocks)
    ]
    return {path: np.concatenate([part[path] for part in parts]) for path in parts[0]}


# --- points --------------------------------------------------------------------------------


@pytest.mark.parametrize("sampling", draws.SAMPLINGS)
def test_every_column_has_a_point_in_every_cell(sampling: str) -> None:
    for block in (0, 1, 12345):
        u = draws.unit_points(3, block, 50, sampling)
        assert u.shape == (BLOCK, 50)
        assert u.min() > 0.0 and u.max() < 1.0
        cells = np.sort(np.floor(u * BLOCK).astype(int), axis=0)
        assert np.array_equal(cells, np.repeat(np.arange(BLOCK)[:, None], 50, axis=1))


def test_two_columns_are_a_net() -> None:
    """The first two columns of Sobol' points are a (0, 10, 2)-net in base 2.

    Every elementary interval of volume 2^-10 holds one point, and scrambling keeps that: Sobol'
    1967, Owen 1995 (both from memory).
    """
    u = draws.unit_points(11, 4, 6)[:, :2]
    for power in range(11):
        sides = np.array([2**power, 2 ** (10 - power)])
        cells = np.floor(u * sides).astype(int)
        assert np.unique(cells @ [sides[1], 1]).size == BLOCK


def test_points_fill_the_cube_better_than_random_ones() -> None:
    def discrepancy(u: np.ndarray) -> float:
        return qmc.discrepancy(u, method="CD")

    random = np.random.default_rng(1).random((BLOCK, 8))
    assert discrepancy(draws.unit_points(1, 0, 8)) < 0.2 * discrepancy(random)


def test_digits_behind_the_cells_are_random() -> None:
    u = draws.unit_points(5, 2, 40)
    within = (u * BLOCK) % 1.0
    assert stats.kstest(within.ravel(), "uniform").pvalue > 1e-3
    assert np.abs(np.corrcoef(within.T) - np.eye(40)).max() < 0.15


@pytest.mark.parametrize("sampling", draws.SAMPLINGS)
def test_a_block_is_the_same_whenever_it_is_made(sampling: str) -> None:
    ahead = {block: draws.unit_points(9, block, 12, sampling) for block in (0, 1, 2, 700)}
    for block in (700, 2, 0, 1):
        assert np.array_equal(draws.unit_points(9, block, 12, sampling), ahead[block])
    assert not np.array_equal(ahead[0], draws.unit_points(10, 0, 12, sampling))


def test_means_of_blocks_are_unbiased_and_independent() -> None:
    """The mean of exp(a z), z standard normal, is exp(a^2/2); of several columns the product."""
    factors = np.array([0.9, 0.6, 0.4, 0.3, 0.2])
    expected = math.exp(0.5 * float(factors @ factors))
    means = np.array(
        [np.exp(stats.norm.ppf(draws.unit_points(2, b, 5)) @ factors).mean() for b in range(256)]
    )
    error = means - expected
    assert abs(error.mean()) < 4.0 * error.std() / 16.0
    assert abs(np.corrcoef(error[1:], error[:-1])[0, 1]) < 4.0 / 16.0
    plain = expected * math.sqrt(math.exp(float(factors @ factors)) - 1.0) / math.sqrt(BLOCK)
    assert error.std() < 0.35 * plain  # what 1024 random members would give


def test_a_case_without_scatter_has_no_columns() -> None:
    assert draws.unit_points(1, 0, 0).shape == (BLOCK, 0)
    case = replace(pulling('value = "22 N"'), spreads={})
    found = draws.values(case, [], draws.unit_points(1, 0, 0))
    assert found == {}
    records, P = draws.records(case, found)
    assert records.shape == (BLOCK,)
    assert np.unique(records.friction).tolist() == [22.0]
    assert draws.possible(P).all()


def test_another_sampling_is_refused() -> None:
    with pytest.raises(ValueError, match='"sobol" or "latin", not "random"'):
        draws.unit_points(1, 0, 3, "random")


# --- marginals -----------------------------------------------------------------------------


def truncated(whole: Any, low: float, high: float) -> tuple[Any, float, float]:
    """Return the distribution function, mean and deviation of a distribution that is cut."""
    ends = whole.cdf(low), whole.cdf(high)
    # moments by quantiles at the middles of a million equal shares
    shares = ends[0] + (ends[1] - ends[0]) * (np.arange(1_000_000) + 0.5) / 1_000_000
    values = whole.ppf(shares)

    def below(x: np.ndarray) -> np.ndarray:
        return np.clip((whole.cdf(x) - ends[0]) / (ends[1] - ends[0]), 0.0, 1.0)

    return below, float(values.mean()), float(values.std())


def lognormal(median: float, deviation: float) -> Any:
    """Return scipy's log-normal of a median and a standard deviation, its shape by bisection."""
    low, high = 1e-6, 5.0
    for _ in range(200):
        shape = 0.5 * (low + high)
        too_wide = stats.lognorm(shape, scale=median).std() > deviation
        low, high = (low, shape) if too_wide else (shape, high)
    return stats.lognorm(shape, scale=median)


WIDE = (0.0, 5e3)
MARGINALS = [
    ('value = "22 N", spread = "2 N"', stats.norm(22, 2), WIDE),
    ('value = "22 N", spread = "22 N"', stats.norm(22, 22), WIDE),
    ('value = "22 N", spread = "6 N", low = "20 N", high = "50 N"', stats.norm(22, 6), (20, 50)),
    ('value = "22 N", spread = "20 %", distribution = "log-normal"', lognormal(22, 4.4), WIDE),
    ('value = "22 N", spread = "70 %", distribution = "log-normal", low = "8 N", high = "60 N"',
     lognormal(22, 15.4), (8, 60)),
    ('value = "22 N", distribution = "uniform", low = "18 N", high = "30 N"',
     stats.uniform(18, 12), WIDE),
    ('value = "22 N", distribution = "triangular", low = "18 N", high = "30 N"',
     stats.triang(4 / 12, 18, 12), WIDE),
    ('value = "18 N", distribution = "triangular", low = "18 N", high = "30 N"',
     stats.triang(0.0, 18, 12), WIDE),
]  # fmt: skip


@pytest.mark.parametrize(("scatter", "whole", "cut"), MARGINALS)
@pytest.mark.parametrize("sampling", draws.SAMPLINGS)
def test_marginals_are_those_of_scipy(
    scatter: str, whole: Any, cut: tuple[float, float], sampling: str
) -> None:
    values = drawn(pulling(scatter), sampling=sampling)["joint.pull_off"]
    below, mean, deviation = truncated(whole, *cut)
    assert cut[0] <= values.min() and values.max() <= cut[1]
    # a block has one member in every cell, so no step is further off than a cell
    assert stats.ks_1samp(values, below).statistic <= 1.0 / BLOCK + 1e-12
    # the members of the outermost cells scatter over half a deviation: 0.5/1024/sqrt(8) at most
    assert values.mean() == pytest.approx(mean, abs=1e-3 * deviation)
    assert values.std() == pytest.approx(deviation, rel=3e-3)


def test_the_spread_of_a_lognormal_is_its_standard_deviation_and_the_value_its_median() -> None:
    values = drawn(pulling(MARGINALS[3][0]), blocks=32)["joint.pull_off"]
    assert np.median(values) == pytest.approx(22.0, rel=1e-4)
    assert values.std() == pytest.approx(4.4, rel=2e-3)


def test_a_sample_is_drawn_as_it_is() -> None:
    case = pulling('sample = ["20 N", "27 N", "22 N", "22 N"]')
    values, counts = np.unique(drawn(case)["joint.pull_off"], return_counts=True)
    assert values.tolist() == [20.0, 22.0, 27.0]
    assert counts.tolist() == [2 * BLOCK, 4 * BLOCK, 2 * BLOCK]


def test_the_librarys_values_are_cut_normals_and_log_normals_where_wide() -> None:
    found = drawn(pulling('value = "22 N"'))
    ceiling = found["library.powders.3F.burnable_fraction"]
    share = library.fact("powders.3F.burnable_fraction")
    below, mean, deviation = truncated(stats.norm(share.value, share.spread), 0.0, 1.0)
    assert stats.ks_1samp(ceiling, below).statistic <= 1.0 / BLOCK + 1e-12
    assert ceiling.mean() == pytest.approx(mean, abs=1e-3 * deviation)
    slope = found["library.pin materials.nylon 6/6.temperature_slope"]
    below, *_ = truncated(stats.norm(-0.008, 0.0032), -np.inf, 0.0)
    assert stats.ks_1samp(slope, below).statistic <= 1.0 / BLOCK + 1e-12
    time = found["library.powders.3F.bed_time"]
    # the value is the median; w = exp(s^2) is the root of w (w - 1) = (deviation/median)^2
    fact = library.fact("powders.3F.bed_time")
    w = 0.5 + math.sqrt(0.25 + (fact.spread / fact.value) ** 2)
    wide = stats.lognorm(math.sqrt(math.log(w)), scale=fact.value)
    assert wide.std() == pytest.approx(fact.spread, rel=1e-12)
    assert stats.ks_1samp(time, wide.cdf).statistic <= 1.0 / BLOCK + 1e-12


def pull_at(case: Case, z: np.ndarray) -> np.ndarray:
    """Return the pull-off force at normal scores of it alone."""
    alone = [replace(f, columns=(0,)) for f in factors(case) if f.name == "joint.pull_off"]
    return draws.from_scores(case, alone, z[:, None])["joint.pull_off"]


def test_tails_are_exact_to_eight_deviations() -> None:
    z = np.linspace(-8.0, 8.0, 65)
    case = pulling('value = "22 N", spread = "6 N", low = "2 N", high = "70 N"')
    got = (pull_at(case, z) - 22.0) / 6.0
    middle = np.abs(z) < 4.5
    whole = stats.truncnorm(-20 / 6, 8)
    assert got[middle] == pytest.approx(whole.ppf(stats.norm.cdf(z[middle])), abs=1e-7)
    # further out scipy's own inverse loses digits: its logarithms of the shares do not
    a, b = -20 / 6, 8.0
    inside = math.log1p(-special.ndtr(a) - special.ndtr(-b))
    for score, ours in zip(z, got, strict=True):
        cut, side = (a, 1.0) if score < 0.0 else (-b, -1.0)
        share = np.logaddexp(special.log_ndtr(cut), special.log_ndtr(-abs(score)) + inside)
        assert special.log_ndtr(side * ours) == pytest.approx(share, rel=1e-13, abs=1e-14)
    uniform = pull_at(
        pulling('value = "22 N", distribution = "uniform", low = "18 N", high = "30 N"'), z
    )
    assert uniform - 18.0 == pytest.approx(12.0 * stats.norm.cdf(z), rel=1e-9, abs=1e-14)
    corner = pull_at(
        pulling('value = "22 N", distribution = "triangular", low = "18 N", high = "30 N"'), z
    )
    # a triangle's shares are squares: (x - a)^2/(b - a)/(c - a) below, alike above
    lower, upper = (corner - 18.0) ** 2 / (12.0 * 4.0), (30.0 - corner) ** 2 / (12.0 * 8.0)
    assert lower[z < -1] == pytest.approx(stats.norm.cdf(z[z < -1]), rel=1e-6)
    assert upper[z > 0] == pytest.approx(stats.norm.sf(z[z > 0]), rel=1e-6)


def test_points_and_scores_mean_the_same() -> None:
    case = shipped(PATHS[4])
    found = factors(case)
    u = draws.unit_points(2, 1, dimensions(found))
    from_points = draws.values(case, found, u)
    from_scores = draws.from_scores(case, found, stats.norm.ppf(u))
    for path, values in from_points.items():
        if not case.spreads.get(path, Spread(distribution="")).sample:
            assert values == pytest.approx(from_scores[path], rel=1e-12), path


@given(
    st.floats(1.0, 1e3),
    st.floats(0.01, 3.0),
    st.sampled_from(["normal", "log-normal"]),
    st.floats(-0.99, -0.01),
    st.floats(0.01, 5.0),
)
def test_draws_rise_with_the_score_between_the_bounds(
    value: float, share: float, shape: str, down: float, up: float
) -> None:
    low, high = value * (1.0 + down), value * (1.0 + up)
    spread = Spread(distribution=shape, deviation=share * value, low=low, high=high)
    case = pulling('value = "22 N", spread = "1 N"')
    joint = replace(case.joint, pull_off=value)
    case = replace(case, joint=joint, spreads={"joint.pull_off": spread})
    drawn = pull_at(case, np.linspace(-9.0, 9.0, 200))
    assert np.all(np.diff(drawn) >= -1e-14 * high)  # rounding next to a bound
    assert low <= drawn[0] and drawn[-1] <= high
    assert drawn[0] < value < drawn[-1]


# --- what is cut ---------------------------------------------------------------------------


@pytest.mark.parametrize("value", [5.0, 22.0, 400.0])
@pytest.mark.parametrize("deviation", [4.0, 30.0])
def test_shares_cut_are_those_of_scipy(value: float, deviation: float) -> None:
    low, high = 3.0, 450.0
    for shape, whole in (
        ("normal", stats.norm(value, deviation)),
        ("log-normal", lognormal(value, deviation)),
    ):
        spread = Spread(distribution=shape, deviation=deviation, low=low, high=high)
        expected = (whole.cdf(low), whole.sf(high))
        assert shares_cut(value, spread) == pytest.approx(expected, rel=1e-6, abs=1e-12)


def test_a_study_tells_what_the_allowed_range_cuts_and_not_the_bounds_somebody_chose() -> None:
    case = pulling('value = "22 N", spread = "11 N", low = "5 N"')
    assert draws.truncations(case) == []
    (pull,) = draws.truncations(
        quietly(PULL.sub('pull_off = { value = "22 N", spread = "11 N" }', BENCH))
    )
    # tables of the normal distribution: Phi(-2) = 0.0228
    assert pull.startswith("joint.pull_off: this normal spread is cut: 2.3 % below the allowed 0 N")


# --- correlations --------------------------------------------------------------------------


def pair(first: str, second: str) -> tuple[np.ndarray, np.ndarray]:
    """Return two values that scatter as told: friction and seal drag."""
    text = PULL.sub(f"pull_off = {{ {first} }}\nseal_drag = {{ {second} }}", BENCH)
    found = drawn(quietly(text), blocks=64)
    return found["joint.pull_off"], found["joint.seal_drag"]


GROUP = 'group = "day", correlation'


@pytest.mark.parametrize(("one", "two"), [(0.5, 0.5), (0.9, 0.3), (1.0, 0.4), (1.0, 1.0)])
def test_correlation_of_a_group_is_the_root_of_the_product(one: float, two: float) -> None:
    friction, drag = pair(
        f'value = "22 N", spread = "2 N", {GROUP} = {one}',
        f'value = "30 N", spread = "2 N", {GROUP} = {two}',
    )
    rho = math.sqrt(one * two)
    assert np.corrcoef(friction, drag)[0, 1] == pytest.approx(rho, abs=4e-3)
    assert friction.std() == pytest.approx(2.0, rel=1e-2)


def test_rank_correlation_of_other_shapes() -> None:
    """Spearman's rho of a Gaussian copula is 6/pi asin(r/2) (Pearson 1907, from memory)."""
    friction, drag = pair(
        f'value = "22 N", distribution = "uniform", low = "10 N", high = "30 N", {GROUP} = 0.6',
        f'value = "30 N", distribution = "log-normal", spread = "60 %", {GROUP} = 0.6',
    )
    rank = stats.spearmanr(friction, drag).statistic
    assert rank == pytest.approx(6.0 / math.pi * math.asin(0.3), abs=5e-3)


def test_without_a_group_values_have_nothing_in_common() -> None:
    friction, drag = pair('value = "22 N", spread = "2 N"', 'value = "30 N", spread = "2 N"')
    assert abs(np.corrcoef(friction, drag)[0, 1]) < 4e-3


@pytest.mark.parametrize(
    ("extra", "rho"),
    [("", 0.0), (', group = "lot"', 1.0), (', group = "lot", correlation = 0.3', 0.3)],
)
def test_correlation_of_measured_pins(extra: str, rho: float) -> None:
    strength = f'{THREAD}\nstrength = {{ value = "120 N", spread = "6 N"{extra} }}'
    pins = drawn(quietly(BENCH.replace(THREAD, strength)), blocks=64)["pins.strength"]
    assert pins.shape == (64 * BLOCK, 3)
    expected = np.full((3, 3), rho) + (1.0 - rho) * np.eye(3)
    assert np.corrcoef(pins.T) == pytest.approx(expected, abs=5e-3)
    assert pins.std(axis=0) == pytest.approx([6.0] * 3, rel=1e-2)


def test_correlation_of_unmeasured_pins() -> None:
    pins = drawn(pulling('value = "22 N"'), 64)["library.pin materials.nylon 6/6.shear_strength"]
    assert np.corrcoef(pins.T) == pytest.approx(0.5 + 0.5 * np.eye(3), abs=5e-3)
    assert pins.mean(axis=0) == pytest.approx([68.95e6] * 3, rel=1e-4)
    assert pins.std(axis=0) == pytest.approx([0.04 * 68.95e6] * 3, rel=1e-2)


def test_factors_left_out_stay_at_their_middle() -> None:
    case = pulling('value = "22 N", spread = "2 N"')
    some = [f for f in factors(case) if f.name in ("joint.pull_off", "powder.mass")]
    u = draws.unit_points(1, 0, dimensions(some))
    assert set(draws.values(case, some, u)) == {"joint.pull_off", "powder.mass"}
    lot = 'strength = { value = "120 N", spread = "6 N", group = "lot", correlation = 0.75 }'
    case = quietly(BENCH.replace(THREAD, f"{THREAD}\n{lot}"))
    (common,) = (f for f in factors(case) if f.name == "group lot")
    alone = Factor(common.name, common.label, common.paths, (0,), common=True)
    pins = draws.from_scores(case, [alone], np.array([[-2.0], [0.0], [1.0]]))["pins.strength"]
    steps = 120.0 + 6.0 * math.sqrt(0.75) * np.array([-2.0, 0.0, 1.0])
    assert pins == pytest.approx(np.repeat(steps[:, None], 3, axis=1), rel=1e-12)


# --- members -------------------------------------------------------------------------------


@pytest.mark.parametrize("path", PATHS, ids=lambda path: path.stem)
def test_a_row_is_the_member_run_alone(path: Path) -> None:
    case = shipped(path)
    found = factors(case)
    values = draws.values(case, found, draws.unit_points(4, 9, dimensions(found)))
    records, _ = draws.records(case, values)
    for index in range(0, BLOCK, 41):
        alone = pack(params.parameters(draws.one_member(case, values, index)))
        for name in RECORD.names:
            one, row = np.asarray(alone[name]), np.asarray(records[index][name])
            assert row == pytest.approx(one, rel=1e-14, abs=0.0), (index, name)


def test_everything_may_scatter_at_once() -> None:
    """A case in which every number of every table is an array crosses like its members."""
    for case in map(shipped, PATHS):
        rng = np.random.default_rng(5)
        values: dict[str, np.ndarray] = {}
        for path, origin in case.provenance.items():
            value = value_at(case, path) if "." in path else None
            if isinstance(value, float) and not path.startswith(("run.", "rule.")):
                values[path] = value * rng.uniform(0.98, 1.0, 7)
                assert origin.origin in ("case", "default")
        many = params.parameters(draws.member_case(case, values))
        for index in range(7):
            alone = params.parameters(draws.one_member(case, values, index))
            for name, one in alone._asdict().items():
                rows = np.asarray(getattr(many, name))
                if name == "gas":
                    assert many.gas == pytest.approx(alone.gas)
                    continue
                row = rows[index] if rows.ndim > np.ndim(one) else rows
                assert row == pytest.approx(np.asarray(one), rel=1e-14, abs=0.0), (path, name)


def test_members_without_room_are_marked() -> None:
    case = quietly(
        BENCH.replace('volume = "420 cm^3"', 'volume = { value = "420 cm^3", spread = "120 %" }')
    )
    found = factors(case)
    values = draws.values(case, found, draws.unit_points(1, 0, dimensions(found)))
    _, P = draws.records(case, values)
    possible = draws.possible(P)
    grains = values["powder.mass"] / values["library.powders.3F.grain_density"]
    # the grains lie in the space behind the contents
    ahead, behind = spaces(draws.member_case(case, values))
    assert np.array_equal(possible, (ahead > 0.0) & (behind > grains))
    # a normal cut below 0, beyond the 1107 cm^3 of the empty bay: Phi(-1.36)/Phi(0.83)
    assert 1.0 - possible.mean() == pytest.approx(0.087 / 0.797, abs=0.01)


def test_every_volume_of_a_member_needs_room() -> None:
    case = shipped(next(path for path in PATHS if path.stem == "main-98"))
    assert case.holder is not None and case.powder is not None
    grains = case.powder.mass / 1750.0
    room = geometry.free_volume(case).total + case.holder.volume
    volumes = np.array([0.99, 1.01, 3.0]) * grains
    values = {"holder.volume": np.append(volumes, [0.99 * room, 1.01 * room])}
    _, P = draws.records(case, values, 5)
    assert draws.possible(P, 5).tolist() == [False, True, True, True, False]


def test_grains_and_limits_that_come_out_crossed_are_put_in_order() -> None:
    case = shipped(PATHS[-1])
    sieves = {"library.powders.4F.smallest_grain": 5e-4, "library.powders.4F.largest_grain": 3e-4}
    P = params.parameters(draws.member_case(case, sieves))
    assert (P.r_low, P.r_high) == pytest.approx((1.5e-4, 2.5e-4))
    thin = {
        "library.powders.4F.thin_air_none": np.array([3e4, 2e4]),
        "library.powders.4F.thin_air_full": np.array([2e4, 4e4]),
    }
    pressure = geometry.air(case)[0]
    assert 3e4 < pressure < 4e4
    ceiling = params.parameters(draws.member_case(case, thin)).burnable_fraction
    whole = library.powder("4F").burnable_fraction
    assert ceiling == pytest.approx([whole, whole * (pressure - 2e4) / 2e4])


def test_a_member_is_a_case_of_its_own() -> None:
    lot = 'strength = { value = "120 N", spread = "20 N" }'
    # so much powder that any member shears its pins
    case = quietly(BENCH.replace(THREAD, f"{THREAD}\n{lot}").replace("1.00 g", "4.00 g"))
    found = factors(case)
    values = draws.values(case, found, draws.unit_points(1, 0, dimensions(found)))
    member = draws.one_member(case, values, 5)
    assert member.powder is not None and member.pins is not None
    assert member.powder.mass == values["powder.mass"][5]
    assert member.pins.strength == tuple(values["pins.strength"][5])
    assert member.materials["powders.3F.bed_time"] == values["library.powders.3F.bed_time"][5]
    assert member.spreads == {} and not member.source_text
    origin = member.provenance["powder.mass"]
    assert (origin.origin, origin.line) == ("drawn", case.provenance["powder.mass"].line)
    assert f"  mass = {origin.text} = {member.powder.mass:.6g} kg (drawn)" in explain(member)
    result = simulate(member)
    assert result.good
    hole = params.bearing_strength(member)
    # measured in a slow pull; a shot finds pins and holes stronger
    pins = sum(min(strength, hole) for strength in member.pins.strength)
    pins *= geometry.rate_gain(member)
    assert result.curves["pin_force"].values.max() == pytest.approx(pins, rel=1e-3)
    held = geometry.static_friction(member) + pins
    area = geometry.bore_area(member)
    assert result.numbers.pin_pressure == pytest.approx(held / area, rel=1e-12)
