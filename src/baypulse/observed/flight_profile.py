"""How high the rocket is when: from a simple profile of the case, or from a logger."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np
from scipy.integrate import solve_ivp

from baypulse.case import quantities
from baypulse.case.geometry import each
from baypulse.case.logs.air import altitudes
from baypulse.case.model import Ascent, Case, Spread, Surroundings
from baypulse.constants import AIR_GAS_CONSTANT, STANDARD_GRAVITY
from baypulse.members.parts import StudyError
from baypulse.physics.atmosphere import standard_atmosphere

if TYPE_CHECKING:
    from baypulse.case.logs import Flight


def drag_separation(fore: float, aft: float, fore_drag: Any, aft_drag: Any) -> Any:
    """Return the force [N] that drag puts on a joint: above zero it pulls the joint apart.

    F = m_f m_a/(m_f + m_a) (D_a/m_a - D_f/m_f): with one deceleration a = (D_f + D_a)/(m_f + m_a)
    the part behind is held back by D_a, of which it needs m_a a only, and the rest hangs on the
    joint. Gravity pulls at both alike and drops out.

    Parameters
    ----------
    fore, aft : float
        Masses ahead of the joint and behind it [kg].
    fore_drag, aft_drag : float or ndarray
        Drag on either [N].
    """
    return fore * aft / (fore + aft) * (aft_drag / aft - fore_drag / fore)


Array = np.ndarray

POINTS = 200
"""Points of thrust, and of coast, in a profile of the case."""

LEAST_INTERVAL = 0.05
"""Time between points of a logged flight [s]: faster loggers are averaged over it. A vent follows
within some hundredths of a second, and the averages have less noise."""

SMOOTH = 0.5
"""Time over which a logged altitude is smoothed to take its speed [s]; estimate."""

WARMEST_DAY = 30.0
"""How much warmer than the standard atmosphere a day is taken to be at most [K], 45 degC at sea
level: what is typed as warmer than that high up was measured on the ground; estimate."""

LEAST_PRESSURE = 1.1
"""Pressure [Pa] just below 80 km, where the standard atmosphere ends."""

_OF_THE_PLACE = ("surroundings.altitude", "surroundings.pressure")
"""What scatters at the place of the shot, and not at another one."""

LAUNCHED = 15.0
"""Height above the first readings above which a logged rocket is under way [m]; estimate."""


@dataclass(frozen=True)
class Profile:
    """A flight as seen from a bay.

    Attributes
    ----------
    source : str
        Where it comes from, in words.
    time : ndarray, shape (n,)
        From the launch; before it below zero [s].
    altitude : ndarray, shape (n,)
        Above sea level [m].
    speed : ndarray, shape (n,)
        Of the climb [m/s].
    pressure, temperature : ndarray, shape (n,)
        Of the air outside [Pa], [K]: the standard atmosphere's, on a cold day colder by as much as
        the pad is. A cold day's air is denser and pulls more; a warm day's is not counted as
        thinner.
    pull : ndarray, shape (n,) or None
        Force with which drag pulls the joint apart [N]; below zero it presses it together. None
        where the drag areas are not known.
    burnout, apogee : int
        Points of greatest speed and of greatest altitude.
    notes : tuple of str
        What was guessed or left out.
    """

    source: str
    time: Array
    altitude: Array
    speed: Array
    pressure: Array
    temperature: Array
    pull: Array | None
    burnout: int
    apogee: int
    notes: tuple[str, ...]


def at_pad(case: Case) -> Case:
    """Return the case in the air of the pad, where it is loaded.

    Parameters
    ----------
    case : Case
        With or without an ascent. A ground test keeps its own air, unless the ascent has a pad of
        its own; a shot in flight has the pad of its ascent, or sea level. A typed temperature goes
        with it (:func:`same_day`).
    """
    pad = None if case.ascent is None else case.ascent.pad_altitude
    flies = case.setting.kind == "flight"
    if not flies and (pad is None or pad == case.surroundings.altitude):
        return case
    return same_day(case, pad or 0.0)


def same_day(case: Case, altitude: float) -> Case:
    """Return the case in the air of another altitude, usually a lower one, on the same day.

    A typed temperature t goes with it: there it is t0 + min(t - t1, 30 K), with t0 and t1 of the
    standard atmosphere there and where t was measured, and never below t. So a warm day is warm
    on the pad, and pins, which are weaker the warmer they are, hold there rather less than what
    is typed says than more.

    Parameters
    ----------
    case : Case
        A single one, with its spreads. A shot in flight with a typed pressure was measured at the
        altitude of that pressure.
    altitude : float
        Above sea level [m].

    Returns
    -------
    Case
        Its pressure is the standard atmosphere's; altitude and pressure do not scatter.
    """
    here = case.surroundings
    spreads = {path: s for path, s in case.spreads.items() if path not in _OF_THE_PLACE}
    temperature = here.temperature
    if temperature is not None:
        measured_at = here.altitude
        if here.pressure is not None and case.setting.kind == "flight":
            measured_at = float(altitudes(np.array([max(here.pressure, LEAST_PRESSURE)]))[0])
        warmer = min(temperature - standard_atmosphere(measured_at)[1], WARMEST_DAY)
        temperature = max(temperature, standard_atmosphere(altitude)[1] + warmer)
        path = "surroundings.temperature"
        if path in spreads:
            spreads[path] = _shifted(spreads[path], temperature - (here.temperature or 0.0))
    air = Surroundings(altitude=altitude, temperature=temperature)
    return replace(case, surroundings=air, spreads=spreads)


def colder(case: Case) -> float:
    """Return by how much a case's air is colder than the standard's [K]: below zero, or zero.

    A warm day is not counted: where this is used, cold is on the safe side.

    Parameters
    ----------
    case : Case
        On the ground.
    """
    air = case.surroundings
    if air.temperature is None:
        return 0.0
    return min(air.temperature - standard_atmosphere(air.altitude)[1], 0.0)


def _shifted(spread: Spread, by: float) -> Spread:
    """Return the spread of a number that is larger by a constant."""
    low, high = (None if end is None else end + by for end in (spread.low, spread.high))
    return replace(spread, low=low, high=high, sample=tuple(x + by for x in spread.sample))


def profile(case: Case, flight: Flight | None = None) -> Profile:
    """Return the flight of a case: as logged, or from its ascent.

    Parameters
    ----------
    case : Case
        The case.
    flight : baypulse.case.logs.Flight, optional
        From a logger; the drag areas of the case's ascent are used with it.

    Raises
    ------
    StudyError
        Without a flight and without an ascent.
    """
    if flight is not None:
        return _logged(case, flight)
    if case.ascent is None:
        raise StudyError(
            f"{case.name}: nothing is known of the ascent: add [ascent] with burnout_height = "
            '"400 m", burnout_speed = "230 m/s" and drag_area = "45 cm^2" to the case, or give a '
            "logger's file with --log"
        )
    return _simple(case, case.ascent)


def _simple(case: Case, ascent: Ascent) -> Profile:
    """Climb with one acceleration to burnout, then coast against gravity and drag.

    dv/dt = -g - rho v^2 Cd A/(2 m), straight up.
    """
    pad = at_pad(case).surroundings.altitude
    v, height = ascent.burnout_speed, ascent.burnout_height
    burn = 2.0 * height / v
    up = np.linspace(0.0, burn, POINTS)
    mass = _masses(case)[0] + _masses(case)[1]

    def coast(_: float, state: Array) -> tuple[float, float]:
        p, T = standard_atmosphere(min(state[0], 80e3))
        drag = 0.5 * p / (AIR_GAS_CONSTANT * T) * state[1] * abs(state[1]) * ascent.drag_area
        return state[1], -STANDARD_GRAVITY - drag / mass

    def stopped(_: float, state: Array) -> float:
        return float(state[1])

    stopped.terminal = True  # type: ignore[attr-defined]
    end = v / STANDARD_GRAVITY + 1.0
    run = solve_ivp(
        coast, (0.0, end), (pad + height, v), events=stopped, dense_output=True, rtol=1e-8,
        max_step=end / 20.0,
    )  # fmt: skip
    # close together just after burnout, where drag is greatest
    later = run.t[-1] * np.linspace(0.0, 1.0, POINTS)[1:] ** 2
    altitude = np.concatenate([pad + 0.5 * v / burn * up**2, run.sol(later)[0]])
    if altitude[-1] > 80e3:
        raise StudyError(
            f"{case.name}: this ascent leaves the standard atmosphere, which ends at 80 km: check "
            "ascent.burnout_speed, ascent.burnout_height and ascent.drag_area"
        )
    source = (
        f"burnout {quantities.show(height, 'length', ('m', 'ft'))} above the pad at "
        f"{quantities.show(v, 'velocity')}, then coast"
    )
    time = np.concatenate([up, burn + later])
    speed = np.concatenate([v / burn * up, run.sol(later)[1]])
    missing = "ascent.fore_drag_area is not given"
    return _profile(case, source, time, altitude, speed, POINTS - 1, time.size - 1, missing)


def _logged(case: Case, flight: Flight) -> Profile:
    """Take a flight as a logger has it, averaged over short intervals."""
    time, pressure, altitude = _averaged(flight.time, flight.pressure, flight.altitude)
    # running means and their slope: noise of a foot at 20 Hz is 10 m/s otherwise; the mean of the
    # times goes with that of the altitudes where readings are missing
    step = float(np.median(np.diff(time)))
    width = max(round(0.5 * SMOOTH / step), 1)
    speed = np.gradient(_running_mean(altitude, width), _running_mean(time, width))
    apogee = int(altitude.argmax())
    below = np.flatnonzero(altitude[: apogee + 1] < altitude[0] + LAUNCHED)
    launch = int(below[-1]) if below.size else 0
    if apogee - launch < 3:
        raise StudyError(
            f"{flight.name}: this flight has no ascent: its highest reading is not above the first "
            f"ones by more than {LAUNCHED:g} m; check the column of the altitude and its unit"
        )
    burnout = launch + int(speed[launch : apogee + 1].argmax())
    missing = "the case has no [ascent] with drag_area and fore_drag_area"
    found = _profile(case, flight.name, time, altitude, speed, burnout, apogee, missing, pressure)
    notes = (*flight.notes, *found.notes)
    return replace(found, time=time - time[launch], notes=notes)


def _profile(
    case: Case, source: str, time: Array, altitude: Array, speed: Array, burnout: int, apogee: int,
    missing: str, pressure: Array | None = None,
) -> Profile:  # fmt: skip
    """Return a flight with its air, the standard's unless measured, and with the pull of drag."""
    standard, temperature = each(standard_atmosphere, np.clip(altitude, -2000.0, 80e3))
    temperature = temperature + colder(at_pad(case))
    pressure = standard if pressure is None else pressure
    points = np.arange(time.size)
    pull = _pull(case, pressure, temperature, speed, (points >= burnout) & (points <= apogee))
    notes = () if pull is not None else (f"The pull of drag is left out: {missing}.",)
    return Profile(
        source, time, altitude, speed, pressure, temperature, pull, burnout, apogee, notes
    )


