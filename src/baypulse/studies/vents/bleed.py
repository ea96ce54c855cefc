"""Whether a vent matters for a shot: what it takes of the gas, and how fast it would empty the bay.

A hole bleeds for as long as the gas is held. Whether that counts depends on how long the charge
burns and the joint takes to part, against the time in which the hole would empty the bay.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from baypulse.case import geometry, params
from baypulse.case.model import Case
from baypulse.case.openings import hole_area
from baypulse.engine.parameters import Parameters
from baypulse.members.chances import chance
from baypulse.members.charges import Charges, Tally, works
from baypulse.physics import flow, gas
from baypulse.run.result import EventKind, Result
from baypulse.run.simulation import simulate
from baypulse.studies.vents.result import Bleed, Turn, Vent, VentShot
from baypulse.studies.vents.vent_members import Vented, with_vent

SLOWER = 5.0
"""Factor by which the powder of the contrast burns slower than the case's: what damp, coarse or
loose powder does, an estimate."""

SLOWNESS = (2.0, 3.0, 5.0, 10.0, 20.0, 50.0, 100.0)
"""How many times slower than the case's the powder burns in the search of where a vent matters."""

MATTERS = 0.05
"""Share of the peak pressure that a vent takes from which it is said to matter; our choice."""

BURNT = 0.9
"""Share of what burns at all at which the burn is called over."""

SHOT_MEMBERS = 256
"""Members behind the chance of each vent, where so many are asked for at all."""


class Firing:
    """What vents do to the nominal shot, and to one with slower powder.

    Parameters
    ----------
    case : Case
        With its vent.
    vent : Vent
        Which opening it is.
    size, seed, workers, tally
        Of the members behind the chances; the same ones in all vents and both powders.
    """

    def __init__(
        self, case: Case, vent: Vent, size: int, seed: int, workers: int, tally: Tally
    ) -> None:
        self._vent = vent
        self._burning = {False: case}
        if case.powder is not None:
            self._burning[True] = slower(case, SLOWER)
        self._members = {
            slow: Vented(Charges(burning, size, seed, workers, tally), vent)
            for slow, burning in self._burning.items()
        }
        self._found: dict[tuple[str, bool], VentShot] = {}

    def all(self, named: Sequence[tuple[str, float]]) -> tuple[VentShot, ...]:
        """Return the shots of several vents, with the case's powder and then with the slower.

        Parameters
        ----------
        named : sequence of (str, float)
            Name and diameter of the single hole [m] of each.
        """
        return tuple(self.shot(*each, slow) for slow in self._burning for each in named)

    def shot(self, name: str, single: float, slow: bool) -> VentShot:
        """Return the shot of one vent, which is fired once.

        Parameters
        ----------
        name : str
            Of the vent.
        single : float
            Diameter of its single hole [m].
        slow : bool
            With the slower powder, which a cold gas has not.
        """
        if (name, slow) not in self._found:
            members = self._members[slow]
            opened = int(works(members.fire(single)).sum())
            result = simulate(with_vent(self._burning[slow], self._vent, single))
            self._found[name, slow] = VentShot(
                name=name,
                single=single,
                slow=slow,
                lost=lost_share(result, self._vent),
                peak=result.numbers.peak_pressure,
                burn_time=burn_time(result),
                clear_time=_after_start(result, EventKind.CLEAR),
                opens=chance("separates", opened, members.members),
            )
        return self._found[name, slow]


def slower(case: Case, times: float) -> Case:
    """Return the case with a powder that burns so many times slower; a cold gas as it is."""
    if case.powder is None:
        return case
    spreads = {path: each for path, each in case.spreads.items() if path != "powder.rate_factor"}
    powder = replace(case.powder, rate_factor=case.powder.rate_factor / times)
    return replace(case, powder=powder, spreads=spreads)


def turn(case: Case, vent: Vent, single: float) -> Turn | None:
    """Return from how slow a powder on a vent matters, with nothing scattering.

    Parameters
    ----------
    case : Case
        With its vent and a powder.
    vent : Vent
        Which opening it is.
    single : float
        Diameter of the single hole [m].

    Returns
    -------
    Turn or None
        The first of :data:`SLOWNESS` at which the vent takes more than :data:`MATTERS` of the
        peak, or keeps shut a joint that separates without it; None where it does at none of them.
    """
    for times in SLOWNESS:
        burning = slower(case, times)
        closed, vented = (simulate(with_vent(burning, vent, each)) for each in (0.0, single))
        taken = 1.0 - vented.numbers.peak_pressure / closed.numbers.peak_pressure
        opens, still = (each.event(EventKind.CLEAR) is not None for each in (closed, vented))
        if taken > MATTERS or (opens and not still):
            return Turn(times, burn_time(vented), taken, opens, still)
    return None


