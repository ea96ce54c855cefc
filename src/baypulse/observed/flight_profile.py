"""How high the rocket is when: from a simple profile of the case, or from a logger."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np
from scipy.integrate import solve_ivp

from baypulse.case import quantities
from baypulse.case.geometry import each
from baypulse.case.logs.air import pressures
from baypulse.case.logs.own_speed import LAUNCHED, window
from baypulse.case.model import Ascent, Case
from baypulse.constants import AIR_GAS_CONSTANT, STANDARD_GRAVITY
from baypulse.members.parts import StudyError
from baypulse.observed.same_day import at_pad, colder
from baypulse.observed.smoother import smooth
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

DOUBT = 0.1
"""Error of a speed, as a share of the greatest, from which on a log does not decide: a pull of drag
goes with the square and is then off by a fifth; our choice."""

BEFORE, AFTER = 2.0, 1.0
"""The smoothed stretch begins and ends so long before the launch and after the apogee [s]: enough
to know the rest on the pad, and short of what the charge does to the altitude."""


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
    speed_error : ndarray, shape (n,), or None
        Standard deviation of the speed [m/s]; None where a case says it.
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
    speed_error: Array | None = None

    @property
    def doubtful(self) -> Array:
        """Where in the ascent the speed is not known well enough to decide, shape (n,) of bool."""
        if self.speed_error is None:
            return np.zeros(self.time.size, dtype=bool)
        return np.asarray(self.speed_error > DOUBT * self.speed[self.burnout])


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
    """Take a flight as a logger has it, its ascent smoothed by what a rocket can do."""
    own = _filled(flight.time, flight.speed)
    columns = (flight.time, flight.pressure, flight.altitude, *(() if own is None else (own,)))
    time, pressure, altitude, *rest = _averaged(*columns)
    rough, top = window(time, altitude)
    if rest:
        top = max(top, _slowed(rest[0]))
    first = int(np.searchsorted(time, time[rough] - BEFORE))
    last = min(int(np.searchsorted(time, time[top] + AFTER)), time.size - 1)
    up = slice(first, last + 1)
    if altitude[top] - altitude[0] <= LAUNCHED or top - rough < 3 or last - first < 6:
        raise _no_ascent(flight)
    try:
        smoothed = smooth(time[up], altitude[up], rest[0][up] if rest else None)
    except np.linalg.LinAlgError:
        raise StudyError(
            f"{flight.name}: the readings of the ascent are too few or too far apart to tell a "
            "speed: give the whole log, or the ascent of the case in place of it"
        ) from None
    # the descent and the pad are not asked for their speed
    speed = np.gradient(altitude, time)
    altitude = altitude.copy()
    altitude[up] = np.interp(time[up], smoothed.time, smoothed.altitude)
    speed[up] = np.interp(time[up], smoothed.time, smoothed.speed)
    error = np.zeros(time.size)
    error[up] = np.interp(time[up], smoothed.time, smoothed.error)
    # what is measured counts where it can be, and the air of the smoothed altitude elsewhere
    pressure = pressure.copy()
    pressure[up] = pressures(altitude[up])
    apogee = first + int(altitude[up].argmax())
    below = np.flatnonzero(altitude[: apogee + 1] < altitude[0] + LAUNCHED)
    launch = int(below[-1]) if below.size else 0
    if apogee - launch < 3:
        raise _no_ascent(flight)
    burnout = launch + int(speed[launch : apogee + 1].argmax())
    missing = "the case has no [ascent] with drag_area and fore_drag_area"
    found = _profile(case, flight.name, time, altitude, speed, burnout, apogee, missing, pressure)
    found = replace(found, time=time - time[launch], speed_error=error)
    notes = (*flight.notes, *found.notes, *_told(found, own is not None))
    return replace(found, notes=notes)


def _filled(time: Array, own: Array | None) -> Array | None:
    """Return a logger's own speed with a straight line where rows have none."""
    if own is None:
        return None
    known = np.isfinite(own)
    return np.interp(time, time[known], own[known])


def _slowed(own: Array) -> int:
    """Return where a logger's own speed has fallen to little, or the end where it has not.

    A pressure that errs near Mach 1 may show its highest altitude long before.
    """
    fastest = int(own.argmax())
    slow = np.flatnonzero(own[fastest:] < DOUBT * own[fastest])
    return fastest + int(slow[0]) if slow.size else own.size - 1


def _told(found: Profile, own: bool) -> tuple[str, ...]:
    """Return how well the greatest speed is known, and whether the log ends on the way up."""
    notes = []
    top = float(found.speed[found.burnout])
    end = float(found.speed[found.apogee])
    if found.apogee == found.time.size - 1 and end > DOUBT * top:
        notes.append(
            f"The log ends during the ascent, at {quantities.show(end, 'velocity')}: its highest "
            "reading is no apogee, and what pulls after it is not seen."
        )
    if found.speed_error is not None and found.doubtful[found.burnout]:
        error = float(found.speed_error[found.burnout])
        notes.append(
            f"The greatest speed, {quantities.show(top, 'velocity')}, is known to "
            f"{quantities.show(error, 'velocity')} only (one standard deviation): the pressure in "
            "a bay errs as the rocket speeds up and near Mach 1"
            + ("." if own else ", and no column of the log with the rocket's own speed fits.")
        )
    return tuple(notes)


def _no_ascent(flight: Flight) -> StudyError:
    return StudyError(
        f"{flight.name}: this flight has no ascent: its highest reading is not above the first "
        f"ones by more than {LAUNCHED:g} m; check the column of the altitude and its unit"
    )


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