def _averaged(time: Array, *columns: Array) -> tuple[Array, ...]:
    """Return means over intervals of :data:`LEAST_INTERVAL`; slower readings stay as they are."""
    # two readings or more to an interval, or rounding would share them out unevenly
    if 2.0 * float(np.median(np.diff(time))) > LEAST_INTERVAL:
        return time, *columns
    cells = np.floor((time - time[0]) / LEAST_INTERVAL).astype(np.int64)
    starts = np.flatnonzero(np.diff(cells, prepend=-1))
    counts = np.diff(np.append(starts, time.size))
    return tuple(np.add.reduceat(each, starts) / counts for each in (time, *columns))


def _running_mean(values: Array, width: int) -> Array:
    """Return means over up to 2 width + 1 points around each, fewer at the ends."""
    total = np.concatenate([[0.0], np.cumsum(values)])
    place = np.arange(values.size)
    reach = np.minimum(np.minimum(place, values.size - 1 - place), width)
    return (total[place + reach + 1] - total[place - reach]) / (2 * reach + 1)


def _masses(case: Case) -> tuple[float, float]:
    """Return the masses ahead of the joint and behind it [kg]."""
    contents = 0.0 if case.contents is None else case.contents.mass
    return case.nose.mass, case.airframe.mass + contents


def _pull(
    case: Case, pressure: Array, temperature: Array, speed: Array, coasting: Array
) -> Array | None:
    """Return the pull of drag on the joint in coast [N]; under thrust the joint is pressed."""
    ascent = case.ascent
    if ascent is None or ascent.fore_drag_area is None:
        return None
    head = 0.5 * pressure / (AIR_GAS_CONSTANT * temperature) * speed**2
    fore = head * ascent.fore_drag_area
    aft = head * (ascent.drag_area - ascent.fore_drag_area)
    pull = drag_separation(*_masses(case), fore, aft)
    return np.where(coasting, pull, 0.0)