def lost_share(result: Result, vent: Vent) -> float:
    """Return the share of the gas that has left by the vent when the joint is clear.

    Parameters
    ----------
    result : Result
        A run.
    vent : Vent
        Which opening it is.

    Returns
    -------
    float
        Mass that left by it, over that and what is in the bay then. Where the joint does not
        clear, of the moment of the highest pressure.
    """
    time = result.time
    clear = result.event(EventKind.CLEAR)
    end = result.numbers.peak_time if clear is None else clear.time
    # openings come first, in the order of the case
    flows = [curve for curve in result.curves.values() if curve.dimension == "mass flow"]
    opening = result.case.openings[vent.index]
    out = flows[vent.index].values * (1.0 if opening.between == "bay" else -1.0)
    upto = time <= end
    gone = max(float(np.trapezoid(out[upto], time[upto])), 0.0)
    parts = ("products_mass", "hot_air_mass", "cold_air_mass")
    left = sum(float(np.interp(end, time, result.curves[name].values)) for name in parts)
    return gone / (gone + left)


def burn_time(result: Result) -> float:
    """Return how long the charge burns, from its first grain [s]; NaN for a cold gas."""
    start = result.event(EventKind.START)
    burnt = result.curves["burnt_fraction"].values
    if start is None or result.case.powder is None or burnt[-1] <= 0.0:
        return math.nan
    over = int(np.argmax(burnt >= BURNT * burnt[-1]))
    return float(result.time[over]) - start.time


def _after_start(result: Result, kind: EventKind) -> float:
    """Return how long after the start something happens [s]; NaN where it does not."""
    start, event = result.event(EventKind.START), result.event(kind)
    return math.nan if start is None or event is None else event.time - start.time


def bleed(case: Case, vent: Vent, single: float) -> Bleed:
    """Return in which time a vent would empty the bay.

    Choked flow of a gas that stays as hot as it is takes the pressure down as exp(-t/tau), with
    tau = V / (Cd A Psi sqrt(R T)) and Psi the choked flow number of
    :func:`baypulse.physics.flow.flow_square`.

    Parameters
    ----------
    case : Case
        With its vent.
    vent : Vent
        Which opening it is.
    single : float
        Diameter of the single hole [m], above 0.
    """
    held = with_vent(case, vent, single)
    result = simulate(held)
    P = params.parameters(held)
    T, R, g = _hot_gas(result, P)
    area = float(hole_area(held.openings[vent.index].discharge, single))
    volume = float(geometry.free_volume(case).total)
    g_air = 1.0 + gas.AIR_R / (gas.AIR_C0 + gas.AIR_C1 * P.T_ambient)
    return Bleed(
        single,
        hot=time_constant(volume, area, R, T, g),
        cold=time_constant(volume, area, gas.AIR_R, float(P.T_ambient), g_air),
        temperature=T,
    )


def time_constant(volume: float, area: float, R: float, T: float, g: float) -> float:
    """Return V / (Cd A Psi sqrt(R T)), the time constant of choked isothermal blowdown [s].

    Parameters
    ----------
    volume, area : float
        Of the bay [m^3]; effective, Cd A [m^2].
    R, T, g : float
        Gas constant [J/kg/K], temperature [K], ratio of heat capacities.
    """
    return volume / (area * math.sqrt(flow.flow_square(0.0, g) * R * T))


def _hot_gas(result: Result, P: Parameters) -> tuple[float, float, float]:
    """Return temperature, gas constant and ratio of heat capacities of all gas at the peak.

    The mean temperature is the one that the ideal gas law gives; its covolume is left out.
    """
    at = int(np.argmax(result.gauge_pressure))
    products, hot, cold = (
        float(result.curves[name].values[at])
        for name in ("products_mass", "hot_air_mass", "cold_air_mass")
    )
    R_b, c0_b, c1_b, R_a, c0_a, c1_a = P.gas
    air, mass = hot + cold, products + hot + cold
    R = (products * R_b + air * R_a) / mass
    T_hot = float(result.curves["hot_temperature"].values[at])
    T_cold = float(result.curves["cold_temperature"].values[at])
    # both zones have one pressure: their volumes go with m R T
    V_hot, V_cold = (products * R_b + hot * R_a) * T_hot, cold * R_a * T_cold
    T = (V_hot + V_cold) / (mass * R)
    c = (products * (c0_b + c1_b * T) + air * (c0_a + c1_a * T)) / mass
    return T, R, 1.0 + R / c
