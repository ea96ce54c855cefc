"""The static rule beside a run, and the way from its pressure to the transient one."""

from __future__ import annotations

import math

import numpy as np

from baypulse.case import geometry
from baypulse.case import static_rule as rule
from baypulse.case.model import Case
from baypulse.engine import layout as at
from baypulse.engine import run
from baypulse.engine.parameters import NEVER, Parameters
from baypulse.physics import gas
from baypulse.run.result import Breakdown, RuleOf, StaticRule

HELD_TIME = 0.4
"""Longest time [s] for which a held bay is followed in search of its peak."""

QUICK_MIXING = 1e-3
"""Mixing time [s] that stands for mixing at once."""


def held_peak(P: Parameters) -> float:
    """Return the peak gauge pressure [Pa] of a bay whose joint is held shut."""
    track = run.integrate(P._replace(friction=NEVER), P.start_time + HELD_TIME, 1e-6)
    seen = run.observe(track, P)
    return float(seen.volumes[:, P.chamber, 0].max()) - P.p_ambient


def static_rule(case: Case) -> StaticRule:
    """Return what the static rule says of a case.

    Parameters
    ----------
    case : Case
        Validated case.
    """
    hold = geometry.static_hold(case)
    target = case.rule.target
    needed = target + hold.pins / hold.area
    powder, cold_gas = case.powder, case.cold_gas

    def answers(volume: float) -> RuleOf:
        if powder is not None:
            return RuleOf(
                volume=volume,
                promised_pressure=rule.pressure(powder.mass, volume),
                target_mass=rule.charge_mass(target, volume),
                needed_mass=rule.charge_mass(needed, volume),
            )
        assert cold_gas is not None
        promised = rule.gas_pressure(cold_gas.pressure, cold_gas.volume, volume)
        return RuleOf(volume, promised, math.nan, math.nan)

    space = geometry.free_volume(case)
    return StaticRule(
        area=hold.area,
        target_pressure=target,
        target_force=rule.force(target, hold.area),
        needed_pressure=needed,
        empty=answers(space.empty),
        free=answers(space.total),
    )


def breakdown(case: Case, P: Parameters, peak: float) -> Breakdown:
    """Walk from the static rule's pressure to the run's peak, one effect at a time.

    Each step adds one effect to the bay held shut; the last lets the joint move.

    Parameters
    ----------
    case : Case
        The case.
    P : Parameters
        The same as floats.
    peak : float
        Peak gauge pressure of the run [Pa].
    """
    told = static_rule(case)
    steps = [("empty-bay rule", told.empty.promised_pressure)]
    if told.free.volume < told.empty.volume:
        steps.append(("free-volume rule", told.free.promised_pressure))
    tube = [P.bay] if P.back < 0 else [P.bay, P.back, P.voids]
    leaks = np.isin(P.opening_from, tube) & ~np.isin(P.opening_to, tube)
    sealed = P._replace(opening_area=np.where(leaks, 0.0, P.opening_area))
    if case.powder is not None:
        all_burnt = _mixed_pressure(P, P.charge_mass)
        steps.append(("all its heat, mixed at once", all_burnt))
        share = P.charge_mass * P.burnable_fraction
        steps.append(("unburnt powder", _mixed_pressure(P, share)))
        quick = min(QUICK_MIXING, P.mixing_time or QUICK_MIXING)
        steps.append(
            ("slow burning, cold walls and contents", held_peak(sealed._replace(mixing_time=quick)))
        )
    slow = "slow mixing" if case.powder is not None else "heat, mixing and walls"
    steps.append((slow, held_peak(sealed)))
    shut = held_peak(P)
    steps.append(("vents and leaks", shut))
    steps.append(("joint moves", peak))
    return Breakdown(tuple(steps), shut)


def _mixed_pressure(P: Parameters, m_b: float) -> float:
    """Return the gauge pressure [Pa] of all the bay's air and m_b products, mixed at once."""
    R_g, c0_g, c1_g, R_a, c0_a, c1_a = P.gas
    spaces = [P.bay] if P.back < 0 else [P.bay, P.back]
    bay = P.initial[spaces].sum(axis=0)
    m_a = bay[at.M_A1] + bay[at.M_A2]
    U = m_b * P.specific_energy + bay[at.U_1] + bay[at.U_2]
    m_c = P.condensed_share * m_b
    m_g = m_b - m_c
    T = gas.temperature(
        U, m_g * c0_g + m_c * P.condensed_heat + m_a * c0_a, m_g * c1_g + m_a * c1_a
    )
    free = P.volume[spaces].sum() - P.covolume * m_b
    return float((m_g * R_g + m_a * R_a) * T / free - P.p_ambient)
