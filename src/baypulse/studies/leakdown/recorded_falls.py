"""The leak of a bay from a recorded fall of its gauge, with its 95 % interval."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from scipy.ndimage import median_filter
from scipy.optimize import least_squares
from scipy.special import ndtri, stdtrit

from baypulse.case.quantities import show
from baypulse.members.parts import StudyError
from baypulse.run.pumped_bay import Vessel, fall, isothermal_area, pumped_temperature
from baypulse.studies.leakdown.result import Estimate, FallReadings, Trace
from baypulse.studies.leakdown.timed_falls import HEAT_SPREAD, LEVEL, ranked, room_drift
from baypulse.studies.leakdown.words import psi

MOST_POINTS = 400
"""A recorded fall of more readings is averaged to about so many points."""

FEWEST_POINTS = 8
"""Readings that a recorded fall must have."""

LEAST = 500.0
"""Gauge pressure [Pa] that a recorded fall must begin with: less is no test; our choice."""

TOLD = 0.5
"""The trace tells its gauge's zero if it brings its error below this share."""

SURE = 4.0
"""An area of so many standard deviations is known by its logarithm; a smaller one may be 0."""

DRIFT = 4.0
"""Standard errors by which the pressure must rise from the beginning to the end to be refused."""

MISFIT = 0.03
"""Root mean square of what a fitted fall leaves, over the fall, from which that is told."""

STEP = 2e-3
"""Of a difference, over the size of its number: a hundred times above the error of a fall."""

CURVES = 2.0
"""Numbers that a fit takes from the readings alone: area and first pressure."""

SLOW = 3.0
"""Slow curves that a fit takes out of the noise: of those, and of what the gauge's zero, heat and
room may still give."""


def from_trace(vessel: Vessel, test: Trace, volume_error: float) -> Estimate:
    """Return the leak of a bay from a recorded fall.

    Least squares with a loss that outliers hardly pull, over area, first pressure, the gauge's
    zero, the heat to the walls, and a drift with the room's temperature; the last three are held
    by what is known of them beforehand.
    Noise and its correlation in time are taken from what the fit leaves, and the fit is made
    again with them.

    Parameters
    ----------
    vessel : Vessel
        The bay.
    test : Trace
        What was recorded.
    volume_error : float
        Standard deviation of the logarithm of the free volume.

    Returns
    -------
    Estimate
        With its :class:`Readings`.

    Raises
    ------
    StudyError
        If there is no fall to be fitted.
    """
    whole_time, whole, _ = the_fall(test)
    time, pressure, each = averaged(whole_time, whole)
    scale = _scale(vessel, time, pressure)
    noise = max(_roughness(pressure), _step(whole) / math.sqrt(12.0 * each), 1e-4 * pressure[0])
    effective = float(time.size)
    # the second fit knows the noise, the third its correlation as seen from a good fit
    begin = None
    for _ in range(3):
        fit = _Fit(vessel, time, pressure, scale, test.gauge_error, noise, begin)
        begin = np.maximum(fit.values, (1e-3, 1.0, -np.inf, -np.inf, -np.inf))
        left = fit.left
        effective = _effective(left)
        seen = max(_spread(left) * math.sqrt(effective / max(effective - CURVES, 1.0)),
                   _step(whole) / math.sqrt(12.0 * each), 1e-6 * pressure[0])  # fmt: skip
        noise = seen * math.sqrt(time.size / effective)
    area = float(fit.values[0]) * scale
    deviation = math.sqrt(fit.covariance[0, 0]) * scale
    shares = fit.shares()
    relative = math.hypot(deviation / area, volume_error) if area > 0.0 else math.inf
    # few readings tell their own noise badly; only that share of the variance has few degrees of
    # freedom (Welch and Satterthwaite; from memory)
    own = shares["the scatter of the readings"]
    own *= deviation**2 / max(deviation**2 + (area * volume_error) ** 2, 1e-300)
    freedom = max(effective - CURVES, 1.0) / max(own, 1e-3) ** 2
    factor = float(stdtrit(freedom, 0.5 + 0.5 * LEVEL))
    if area > SURE * math.hypot(deviation, area * volume_error):
        low, high = area * math.exp(-factor * relative), area * math.exp(factor * relative)
    else:
        reach = factor * math.hypot(deviation, area * volume_error)
        low, high = max(area - reach, 0.0), area + reach
    of_volume = (volume_error / relative) ** 2 if math.isfinite(relative) and relative else 0.0
    causes = {name: share * (1.0 - of_volume) for name, share in shares.items()}
    start = float(fit.values[1])
    warm = pumped_temperature(vessel, max(start, 0.0))
    fresh = _Fit(vessel, time, pressure, scale, test.gauge_error, noise, begin, warm)
    return Estimate(
        area=area,
        low=low,
        high=high,
        deviation=relative,
        causes=ranked({**causes, "the free volume": of_volume}),
        fresh=float(fresh.values[0] * scale),
        readings=FallReadings(
            count=whole.size,
            effective=effective,
            noise=_spread(fit.left) * math.sqrt(each),
            start=start,
            zero=float(fit.values[2]),
            zero_error=math.sqrt(fit.covariance[2, 2]),
            zero_told=bool(
                test.gauge_error > 0.0 and math.sqrt(fit.covariance[2, 2]) < TOLD * test.gauge_error
            ),
            time=time,
            pressure=pressure,
        ),
    )


