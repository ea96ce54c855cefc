"""Where the charge's energy went, and whether the balances close."""

from __future__ import annotations

from typing import Any

import numpy as np

from baypulse.case import params
from baypulse.case.model import Case
from baypulse.engine import layout as at
from baypulse.engine import run
from baypulse.engine.parameters import OUTSIDE, Parameters
from baypulse.physics import gas, powder
from baypulse.run.result import Budget

_WORK = {
    "friction": at.Balance.FRICTION,
    "pins": at.Balance.PINS,
    "stand and ground": at.Balance.GROUND,
    "contents": at.Balance.PACKING,
    "brake": at.Balance.BRAKE,
    "cord": at.Balance.CORD,
    "impacts": at.Balance.IMPACT,
}
"""What takes up the push of the gas, beside the motion that is left."""


def budget(case: Case, P: Parameters, seen: run.Observed, modes: np.ndarray) -> Budget:
    """Return where the energy went, and what is missing in the balances.

    Energies count from ambient temperature, so that the air of the bay begins with none.

    Parameters
    ----------
    case : Case
        The case.
    P : Parameters
        The same as floats.
    seen : Observed
        The run.
    modes : ndarray
        Modes at its end.
    """
    y0, y = seen.states[0], seen.states[-1]
    _, c0_g, c1_g, _, c0_a, c1_a = P.gas
    u_g = gas.specific_energy(P.T_ambient, c0_g, c1_g)
    u_c = P.condensed_heat * P.T_ambient
    u_a = gas.specific_energy(P.T_ambient, c0_a, c1_a)

    def from_ambient(energy: Any, m_b: Any, m_c: Any, m_a: Any) -> Any:
        return energy - u_g * (m_b - m_c) - u_c * m_c - u_a * m_a

    start = y0[at.VOLUMES : P.skins_at].reshape(-1, at.PER_VOLUME)
    cells = y[at.VOLUMES : P.skins_at].reshape(-1, at.PER_VOLUME)
    doors = y[P.openings_at : P.balance_at].reshape(-1, at.PER_OPENING)
    out = np.where(P.opening_to == OUTSIDE, 1.0, np.where(P.opening_from == OUTSIDE, -1.0, 0.0))
    heat, settled = y[P.heats_at : P.deposits_at], y[P.deposits_at : P.openings_at]
    balance = y[P.balance_at :]
    made = P.charge_mass * y[at.MADE]
    energy = (cells[:, at.U_1] + cells[:, at.U_2]).sum()
    m_b, m_c = cells[:, at.M_B], cells[:, at.M_C]
    m_a = cells[:, at.M_A1] + cells[:, at.M_A2]
    kept = from_ambient(energy, m_b.sum(), m_c.sum(), m_a.sum())

    terms: dict[str, float] = {}
    if case.powder is not None:
        # a kilogram of products at ambient temperature
        cold = u_g * (1.0 - P.condensed_share) + u_c * P.condensed_share
        total = P.charge_mass * (P.specific_energy - cold) + balance[at.Balance.AFTERBURNING]
        # of each grain that left, what had burnt by the end is counted as burnt: a little too much
        unburnt = 1.0 - P.burnable_fraction * powder.burnt_fraction(y[at.DEPTH], P.r_low, P.r_high)
        carried = P.charge_mass * unburnt * (out @ doors[:, at.OUT_GRAINS])
        terms["carried out unburnt"] = carried * (P.specific_energy - cold)
        terms["not burnt"] = (P.charge_mass - made - carried) * (P.specific_energy - cold)
        salts = np.sum(P.condensed_heat * m_c * (seen.volumes[-1, :, 2] - P.T_ambient))
        terms["hot salts"] = salts
        terms["hot gas and air"] = kept - salts
    else:
        total = _stored_energy(case, P)
        terms["left in the gas"] = total + kept
    terms |= dict(zip(params.surface_names(case), heat - u_c * settled, strict=True))
    if P.voids >= 0:
        terms["cloth within"] = balance[at.Balance.PORES] - u_c * balance[at.Balance.FILTERED]
    for j, name in enumerate(params.opening_names(case)):
        if out[j] != 0.0:
            lost = from_ambient(*doors[j, [at.OUT_ENERGY, at.OUT_B, at.OUT_C, at.OUT_A]])
            terms[f"through {name}"] = terms.get(f"through {name}", 0.0) + out[j] * lost
    motion = 0.5 * sum(
        mass * y[speed] ** 2
        for mass, speed in (
            (P.nose_mass, at.NOSE_V), (P.airframe_mass, at.FRAME_V), (P.contents_mass, at.PACK_V)
        )
    )  # fmt: skip
    work = {name: balance[entry] for name, entry in _WORK.items()} | {"motion left": motion}
    lifted = {"lifting and drag": -balance[at.Balance.OUTSIDE]}
    terms |= {"pushing the outside air": balance[at.Balance.AIR]} | work | lifted

    gas_residual = energy - (start[:, at.U_1] + start[:, at.U_2]).sum() - made * P.specific_energy
    gas_residual += heat.sum() + out @ doors[:, at.OUT_ENERGY] - balance[at.Balance.AFTERBURNING]
    gas_residual += balance[at.Balance.PORES] + balance[at.Balance.PUSH] + balance[at.Balance.AIR]
    begun = start[:, [at.M_B, at.M_A1, at.M_A2]].sum()
    gone = (
        settled.sum()
        + balance[at.Balance.FILTERED]
        + out @ (doors[:, at.OUT_B] + doors[:, at.OUT_A])
    )
    return Budget(
        total=float(total),
        terms={name: float(term) for name, term in terms.items()},
        gas_residual=float(gas_residual),
        motion_residual=float(
            balance[at.Balance.PUSH] + balance[at.Balance.OUTSIDE] - sum(work.values())
        ),
        mass_residual=float(m_b.sum() + m_a.sum() - begun - made + gone),
    )


def _stored_energy(case: Case, P: Parameters) -> float:
    """Return the energy stored in a reservoir above ambient pressure, p V/(g - 1) [J]."""
    assert case.cold_gas is not None
    R, c0, c1 = P.gas[:3]
    return case.cold_gas.pressure * case.cold_gas.volume * (c0 + c1 * P.T_ambient) / R
