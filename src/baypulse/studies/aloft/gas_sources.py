"""Three sources of gas for the same bay: loose powder, powder in a holder that bursts, cold gas."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from baypulse.case import geometry
from baypulse.case.model import Case, ColdGas, Holder, Spread
from baypulse.case.openings import hole_diameter
from baypulse.case.quantities import digits, show

LOOSE = "loose powder"
"""A charge that lies free in the bay."""

HOLDER = "powder in a holder"
"""A charge in a holder that bursts."""

COLD_GAS = "cold gas"
"""A reservoir of compressed gas."""

BULK_DENSITY = 1000.0
"""Of powder that fills a holder [kg/m^3]; estimate."""

ROOM = 1.1
"""Volume of the holder that is tried over the powder's; estimate."""

BURST = 413_685.42
"""Pressure at which that holder bursts [Pa]: 60 psi, common practice, no source."""

BURST_SPREAD = 0.25
"""Share by which its burst scatters; estimate."""

OPENING = 0.9
"""Diameter of the hole that it leaves, over the diameter of a holder as long as wide; estimate."""

LEAST_OPENING = 3e-3
"""Least diameter of that hole [m]."""

RESERVOIR = 0.08
"""Volume of the reservoir that is tried over the bay's free volume; estimate."""

EMPTYING = 0.015
"""Time in which its orifice empties it [s]; estimate."""

FILL_SPREAD = 0.03
"""Share by which its fill scatters; estimate."""

OUTFLOW = 200.0
"""Volume flow of nitrogen through an orifice over its area while choked [m/s]: 0.58 of the speed of
sound."""

DISCHARGE = 0.8
"""Discharge coefficient of that orifice."""

FIRST_FILL = 2e6
"""Fill pressure to begin with [Pa]."""


@dataclass(frozen=True)
class Source:
    """A case with one of the sources.

    Attributes
    ----------
    name : str
        :data:`LOOSE`, :data:`HOLDER` or :data:`COLD_GAS`.
    case : Case
        At home.
    own : bool
        Whether it is the case's own.
    assumed : str
        What was assumed of a source that the case has not, a sentence; empty for its own.
    """

    name: str
    case: Case
    own: bool
    assumed: str


def own_source(case: Case) -> Source:
    """Return the source that a case has.

    Parameters
    ----------
    case : Case
        At home.
    """
    if case.powder is None:
        return Source(COLD_GAS, case, True, "")
    return Source(LOOSE if case.holder is None else HOLDER, case, True, "")


def other_powder(case: Case) -> Source | None:
    """Return the same powder the other way, loose or in a holder; None without powder.

    Parameters
    ----------
    case : Case
        At home.
    """
    if case.powder is None:
        return None
    if case.holder is not None:
        text = "The loose charge is the same powder without its holder."
        spreads = {p: s for p, s in case.spreads.items() if not p.startswith("holder.")}
        return Source(LOOSE, replace(case, holder=None, spreads=spreads), False, text)
    volume = ROOM * case.powder.mass / BULK_DENSITY
    wide = (4.0 * volume / math.pi) ** (1.0 / 3.0)
    holder = Holder(volume=volume, burst=BURST, opening=max(OPENING * wide, LEAST_OPENING))
    scatter = Spread(distribution="normal", deviation=BURST_SPREAD * BURST, low=1e3)
    text = (
        f"The holder that is tried takes the same charge in {_show(volume, 'volume')}, just "
        f"enough, and bursts at {_show(BURST, 'gauge pressure')} above the bay, give or take "
        f"{100.0 * BURST_SPREAD:.0f} %, leaving a hole of {_show(holder.opening, 'length')}: "
        "estimates."
    )
    held = replace(case, holder=holder, spreads={**case.spreads, "holder.burst": scatter})
    return Source(HOLDER, held, False, text)


def trial_gas(case: Case) -> Case:
    """Return a case with a reservoir of nitrogen, not yet filled as it should be.

    Parameters
    ----------
    case : Case
        At home, with powder.
    """
    volume = RESERVOIR * geometry.free_volume(replace(case, holder=None)).total
    area = volume / (OUTFLOW * DISCHARGE * EMPTYING)
    gas = ColdGas(
        gas="nitrogen", volume=volume, pressure=FIRST_FILL,
        orifice=float(hole_diameter(1.0, area)),
        discharge=DISCHARGE,
    )  # fmt: skip
    left = ("powder.", "holder.")
    spreads = {p: s for p, s in case.spreads.items() if not p.startswith(left)}
    return filled(
        replace(case, powder=None, holder=None, cold_gas=gas, spreads=spreads), FIRST_FILL
    )


def filled(case: Case, pressure: float) -> Case:
    """Return a trial's case with another fill, which scatters.

    Parameters
    ----------
    case : Case
        From :func:`trial_gas`.
    pressure : float
        Gauge pressure at home [Pa].
    """
    assert case.cold_gas is not None
    scatter = Spread(distribution="normal", deviation=FILL_SPREAD * pressure, low=0.0)
    return replace(
        case,
        cold_gas=replace(case.cold_gas, pressure=pressure),
        spreads={**case.spreads, "cold_gas.pressure": scatter},
    )


def gas_source(case: Case, margin: float) -> Source:
    """Return a reservoir that was filled so that it opens the bay at home, as a source.

    Parameters
    ----------
    case : Case
        From :func:`filled`.
    margin : float
        Its fill over the least that opens the bay.
    """
    gas = case.cold_gas
    assert gas is not None
    text = (
        f"The reservoir that is tried holds nitrogen in {_show(gas.volume, 'volume')}, "
        f"{100.0 * RESERVOIR:.0f} % of the free volume, behind an orifice of "
        f"{_show(gas.orifice, 'length')}: estimates. It is filled at the test site to "
        f"{_show(gas.pressure, 'gauge pressure')}, {digits(margin)} times the least that "
        "opens the bay there with the target reliability, and is as cold as the air when it opens."
    )
    return Source(COLD_GAS, case, False, text)


def _show(value: float, dimension: str) -> str:
    gauge = " gauge" if dimension == "gauge pressure" else ""
    return show(value, dimension) + gauge