def the_fall(test: Trace) -> tuple[np.ndarray, np.ndarray, float]:
    """Return the part of a trace from its highest pressure on, and the time that was cut off.

    Parameters
    ----------
    test : Trace
        What was recorded.

    Returns
    -------
    time, pressure : ndarray, shape (n_readings,)
        From 0 on [s], [Pa].
    cut : float
        [s].

    Raises
    ------
    StudyError
        If there are too few readings, no pressure, or a rise in place of a fall.
    """
    time, pressure = test.time, test.pressure
    where = test.source or "the recorded pressure"
    if time.size < FEWEST_POINTS:
        raise StudyError(
            f"{where}: {time.size} readings are too few to fit a fall to; give at least "
            f"{FEWEST_POINTS}, or give --from, --to and --time"
        )
    # where the level is highest, not a single reading, which may be a spike
    smooth = median_filter(pressure, 2 * min(max(2, time.size // 200), MOST_POINTS) + 1,
                           mode="nearest")  # fmt: skip
    top = int(np.argmax(smooth))
    quarter = max(2, time.size // 4)
    early, late = pressure[:quarter], pressure[-quarter:]
    rise = float(late.mean() - early.mean())
    noise = _roughness(pressure)
    if rise > DRIFT * noise * math.sqrt(2.0 / quarter) and rise > 0.02 * float(np.ptp(pressure)):
        raise StudyError(
            f"{where}: the pressure rises, from {psi(early.mean())} in the first quarter to "
            f"{psi(late.mean())} in the last; give the part after pumping, with the pump shut off"
        )
    if float(smooth.max()) < max(LEAST, 4.0 * noise):
        raise StudyError(
            f"{where}: no pressure to speak of was recorded; its highest is "
            f"{psi(float(smooth.max()))} above the air outside: pump the bay to a few psi"
        )
    if time.size - top < max(FEWEST_POINTS, time.size // 10):
        raise StudyError(
            f"{where}: the pressure is highest {show(time[top] - time[0], 'time')} after the "
            f"beginning and is followed by {time.size - top} readings only; record the fall for "
            "longer"
        )
    rising = smooth[top] - smooth[0] > 6.0 * noise
    first = top if rising else 0
    return time[first:] - time[first], pressure[first:], float(time[first] - time[0])


def averaged(time: np.ndarray, pressure: np.ndarray) -> tuple[np.ndarray, np.ndarray, int]:
    """Return neighbouring readings averaged to about :data:`MOST_POINTS`, and how many each is.

    Parameters
    ----------
    time, pressure : ndarray, shape (n_readings,)
        Rising [s], [Pa].
    """
    each = -(-time.size // MOST_POINTS)
    if each == 1:
        return time, pressure, 1
    whole = time.size // each * each
    return (
        time[:whole].reshape(-1, each).mean(axis=1),
        pressure[:whole].reshape(-1, each).mean(axis=1),
        each,
    )


def _scale(vessel: Vessel, time: np.ndarray, pressure: np.ndarray) -> float:
    """Return about the area, as a unit for the fit."""
    few = max(1, time.size // 20)
    start = max(float(pressure[:few].mean()), 1e-3 * vessel.pressure)
    below = np.flatnonzero(pressure <= 0.5 * start)
    # to the half, or to the last where it is not reached; at least 1 %, for a unit
    last = int(below[0]) if below.size else time.size - 1
    end = min(max(float(pressure[max(last - few, 0) : last + 1].mean()), 0.1 * start), 0.99 * start)
    return isothermal_area(vessel, start, end, max(float(time[last]), 1e-3 * float(time[-1])))


class _Fit:
    """A fall fitted to readings.

    Attributes
    ----------
    values : ndarray, shape (5,)
        Area [scale], first pressure [Pa], the gauge's zero [Pa], logarithm of the heat transfer
        over the vessel's, drift up to the last reading [Pa].
    covariance : ndarray, shape (5, 5)
        Of them.
    left : ndarray, shape (n_points,)
        Readings less the fitted fall [Pa].
    """

    def __init__(
        self, vessel: Vessel, time: np.ndarray, pressure: np.ndarray, scale: float,
        zero_error: float, noise: float, begin: np.ndarray | None = None,
        temperature: float | None = None,
    ) -> None:  # fmt: skip
        first, last = float(pressure[0]), float(time[-1])
        drift = room_drift(vessel, float(pressure[-1]), last)
        known = np.array([max(zero_error, 1e-9), HEAT_SPREAD, drift])

        def read(x: np.ndarray) -> np.ndarray:
            held = vessel._replace(convection=vessel.convection * math.exp(x[3]))
            return fall(held, x[0] * scale, x[1], time, temperature) + x[2] + x[4] * time / last

        def residuals(x: np.ndarray) -> np.ndarray:
            return np.concatenate(((pressure - read(x)) / noise, -x[2:] / known))

        size = np.array([1.0, max(first, 1.0), *known])
        if begin is None:
            few = max(1, time.size // 50)
            begin = np.array([1.0, max(float(pressure[:few].mean()), 1.0), 0.0, 0.0, 0.0])
        found = least_squares(
            residuals, begin, x_scale=size, loss="soft_l1", f_scale=2.0,
            jac=lambda x: _slopes(residuals, x, size), xtol=1e-4, ftol=1e-6,
            bounds=([0.0, 1e-3, -np.inf, -4.0, -np.inf], [1e4, np.inf, np.inf, 4.0, np.inf]),
        )  # fmt: skip
        self.values = found.x
        slopes = _slopes(residuals, found.x, size)
        self._information = slopes.T @ slopes
        self.covariance = np.linalg.pinv(self._information)
        self.left = pressure - read(found.x)

    def shares(self) -> dict[str, float]:
        """Return from what the variance of the area comes: by how much each known would cut it."""
        whole, whole_size = float(self.covariance[0, 0]), self.values.size
        found = {}
        for name, k in (("the gauge's zero", 2), ("the heat to the walls", 3),
                        ("the room's temperature", 4)):  # fmt: skip
            others = [j for j in range(whole_size) if j != k]
            held = np.linalg.pinv(self._information[np.ix_(others, others)])
            found[name] = max(1.0 - float(held[0, 0]) / whole, 0.0)
        found["the scatter of the readings"] = max(1.0 - sum(found.values()), 0.0)
        return found


def _slopes(residuals: Any, x: np.ndarray, size: np.ndarray) -> np.ndarray:
    """Return the Jacobian by differences, upwards since an area cannot be negative."""
    here = residuals(x)
    columns = []
    for k in range(x.size):
        beyond = x.copy()
        beyond[k] += STEP * size[k]
        columns.append((residuals(beyond) - here) / (beyond - x)[k])
    return np.column_stack(columns)


def _spread(values: np.ndarray) -> float:
    """Return the standard deviation as the middle of the deviations tells it.

    Ten times out, one reading in a hundred hardly changes it; for the normal distribution the
    median of the absolute deviations is ndtri(0.75) standard deviations.
    """
    return float(np.median(np.abs(values - np.median(values))) / ndtri(0.75))


def _roughness(pressure: np.ndarray) -> float:
    """Return the noise of readings from the differences of neighbours, which a fall hardly has."""
    return _spread(np.diff(pressure)) / math.sqrt(2.0)


def _step(pressure: np.ndarray) -> float:
    """Return the smallest step between different readings, 0 where all are the same."""
    steps = np.diff(np.unique(pressure))
    steps = steps[steps > 1e-9 * float(np.abs(pressure).max(initial=1.0))]
    return float(steps.min(initial=math.inf)) if steps.size else 0.0


def _effective(left: np.ndarray) -> float:
    """Return how many readings that err each for itself would tell as much.

    The lesser of two counts. Of noise in which each reading keeps the share r of the one before,
    n (1 - r)/(1 + r). A fit takes some of the correlation away: after one of q slow curves r is
    seen too low by about (q + (q + 2) r)/n, which for a mean, 1 + 3 r, is Kendall, Biometrika 41
    (1954) 403 (from memory). Of any other noise, n/(1 + 2 sum of the autocorrelation), summed over
    pairs of lags while those are positive (Geyer, Stat. Sci. 7 (1992) 473, the initial positive
    sequence; from memory).
    """
    n = left.size
    e = left - np.median(left)
    # one outlier must neither hide the correlation of the rest nor pretend one
    wide = 4.0 * max(_spread(e), 1e-300)
    e = np.clip(e, -wide, wide)
    e -= e.mean()
    power = float(e @ e)
    if power == 0.0:
        return float(n)
    next_one = (float(e[:-1] @ e[1:]) / power + SLOW / n) / max(1.0 - (SLOW + 2.0) / n, 0.5)
    kept = min(max(next_one, 0.0), 0.99)
    total = 0.0
    for lag in range(1, n // 3, 2):
        pair = float(e[:-lag] @ e[lag:] + e[: -lag - 1] @ e[lag + 1 :]) / power
        if pair <= 0.0:
            break
        total += pair
    least = min(n * (1.0 - kept) / (1.0 + kept), n / (1.0 + 2.0 * total))
    return float(min(max(least, 3.0), n))
