"""Static ports: how far the air in an electronics bay stays behind a climbing rocket."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import Enum

from baypulse.case.drills import Drill, drills
from baypulse.case.model import Case, Opening
from baypulse.case.openings import hole_area, hole_diameter
from baypulse.constants import AIR_GAS_CONSTANT, STANDARD_GRAVITY
from baypulse.physics.atmosphere import standard_atmosphere
from baypulse.studies.altimeter.combined_openings import PORTS, between, one_hole

AIR_GAMMA = 1.4
"""Ratio of specific heats of air; ISO 2533."""

INCH = 25.4e-3
"""[m]."""

SPARSE = math.pi * (0.25 * INCH) ** 2 / 4.0 / (100.0 * INCH**3)
"""Port area to volume [1/m] of one hole of 1/4 in for 100 in^3: common practice, no source."""

AMPLE = 1.0 / 500.0 / INCH
"""Port area to volume [1/m] of "in^2 = in^3 / 500", four times as much: common practice, no source.
"""

BEYOND = 2.0
"""Times the ampler rule's area beyond which ports count as too large; our choice."""

LAG_SHARE = 0.1
"""Share of the wanted altitude error that the lag at the fastest climb may take; our choice."""

SPEEDS = (30.0, 100.0, 200.0)
"""Speeds that are shown beside the fastest climb and Mach 1 [m/s]; the first is about the descent
under a drogue, from memory."""

COUNTS = (3, 4)
"""Numbers of holes that are offered: around the tube, so that wind on one side evens out."""

GUST = 100.0
"""Pressure of a gust or an eddy on the ports [Pa], about that of 13 m/s of wind; estimate."""

LONGEST = 300.0
"""Lag [m] up to which the formula holds: the pressure in the bay is then within 4 % of the
outside's."""


class PortVerdict(Enum):
    """Whether static ports are right."""

    MISSING = "missing"
    TOO_SMALL = "too small"
    RIGHT = "right"
    TOO_LARGE = "too large"


@dataclass(frozen=True)
class PortLag:
    """How far an altimeter is behind at one speed.

    Attributes
    ----------
    name : str
        What the speed is.
    speed : float
        Upwards or downwards [m/s].
    ports : float
        Behind by the static ports [m]; infinite beyond :data:`LONGEST` and without ports.
    smoothing : float
        Behind by the filter of an altimeter that smooths [m].
    """

    name: str
    speed: float
    ports: float
    smoothing: float

    @property
    def delay(self) -> float:
        """By how much later the ports let an altitude show [s]."""
        return self.ports / self.speed


@dataclass(frozen=True)
class PortRule:
    """A rule of practice, and the drills that follow it.

    Attributes
    ----------
    name : str
        In words.
    area : float
        Of all ports together [m^2].
    patterns : tuple of (int, Drill)
        Numbers of holes, and for each the smallest drill that gives the area.
    lag : float
        At the fastest climb [m].
    """

    name: str
    area: float
    patterns: tuple[tuple[int, Drill], ...]
    lag: float


@dataclass(frozen=True)
class StaticPorts:
    """Static ports of a case.

    Attributes
    ----------
    volume : float
        Free volume of the electronics bay [m^3].
    count : int
        Openings to the outside; 0 without any.
    diameter, discharge : float
        All of them as one hole [m], 0 without any, and its discharge coefficient.
    temperature : float
        Of the air in the bay [K].
    climb : float
        Fastest climb [m/s].
    assumed : bool
        Whether nobody said how fast, and Mach 1 is taken.
    allowed : float
        Lag at the fastest climb that is allowed [m].
    smallest : float
        Least one hole with that lag [m].
    lags : tuple of PortLag
        The slowest first.
    rules : tuple of PortRule
        The sparser first.
    gust : float
        Time in which a gust of :data:`GUST` reaches the sensor [s]; infinite without ports.
    """

    volume: float
    count: int
    diameter: float
    discharge: float
    temperature: float
    climb: float
    assumed: bool
    allowed: float
    smallest: float
    lags: tuple[PortLag, ...]
    rules: tuple[PortRule, ...]
    gust: float

    @property
    def area(self) -> float:
        """Of all ports together [m^2]."""
        return math.pi * self.diameter**2 / 4.0

    @property
    def fastest(self) -> PortLag:
        """The lag at the fastest climb."""
        return next(each for each in self.lags if each.speed == self.climb)

    @property
    def verdict(self) -> PortVerdict:
        """Whether they are right."""
        if not self.count:
            return PortVerdict.MISSING
        if self.fastest.ports > self.allowed:
            return PortVerdict.TOO_SMALL
        if self.area > BEYOND * self.rules[-1].area:
            return PortVerdict.TOO_LARGE
        return PortVerdict.RIGHT


