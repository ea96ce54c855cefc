"""A bay that is pumped up and watched: its fall through a leak, and the leak from the fall.

The air is that of the engine's slow phase (:mod:`baypulse.engine.slow`): one volume, one opening
of effective area Cd A to the outside, walls that keep the temperature of the day.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any, NamedTuple

import numpy as np

from baypulse.case import geometry, params
from baypulse.case.model import Case
from baypulse.constants import AIR_GAS_CONSTANT
from baypulse.engine import slow
from baypulse.engine.parameters import OUTSIDE
from baypulse.physics import flow, gas
from baypulse.physics.atmosphere import standard_atmosphere


def bench_air(case: Case, altitude: float | None = None) -> tuple[float, float]:
    """Return pressure [Pa] and temperature [K] of the air in which a bay was tested.

    Parameters
    ----------
    case : Case
        A single one. Where it is a ground test, its air is that of the bench.
    altitude : float, optional
        Of the bench [m]; the standard atmosphere there. Without it, a flight's bay was tested at
        sea level.
    """
    if altitude is None:
        if case.setting.kind != "flight":
            pressure, temperature = geometry.air(case)
            return float(pressure), float(temperature)
        altitude = 0.0
    return standard_atmosphere(altitude)


def vessel_of(case: Case, altitude: float | None = None) -> Vessel:
    """Return the bay on the bench, its own openings plugged.

    Parameters
    ----------
    case : Case
        A single one.
    altitude : float, optional
        Of the bench [m]; see :func:`bench_air`.
    """
    network = params.slow_network(case)
    pressure, temperature = bench_air(case, altitude)
    return Vessel(
        volume=float(network.volume[params.BAY]),
        wall_area=float(network.wall_area[params.BAY]),
        convection=network.convection,
        pressure=pressure,
        temperature=temperature,
    )


NODES, WEIGHTS = np.polynomial.legendre.leggauss(48)
"""Of the quadrature of a fall."""

CLOSE = 1e-6
"""Relative accuracy of an area."""

SLACK = 1.1
"""The area is at most that of a fall at one temperature, times this room for the search."""


class Vessel(NamedTuple):
    """A closed bay on the bench.

    Attributes
    ----------
    volume : float
        Free volume [m^3].
    wall_area : float
        Of wall and ends [m^2].
    convection : float
        Heat transfer coefficient between still air and wall [W/m^2/K].
    pressure, temperature : float
        Of the day [Pa], [K].
    """

    volume: float
    wall_area: float
    convection: float
    pressure: float
    temperature: float

    @property
    def heat_capacity_ratio(self) -> float:
        """Of the air at the temperature of the day."""
        return 1.0 + AIR_GAS_CONSTANT / self._heat_capacity

    @property
    def _heat_capacity(self) -> float:
        """c_v of the air at the temperature of the day [J/kg/K]."""
        return gas.AIR_C0 + gas.AIR_C1 * self.temperature

    def settling_time(self, gauge: float) -> float:
        """Return the time constant in which the closed bay's air comes to the wall's temperature.

        m c_v/(h A) of a constant volume.

        Parameters
        ----------
        gauge : float
            Gauge pressure [Pa].
        """
        mass = (self.pressure + gauge) * self.volume / (AIR_GAS_CONSTANT * self.temperature)
        return mass * self._heat_capacity / (self.convection * self.wall_area)


def fall(
    vessel: Vessel, area: float, start: float, times: np.ndarray, temperature: float | None = None
) -> np.ndarray:
    """Return the gauge pressure of a bay that was pumped up.

    Parameters
    ----------
    vessel : Vessel
        The bay.
    area : float
        Effective area of the leak [m^2], at least 0.
    start : float
        Gauge pressure at the time 0 [Pa].
    times : ndarray, shape (n_times,)
        Rising, from 0 on [s].
    temperature : float, optional
        Of the air at the time 0 [K]; that of the day unless given.

    Returns
    -------
    ndarray, shape (n_times,)
        [Pa].
    """
    warm = vessel.temperature if temperature is None else temperature
    network = slow.Network(
        volume=np.array([vessel.volume]),
        opening_from=np.zeros(1, dtype=np.int64),
        opening_to=np.full(1, OUTSIDE, dtype=np.int64),
        opening_area=np.array([float(area)]),
        opening_slot=np.zeros((1, 3)),
        wall_area=np.array([vessel.wall_area]),
        convection=float(vessel.convection),
        wall_temperature=float(vessel.temperature),
    )
    begins = times[0] == 0.0
    at = times if begins else np.concatenate(([0.0], times))
    outside, day = np.full(at.size, vessel.pressure), np.full(at.size, vessel.temperature)
    first = np.array([[vessel.pressure + start, warm]])
    still = slow.follow(at, outside, day, network, first)
    gauge = still.pressure[:, 0] - vessel.pressure
    return gauge if begins else gauge[1:]


def isothermal_area(vessel: Vessel, start: float, end: float, time: float) -> float:
    """Return the effective area through which the air falls at one temperature.

    t = V/(Cd A) * integral of dp/(R T m''(p)) from end to start, with m'' the mass flow of the
    orifice for each effective area.

    Parameters
    ----------
    vessel : Vessel
        The bay.
    start, end : float
        Gauge pressures [Pa], start above end above 0.
    time : float
        From one to the other [s].

    Returns
    -------
    float
        [m^2].
    """
    g = vessel.heat_capacity_ratio

    def of_hole(p: float, rho: float) -> float:
        return flow.mass_flux(p, rho, vessel.pressure, g)

    return float(isothermal_time(vessel, start, end, of_hole)) / time


def isothermal_time(
    vessel: Vessel, start: float, end: float, out: Callable[[float, float], Any]
) -> Any:
    """Return the time in which the air falls at one temperature, through any leak [s].

    t = V * integral of dp/(R T m(p)) from end to start.

    Parameters
    ----------
    vessel : Vessel
        The bay.
    start, end : float
        Gauge pressures [Pa], start above end above 0.
    out : callable
        Mass flow of the leak [kg/s] from pressure [Pa] and density [kg/m^3] in the bay; of members,
        an array.
    """
    R, T = AIR_GAS_CONSTANT, vessel.temperature
    # the flow goes with the root of a small gauge pressure: in the root the integrand is smooth
    low, high = math.sqrt(end), math.sqrt(start)
    roots = low + 0.5 * (high - low) * (NODES + 1.0)
    total: Any = 0.0
    for root, weight in zip(roots.tolist(), WEIGHTS.tolist(), strict=True):
        p = vessel.pressure + root * root
        total += weight * 0.5 * (high - low) * 2.0 * root / (R * T * out(p, p / (R * T)))
    return vessel.volume * total


def isothermal_times(vessel: Vessel, gauges: np.ndarray) -> np.ndarray:
    """Return the time from each pressure down to the lowest, for an effective area of 1 m^2.

    Parameters
    ----------
    vessel : Vessel
        The bay.
    gauges : ndarray, shape (n_pressures,)
        Rising gauge pressures above 0 [Pa].

    Returns
    -------
    ndarray, shape (n_pressures,)
        [s]; 0 at the first.
    """
    from scipy.interpolate import CubicSpline  # loads for a fifth of a second

    R, T = AIR_GAS_CONSTANT, vessel.temperature
    roots = np.sqrt(gauges)
    rates = [
        2.0 * root / (R * T * flow.mass_flux(
            vessel.pressure + gauge, (vessel.pressure + gauge) / (R * T), vessel.pressure,
            vessel.heat_capacity_ratio,
        ))
        for root, gauge in zip(roots.tolist(), gauges.tolist(), strict=True)
    ]  # fmt: skip
    spline = CubicSpline(roots, rates).antiderivative()
    return vessel.volume * (spline(roots) - spline(roots[0]))


def area_of(
    vessel: Vessel, start: float, end: float, time: float, temperature: float | None = None
) -> float:
    """Return the effective area through which a bay falls from one pressure to another.

    Parameters
    ----------
    vessel : Vessel
        The bay.
    start, end : float
        Gauge pressures [Pa]; end above 0.
    time : float
        From one to the other [s], above 0.
    temperature : float, optional
        Of the air at the first reading [K]; that of the day unless given.

    Returns
    -------
    float
        [m^2]; 0 where the pressure does not fall, or falls so by cooling alone.
    """
    from scipy.optimize import brentq  # loads for a fifth of a second

    if start <= end:
        return 0.0
    most = SLACK * isothermal_area(vessel, start, end, time)
    moment = np.array([0.0, time])

    def over(area: float) -> float:
        return float(fall(vessel, area, start, moment, temperature)[-1]) - end

    least = 0.0
    if temperature is None:
        # a fall without any heat takes less area, by at most the ratio of the heat capacities
        least = most / SLACK**2 / vessel.heat_capacity_ratio
    elif over(0.0) <= 0.0:
        return 0.0
    while over(most) > 0.0:
        most *= 2.0
    if over(least) <= 0.0:
        least = 0.0
    return float(brentq(over, least, most, rtol=CLOSE, xtol=CLOSE * most))


def pumped_temperature(vessel: Vessel, gauge: float) -> float:
    """Return how warm the air of a bay is that was just pumped up.

    A rigid vessel filled quickly from air of the same temperature T, without heat to its wall:
    T_full = g T/(1 + (p_0/p)(g - 1)). The air of a hand pump comes warmer still.

    Parameters
    ----------
    vessel : Vessel
        The bay.
    gauge : float
        Gauge pressure that it was pumped to [Pa].

    Returns
    -------
    float
        [K].

    References
    ----------
    Charging of an insulated rigid tank from a line, a standard example of the first law for open
    systems: Moran & Shapiro, Fundamentals of Engineering Thermodynamics, ch. 4 (from memory).
    """
    g = vessel.heat_capacity_ratio
    ratio = vessel.pressure / (vessel.pressure + gauge)
    return g * vessel.temperature / (1.0 + ratio * (g - 1.0))
