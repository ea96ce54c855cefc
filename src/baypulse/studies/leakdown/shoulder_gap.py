"""A leak through the gap around the shoulder: its fall as a hole's, and what the hole hides.

A leak-down test is reckoned with a hole, of which one number is all. A gap passes less of the
test's low pressure and more of the charge's than that hole does.
"""

from __future__ import annotations

import math
from dataclasses import replace

from scipy.optimize import brentq

from baypulse.case import params
from baypulse.case.model import Case
from baypulse.constants import AIR_GAS_CONSTANT
from baypulse.physics import slot
from baypulse.run.pumped_bay import Vessel, isothermal_area, isothermal_time

GAPS = (1e-6, 2e-3)
"""Even gaps of a shoulder between which one is looked for [m]; our choice."""


def time_through_gap(case: Case, vessel: Vessel, start: float, end: float) -> float:
    """Return the time of a fall at one temperature through the gap around the shoulder [s].

    Parameters
    ----------
    case : Case
        A single one, with a clearance above 0.
    vessel : Vessel
        Its bay on the bench.
    start, end : float
        Gauge pressures [Pa], start above end above 0.
    """
    gap, length = float(case.joint.clearance), float(case.joint.shoulder_length)
    area = math.pi * case.bay.bore * gap
    p_down, T, g = vessel.pressure, vessel.temperature, vessel.heat_capacity_ratio

    def out(p: float, rho: float) -> float:
        return area * slot.slot_flux(
            p, rho, p_down, g, AIR_GAS_CONSTANT, gap, length, T, params.LEAK_DISCHARGE
        )

    return float(isothermal_time(vessel, start, end, out))


def area_of_gap(case: Case, vessel: Vessel, start: float, end: float) -> float:
    """Return the effective area of a hole through which the bay falls as fast as by its gap [m^2].

    Parameters
    ----------
    case, vessel, start, end
        As of :func:`time_through_gap`; without a clearance the area is 0.
    """
    if case.joint.clearance <= 0.0:
        return 0.0
    return isothermal_area(vessel, start, end, time_through_gap(case, vessel, start, end))


def gap_of_area(case: Case, vessel: Vessel, area: float, start: float, end: float) -> float | None:
    """Return the even gap around the shoulder that falls as fast as a hole does [m].

    Parameters
    ----------
    case, vessel, start, end
        As of :func:`time_through_gap`.
    area : float
        Effective area of the hole [m^2].

    Returns
    -------
    float or None
        None where no gap of a shoulder is so small or so large.
    """

    def over(gap: float) -> float:
        joint = replace(case.joint, clearance=gap)
        return area_of_gap(replace(case, joint=joint), vessel, start, end) - area

    if over(GAPS[0]) > 0.0 or over(GAPS[1]) < 0.0:
        return None
    return float(brentq(over, *GAPS, rtol=1e-6))
