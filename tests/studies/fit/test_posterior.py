"""The parts of a fit against closed forms."""

from __future__ import annotations

import numpy as np
import pytest

from baypulse.studies.fit.posterior import (
    LeastSquares,
    Posterior,
    Stream,
    correlation_time,
    most_probable,
)
from baypulse.studies.fit.profile_likelihood import (
    LONG_STEP,
    TOO_SURE,
    WIDEST,
    Met,
    roughness,
    sided,
    widths_of,
)
from baypulse.studies.fit.responses import between, lagged
from baypulse.studies.fit.rml import settled
from baypulse.studies.fit.sampling import sample


class Straight:
    """A model whose readings are straight in the scores: the fit's answer is then known.

    Stands in for ``Responses``: ``runs`` hands the scores on, ``seen`` multiplies.
    """

    def __init__(self, matrix: np.ndarray, own: np.ndarray) -> None:
        self.matrix, self.own = matrix, own
        self.scores = matrix.shape[1]
        self.nuisances = tuple(range(own.shape[1]))
        self.size = self.scores + own.shape[1]

    def runs(self, scores: np.ndarray) -> list:
        return list(scores)

    def seen(self, run: np.ndarray, scores: np.ndarray) -> list[np.ndarray]:
        return [self.matrix @ run + self.own @ scores]


def straight(readings: int = 40, noise: float = 0.5) -> tuple[Straight, list[Stream], tuple]:
    """Return a straight model, data, and the posterior's mean and covariance.

    Of y = A x + e, x ~ N(0, 1), e ~ N(0, s): C = (A'A/s^2 + 1)^-1, m = C A'y/s^2 (the normal
    equations of any text on Bayesian linear regression).
    """
    rng = np.random.default_rng(8)
    whole = rng.normal(size=(readings, 5)) * (1.0, 0.3, 2.0, 1e-9, 0.5)
    values = whole @ rng.normal(size=5) + noise * rng.normal(size=readings)
    model = Straight(whole[:, :4], whole[:, 4:])
    stream = Stream(values, np.full(readings, noise), np.zeros(readings, bool), record=False)
    covariance = np.linalg.inv(whole.T @ whole / noise**2 + np.eye(5))
    return model, [stream], (covariance @ whole.T @ values / noise**2, covariance)


def top_of(model: Straight, streams: list[Stream]):
    return most_probable(model, streams, [np.zeros(5)], np.array([0]))  # type: ignore[arg-type]


def test_top_and_covariance_of_a_straight_model() -> None:
    model, streams, (mean, covariance) = straight()
    top = top_of(model, streams)
    # the soft loss takes a few per cent of weight off readings that are one to three errors off
    np.testing.assert_allclose(top.scores, mean, atol=0.15 * np.sqrt(np.diag(covariance)).max())
    np.testing.assert_allclose(np.diag(top.covariance), np.diag(covariance), rtol=0.1)


def test_what_the_data_do_not_tell_keeps_its_prior() -> None:
    model, streams, _ = straight()
    top = top_of(model, streams)
    assert top.scores[3] == pytest.approx(0.0, abs=1e-6)
    assert top.covariance[3, 3] == pytest.approx(1.0, rel=1e-9)


def test_one_wild_reading_hardly_moves_the_answer() -> None:
    model, streams, (mean, covariance) = straight()
    wild = streams[0].values.copy()
    wild[7] += 100.0
    top = top_of(model, [Stream(wild, streams[0].errors, streams[0].clipped, record=False)])
    plain = covariance @ np.hstack([model.matrix, model.own]).T @ wild / 0.25
    moved = np.abs(top.scores - mean).max()
    assert moved < 0.1 * np.abs(plain - mean).max()


def test_samples_have_the_mean_and_covariance_of_a_straight_model() -> None:
    pytest.importorskip("emcee")
    model, streams, (mean, covariance) = straight()
    top = top_of(model, streams)
    draws = np.random.default_rng(0).multivariate_normal(top.scores, top.covariance, 64)
    drawn, how = sample(model, top, draws, 3, steps=1500)  # type: ignore[arg-type]
    deviation = np.sqrt(np.diag(covariance))
    # 5 standard errors for the mean; the soft loss adds a shift of its own
    assert how.effective > 200
    room = 5.0 * deviation / np.sqrt(how.effective) + 0.15 * deviation.min()
    assert (np.abs(drawn.mean(axis=0) - mean) < room).all()
    np.testing.assert_allclose(drawn.std(axis=0), deviation, rtol=0.2)