def lag(speed: float, volume: float, passed: float, T: float) -> float:
    """Return how far the air in a bay is behind the altitude of its rocket.

    While the outside's pressure falls by rho g v, the bay's falls as quickly once the flow out of
    it is steady: V/(R T) rho g v = Cd A sqrt(2 rho dp), which in metres of air, dp = rho g h, is
    h = (g/2) (V v / (R T Cd A))^2, at every altitude alike.

    Parameters
    ----------
    speed : float
        Upwards or downwards [m/s].
    volume : float
        Of the bay [m^3].
    passed : float
        Discharge coefficient times area of all ports [m^2]; 0 for none.
    T : float
        Of the air in the bay [K], which the walls keep: with no heat from them the lag is smaller
        by the square of the ratio of specific heats.

    Returns
    -------
    float
        [m]; infinite beyond :data:`LONGEST`, where the pressures are no longer near each other.

    References
    ----------
    Mass balance with the orifice equation of ISO 5167-2 for an incompressible gas.
    """
    if passed <= 0.0:
        return math.inf
    h = 0.5 * STANDARD_GRAVITY * (volume * speed / (AIR_GAS_CONSTANT * T * passed)) ** 2
    return h if h <= LONGEST else math.inf


def area_for(lagging: float, speed: float, volume: float, T: float) -> float:
    """Return the discharge coefficient times area that lags by so much [m^2]; see :func:`lag`."""
    return volume * speed / (AIR_GAS_CONSTANT * T) * math.sqrt(0.5 * STANDARD_GRAVITY / lagging)


def gust_time(gust: float, volume: float, passed: float, p: float, T: float) -> float:
    """Return how long a step of the outside's pressure takes to even out [s].

    V/(R T) dp/dt = -Cd A sqrt(2 rho p) empties the difference p in t = V/(R T Cd A) sqrt(2 p/rho).

    Parameters
    ----------
    gust : float
        The step [Pa], small beside `p`.
    volume, passed, T
        As for :func:`lag`.
    p : float
        Outside, absolute [Pa].
    """
    if passed <= 0.0:
        return math.inf
    RT = AIR_GAS_CONSTANT * T
    return volume / (RT * passed) * math.sqrt(2.0 * gust * RT / p)


def static_ports(case: Case, climb: float | None, error: float, filter_time: float) -> StaticPorts:
    """Judge the static ports of a case.

    Parameters
    ----------
    case : Case
        With an electronics bay.
    climb : float or None
        Fastest climb [m/s]; None for that of the case's ascent, or Mach 1 without one.
    error : float
        Altitude error that does no harm [m].
    filter_time : float
        Time constant of an altimeter that smooths [s].
    """
    assert case.electronics is not None
    volume = case.electronics.volume
    held = between(case, PORTS)
    # those to come are plain holes, with the coefficient that such a one has without a word
    discharge = case.openings[held[0]].discharge if held else Opening.discharge
    diameter = one_hole(case, PORTS)
    passed = float(hole_area(discharge, diameter))
    ascent = case.ascent
    p, T = standard_atmosphere(
        case.surroundings.altitude + (ascent.burnout_height if ascent else 0)
    )
    mach_1 = math.sqrt(AIR_GAMMA * AIR_GAS_CONSTANT * T)
    said = climb or (ascent.burnout_speed if ascent else None)
    fastest = said or mach_1
    named = dict.fromkeys(SPEEDS, "") | {mach_1: "Mach 1"}
    if said:
        named[said] = "fastest climb"
    lags = tuple(
        PortLag(named[v], v, lag(v, volume, passed, T), v * filter_time) for v in sorted(named)
    )
    allowed = LAG_SHARE * error
    rules = tuple(
        PortRule(name, area, _patterns(area), lag(fastest, volume, discharge * area, T))
        for name, area in (
            ("one hole of 1/4 in for 100 in^3", SPARSE * volume),
            ("in^2 = in^3 / 500, four times as much", AMPLE * volume),
        )
    )
    return StaticPorts(
        volume=volume,
        count=sum(case.openings[k].count for k in held),
        diameter=diameter,
        discharge=discharge,
        temperature=T,
        climb=fastest,
        assumed=said is None,
        allowed=allowed,
        smallest=float(hole_diameter(discharge, area_for(allowed, fastest, volume, T))),
        lags=lags,
        rules=rules,
        gust=gust_time(GUST, volume, passed, p, T),
    )


def _patterns(area: float) -> tuple[tuple[int, Drill], ...]:
    """Return the drills that give an area, each system's smallest; none where it has none."""
    found = []
    for count in COUNTS:
        for system in ("inch fractions", "metric"):
            least = math.sqrt(4.0 * area / math.pi / count)
            good = [each for each in drills(system) if each.diameter >= 0.999 * least]
            if good:
                found.append((count, good[0]))
    return tuple(found)
