"""What an altimeter makes of a pressure, against tables, fluids and closed forms."""

from __future__ import annotations

import math

import fluids
import numpy as np
import pytest
from scipy.integrate import quad
from scipy.signal import lfilter

from baypulse.studies.altimeter.altitude_error import (
    altitude_error,
    pressure_bounds,
    sampled,
    shown_altitude,
    smoothed,
    time_beyond,
)

# ISO 2533:1975, computed from its defining constants; the printed values to five digits
ISO_2533 = {0.0: 101_325.0, 1000.0: 89_876.3, 3000.0: 70_121.2, 5000.0: 54_048.3,
            10_000.0: 26_499.9, 20_000.0: 5_529.31}  # fmt: skip


@pytest.mark.parametrize(("altitude", "pressure"), ISO_2533.items())
def test_altitude_of_a_printed_pressure_is_that_of_the_table(
    altitude: float, pressure: float
) -> None:
    # half of the last digit stands for at most 1.2 cm, at 10 km
    assert shown_altitude(np.array([pressure]))[0] == pytest.approx(altitude, abs=0.013)


@pytest.mark.parametrize("true", [0.0, 1000.0, 3000.0, 5000.0])
@pytest.mark.parametrize("other", [0.0, 1000.0, 3000.0, 5000.0])
def test_error_is_the_difference_of_two_altitudes_of_the_table(true: float, other: float) -> None:
    error = altitude_error(np.array([ISO_2533[other]]), ISO_2533[true])[0]
    assert error == pytest.approx(other - true, abs=0.03)


@pytest.mark.parametrize("altitude", [-4900.0, -3000.0, -1500.0, -10.0, 10.0, 2500.0, 15_000.0])
def test_altitude_equals_that_of_fluids_also_below_the_table(altitude: float) -> None:
    # fluids.ATMOSPHERE_1976 is the US Standard Atmosphere 1976, whose tables begin at -5000 m
    pressure = fluids.ATMOSPHERE_1976(altitude).P
    # its constants have fewer digits
    assert shown_altitude(np.array([pressure]))[0] == pytest.approx(altitude, abs=0.15)


@pytest.mark.parametrize("altitude", [0.0, 1500.0, 9000.0, 18_000.0])
@pytest.mark.parametrize("pulse", [-2.0, 2.0])
def test_a_small_pulse_is_its_pressure_over_density_and_gravity(
    altitude: float, pulse: float
) -> None:
    # hydrostatics: dh = -dp R T/(p g), g falling with height (fluids' values)
    air = fluids.ATMOSPHERE_1976(altitude)
    error = altitude_error(np.array([air.P + pulse]), air.P)[0]
    assert error == pytest.approx(-pulse / (air.rho * air.g), rel=5e-4)


@pytest.mark.parametrize("error", [0.1, 30.0, 1000.0])
def test_bounds_are_where_the_altitude_is_as_wrong_as_wanted(error: float) -> None:
    low, high = pressure_bounds(error, 70_121.2)
    errors = altitude_error(np.array([low, high]), 70_121.2)
    assert errors == pytest.approx([error, -error], rel=1e-9)


def test_bounds_outside_the_standard_atmosphere_are_refused() -> None:
    with pytest.raises(ValueError, match="outside"):
        pressure_bounds(1000.0, 120e3)


def test_time_above_a_level_of_triangles_is_that_of_similar_triangles() -> None:
    # a triangle of height 4 and base 8 is above 1 for 8 (1 - 1/4)
    times, values = np.array([0.0, 3.0, 8.0, 9.0]), np.array([0.0, 4.0, 0.0, 0.0])
    assert time_beyond(times, values, 1.0) == pytest.approx(6.0, rel=1e-12)
    assert time_beyond(times, values, 4.5) == 0.0
    assert time_beyond(times, values, -1.0) == pytest.approx(9.0)


def test_time_above_a_level_counts_level_stretches_and_jumps() -> None:
    times, values = np.array([0.0, 1.0, 1.0, 3.0, 3.0]), np.array([0.0, 0.0, 2.0, 2.0, 0.0])
    assert time_beyond(times, values, 1.0) == pytest.approx(2.0, rel=1e-12)


def test_filter_of_a_step_and_a_ramp_has_the_textbook_response() -> None:
    # 1 - exp(-t/tau); t - tau (1 - exp(-t/tau))
    tau, times = 0.7, np.linspace(0.0, 4.0, 9)
    step = smoothed(np.concatenate(([0.0], times)), np.array([0.0, *np.ones(9)]), tau)[1:]
    assert step == pytest.approx(1.0 - np.exp(-times / tau), abs=1e-12)
    ramp = smoothed(times, times, tau)
    assert ramp == pytest.approx(times - tau * (1.0 - np.exp(-times / tau)), rel=1e-12, abs=1e-12)


def test_filter_of_any_curve_is_its_convolution() -> None:
    rng = np.random.default_rng(3)
    times = np.concatenate(([0.0], np.cumsum(rng.uniform(0.01, 0.4, 12))))
    values, tau = np.concatenate(([0.0], rng.normal(size=12))), 0.5
    end = float(times[-1])

    def weighed(t: float) -> float:
        return float(np.interp(t, times, values)) * math.exp(-(end - t) / tau) / tau

    expected = quad(weighed, 0.0, end, points=times[1:-1].tolist(), limit=200)[0]
    assert smoothed(times, values, tau)[-1] == pytest.approx(expected, rel=1e-7)


def test_samples_of_a_long_and_of_a_short_pulse() -> None:
    # level at -5 for 1 s: every 20 Hz altimeter meets it; a spike of 10 ms may be missed
    long = np.array([0.0, 0.5, 0.5, 1.5, 1.5, 3.0]), np.array([0.0, 0.0, -5.0, -5.0, 0.0, 0.0])
    raw, _ = sampled(*long, 20.0, 1.0)
    assert raw == (-5.0, -5.0)
    short = np.array([0.0, 0.51, 0.515, 0.52, 3.0]), np.array([0.0, 0.0, -5.0, 0.0, 0.0])
    raw, filtered = sampled(*short, 20.0, 1.0)
    assert raw[0] == 0.0
    assert filtered[0] == 0.0
    # one sample of the spike passes the filter with its first step
    assert filtered[1] == pytest.approx((1.0 - math.exp(-0.05)) * raw[1], rel=1e-12)
    assert -5.0 <= raw[1] < -3.0


def test_digital_filter_is_that_of_scipy() -> None:
    # scipy.signal.lfilter with f_k = a f_(k-1) + (1 - a) e_k; a slow curve, so that all phases
    # see nearly the same
    times = np.linspace(0.0, 60.0, 6001)
    values = np.sin(0.05 * times)
    keep = math.exp(-0.05)
    expected = lfilter([1.0 - keep], [1.0, -keep], np.interp(np.arange(0.0, 60.0, 0.05), times,
                                                            values))  # fmt: skip
    _, filtered = sampled(times, values, 20.0, 1.0)
    peak = expected[np.abs(expected).argmax()]
    assert filtered == pytest.approx((peak, peak), rel=1e-3)