def test_draws_of_a_straight_model_meet_their_data_at_once() -> None:
    # nothing bends, so a draw of the normal posterior is right as it is
    model, streams, _ = straight()
    top = top_of(model, streams)
    spread = np.linalg.cholesky(top.covariance)
    draws = top.scores + np.random.default_rng(1).normal(size=(64, 5)) @ spread.T
    kept = settled(model, top, draws)  # type: ignore[arg-type]
    assert len(kept) == 64
    order = np.lexsort(kept.T)
    np.testing.assert_allclose(kept[order], draws[np.lexsort(draws.T)], atol=1e-6)


def test_clipped_readings_only_say_at_least() -> None:
    model, streams, _ = straight()
    clipped = np.ones(40, bool)
    low = Stream(streams[0].values - 100.0, streams[0].errors, clipped, record=False)
    top = top_of(model, [low])
    np.testing.assert_allclose(top.scores, 0.0, atol=1e-6)
    np.testing.assert_allclose(top.covariance, np.eye(5), atol=1e-9)


@pytest.mark.parametrize("phi", [0.0, 0.5, 0.9])
def test_correlation_time_of_a_first_order_process(phi: float) -> None:
    # of x_k = phi x_(k-1) + e it is (1 + phi)/(1 - phi): A. Sokal, lectures of 1996 (from memory)
    rng = np.random.default_rng(5)
    values = np.zeros(40_000)
    noise = rng.normal(size=values.size)
    for k in range(1, values.size):
        values[k] = phi * values[k - 1] + noise[k]
    assert correlation_time(values) == pytest.approx((1 + phi) / (1 - phi), rel=0.12)


def test_gauge_of_first_order_on_a_ramp_and_a_step() -> None:
    # ramp p = s t: y = s (t - tau (1 - exp(-t/tau))); any text on linear systems
    step, lag = 2e-4, 1.5e-3
    t = step * np.arange(200)
    np.testing.assert_allclose(lagged(3.0 * t, step, lag),
                               3.0 * (t - lag * (1.0 - np.exp(-t / lag))), atol=1e-12)  # fmt: skip
    late = np.where(t > 0.0, 1.0, 0.0)
    shown = lagged(late, step, lag)
    # a step that takes one interval: two ramps, one against the other
    exact = 1.0 - lag / step * (np.exp(step / lag) - 1.0) * np.exp(-t[1:] / lag)
    np.testing.assert_allclose(shown[1:], exact, atol=1e-12)


def test_lag_that_is_short_against_the_grid_changes_nothing() -> None:
    values = np.sin(np.linspace(0.0, 3.0, 50)) + 2.0
    np.testing.assert_allclose(lagged(values, 1.0, 1e-4), values, rtol=1e-3)


def test_between_is_exact_for_cubics_and_keeps_jumps() -> None:
    time = np.array([0.0, 1.0, 2.5, 2.5, 4.0])
    cubic = np.polynomial.Polynomial([1.0, -2.0, 0.5, 0.25])
    values, rates = cubic(time), cubic.deriv()(time)
    values[3:] += 7.0
    wanted = np.array([-1.0, 0.3, 2.4, 2.6, 9.0])
    expected = np.array([cubic(0.0), *cubic(wanted[1:3]), cubic(2.6) + 7.0, values[-1]])
    np.testing.assert_allclose(between(time, values, rates, wanted), expected, rtol=1e-12)


def test_problem_counts_an_impossible_shot_as_far_off() -> None:
    model, streams, _ = straight()
    problem = LeastSquares(model, streams)  # type: ignore[arg-type]
    lost = problem.pulls([np.full(40, np.nan)])
    assert (lost >= 30.0).all()


def test_slopes_that_hold_make_nothing_wider() -> None:
    model, streams, _ = straight()
    problem = LeastSquares(model, streams)  # type: ignore[arg-type]
    found = roughness(problem, top_of(model, streams), np.arange(4))
    np.testing.assert_allclose(found, 1.0, rtol=1e-6)


class Edged(Straight):
    """The same with a jump where the first score passes an edge."""

    edge = np.inf

    def seen(self, run: np.ndarray, scores: np.ndarray) -> list[np.ndarray]:
        (smooth,) = super().seen(run, scores)
        return [smooth + 0.1 * (run[0] > self.edge)]


def test_an_edge_nearby_makes_its_score_wider_by_the_steeper_slope() -> None:
    whole, streams, _ = straight()
    top = top_of(whole, streams)
    model = Edged(whole.matrix, whole.own)
    model.edge = top.scores[0] + LONG_STEP / 1.8
    problem = LeastSquares(model, streams)  # type: ignore[arg-type]
    # the slope of longer steps has the jump over both of them in every reading
    steep = np.hstack([whole.matrix, whole.own])
    steep[:, 0] += 0.1 / (2.0 * LONG_STEP)
    pulls = problem.pulls(problem.seen(top.scores))
    weights = 1.0 / np.sqrt(1.0 + pulls**2 / problem.soft) / streams[0].errors ** 2
    longer = np.linalg.inv(steep.T @ (weights[:, None] * steep) + np.eye(5))
    expected = np.maximum(np.sqrt(np.diag(top.covariance) / np.diag(longer)), 1.0)[:4]
    assert expected[0] > 1.02
    np.testing.assert_allclose(roughness(problem, top, np.arange(4)), expected, rtol=1e-3)
    flat = Posterior(np.zeros(2), np.diag([0.04, 0.25]), (), 5.0, np.zeros((0, 2)))
    # up to what was known before
    sides = widths_of(flat, np.array([0, 1]), [], np.array([1.5, 9.0]))
    np.testing.assert_allclose(sides, [[1.5 * TOO_SURE] * 2, [2.0, 2.0]])


class Mirrored(Straight):
    """The same with readings that do not tell a score from its negative."""

    def seen(self, run: np.ndarray, scores: np.ndarray) -> list[np.ndarray]:
        return super().seen(np.abs(run), scores)


def test_another_place_that_explains_the_data_as_well_is_found_and_reached() -> None:
    # by symmetry half of the posterior lies on the other side of nought
    model = Mirrored(np.ones((30, 1)), np.zeros((30, 0)))
    stream = Stream(np.full(30, 1.2), np.full(30, 0.3), np.zeros(30, bool), record=False)
    start, own = np.array([1.0]), np.array([0])
    top = most_probable(model, [stream], [start], own)  # type: ignore[arg-type]
    assert top.scores[0] == pytest.approx(1.2, abs=0.05)
    top, ((lower, upper),) = sided(model, top, own)  # type: ignore[arg-type]
    deviation = float(np.sqrt(top.covariance[0, 0]))
    assert deviation < 0.1
    assert top.scores[0] - 1.96 * lower * deviation < -0.7
    # the soft loss lets a far point rise by a little less than a normal side does
    assert TOO_SURE <= upper < 1.1 * TOO_SURE


def test_every_point_that_was_met_tells_how_wide_a_side_is() -> None:
    # of a normal posterior, whatever was met: nothing to widen but TOO_SURE
    covariance = np.diag([0.04, 0.25])
    top = Posterior(np.array([1.0, 0.0]), covariance, (), 5.0, np.zeros((0, 2)))

    def met(off: float, rise: float) -> Met:
        return Met(np.array([1.0 + 0.2 * off, 0.0]), 5.0 + rise)

    def sides(*points: Met) -> np.ndarray:
        return widths_of(top, np.array([0, 1]), points, np.ones(2)) / TOO_SURE

    np.testing.assert_allclose(sides(met(-2.0, 2.0), met(2.0, 2.0)), 1.0)
    # a place where the objective has risen by half as much as that of a normal side
    np.testing.assert_allclose(sides(met(-2.0, 1.0)), [[np.sqrt(2.0), 1.0], [1.0, 1.0]])
    # one that lies near tells nothing, and what is told has an end
    np.testing.assert_allclose(sides(met(0.9, 1e-6)), 1.0)
    np.testing.assert_allclose(sides(met(2.0, 0.01)), [[1.0, WIDEST], [1.0, 1.0]])
    np.testing.assert_allclose(sides(met(4.0, 0.01)), [[1.0, 4.0], [1.0, 1.0]])
