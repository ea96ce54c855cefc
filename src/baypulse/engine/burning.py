"""What the charge does: flame, grains, products; how they stir the air and burn in it."""

from __future__ import annotations

import numpy as np

from baypulse.engine import gasside
from baypulse.engine import layout as at
from baypulse.physics import afterburning, entrainment, gas, powder
from baypulse.physics.choice import anywhere
from baypulse.physics.compiled import compiled

NO_GRAINS = 1e-3
"""Share of the grains below which what is left in all volumes is not followed any more."""


@compiled
def grains_inside(y: np.ndarray, P: np.record) -> float:
    """Return the share of the charge's grains that is in any volume."""
    inside = 0.0
    for k in range(P.n_volumes):
        inside += y[at.VOLUMES + at.PER_VOLUME * k + at.GRAINS]
    return inside


@compiled
def share_to_burn(y: np.ndarray, P: np.record) -> float:
    """Return the share of what can burn of a charge that is inside and has not burnt yet."""
    return grains_inside(y, P) * (1.0 - powder.burnt_fraction(y[at.DEPTH], P.r_low, P.r_high))


@compiled
def burn(
    y: np.ndarray, modes: np.ndarray, P: np.record, work: np.ndarray, dy: np.ndarray
) -> None:  # fmt: skip
    """Burn the grains, in every volume at its own pressure: dm_b = m N eta psi'(e) r(p) f(u).

    All grains share one depth, burnt at the mean of the rates of the volumes they are in, so that
    the mass of the grains is kept; they share the front of the flame in the same way.
    """
    if modes[at.BURN] == at.BURNT:
        return
    inside = max(grains_inside(y, P), NO_GRAINS)
    lit = powder.lit_share(y[at.FLAME_FRONT])
    slope = powder.burnt_slope(y[at.DEPTH], P.r_low, P.r_high)
    whole = P.charge_mass * P.burnable_fraction * slope
    T = P.specific_energy / mixture_heat(P)
    depth = 0.0
    for k in range(P.n_volumes):
        N = max(y[at.VOLUMES + at.PER_VOLUME * k + at.GRAINS], 0.0)
        if not (anywhere(N > 0.0) and gasside.lives(k, modes, P)):
            continue
        p = work[k, gasside.P_]
        if modes[at.FLAME] == at.SPREADING:
            front = powder.flame_rate(p, P.flame_rate, P.rate_pressure, P.flame_exponent)
            dy[at.FLAME_FRONT] += N / inside * front
        r = lit * powder.burning_rate(p, P.rate, P.rate_pressure, P.rate_exponent)
        depth += N / inside * r
        dm = N * whole * r
        work[k, gasside.D_MB] += dm
        work[k, gasside.D_MC] += P.condensed_share * dm
        work[k, gasside.S1] += dm * P.specific_energy
        work[k, gasside.FUEL] += dm
        R = (1.0 - P.condensed_share) * P.R_g
        g = 1.0 + R / mixture_heat(P)
        u = entrainment.source_velocity(dm, p, P.bed_area, T, R, g)
        work[k, gasside.D_STIR] += dm * u
        dy[at.MADE] += dm / P.charge_mass
    dy[at.DEPTH] = depth
    for k in range(P.n_volumes):
        N = y[at.VOLUMES + at.PER_VOLUME * k + at.GRAINS]
        work[k, gasside.DV_GRAIN] += N * whole * depth * P.specific_volume


@compiled
def mixture_heat(P: np.record) -> float:
    """Return the heat capacity of the products, gas and salts together [J/kg/K]."""
    return (1.0 - P.condensed_share) * P.c0_g + P.condensed_share * P.condensed_heat


@compiled
def formed_share(y: np.ndarray, P: np.record) -> float:
    """Return the share of its products that the charge, or the reservoir, has given so far."""
    if anywhere(P.charge_mass > 0.0):
        return y[at.MADE] / max(P.burnable_fraction, 1e-9)
    if P.source < 0:
        return 0.0
    left = y[at.VOLUMES + at.PER_VOLUME * P.source + at.M_B]
    return 1.0 - left / P.initial[P.source, at.M_B]


@compiled
def mix(y: np.ndarray, modes: np.ndarray, P: np.record, work: np.ndarray) -> None:
    """Draw cold air into the hot zone, with its enthalpy, and let the stirring die.

    Within the contents both zones are as warm as the cloth, and nothing is to be mixed.
    """
    R_a, c0_a, c1_a = P.R_a, P.c0_a, P.c1_a
    for k in range(P.n_volumes):
        if k == P.voids or not gasside.lives(k, modes, P):
            continue
        i = at.VOLUMES + at.PER_VOLUME * k
        cold = max(y[i + at.M_A2] - P.zone_floor[k], 0.0)
        m, M, area = gasside.gas_mass(k, y), y[i + at.STIRRING], P.cross_section[k]
        V, V_2 = work[k, gasside.V_GAS], work[k, gasside.V2]
        if anywhere(P.mixing_time > 0.0):
            dm = cold / P.mixing_time * formed_share(y, P)
        else:
            dense = y[i + at.M_A2] * (V - V_2)
            light = 1.0 - V_2 * (y[i + at.M_B] + y[i + at.M_A1]) / dense
            u = entrainment.stirring(M, m, area, light, 1.0 - V_2 / V)
            dm = entrainment.entrained(u, cold, V, area, P.entrainment)
        h = gas.specific_energy(work[k, gasside.T2], c0_a, c1_a) + R_a * work[k, gasside.T2]
        work[k, gasside.D_MA1] += dm
        work[k, gasside.D_MA2] -= dm
        work[k, gasside.S1] += dm * h
        work[k, gasside.S2] -= dm * h
        work[k, gasside.DRAWN] += dm
        work[k, gasside.D_STIR] -= entrainment.decay(M, m, area)


@compiled
def afterburn(y: np.ndarray, modes: np.ndarray, P: np.record, work: np.ndarray) -> None:
    """Burn the products in the air that was drawn in."""
    if not anywhere(P.afterburning_heat > 0.0):
        return
    for k in range(P.n_volumes):
        if k == P.voids or not gasside.lives(k, modes, P):
            continue
        i = at.VOLUMES + at.PER_VOLUME * k
        share = afterburning.gate(work[k, gasside.T1], P.afterburning_low, P.afterburning_high)
        if anywhere(share > 0.0):
            dm = afterburning.burnt_rate(
                y[i + at.M_B], y[i + at.M_A1], work[k, gasside.FUEL], work[k, gasside.DRAWN],
                P.afterburning_air,
            )  # fmt: skip
            work[k, gasside.S1] += share * dm * P.afterburning_heat
            work[k, gasside.BURNT_HEAT] += share * dm * P.afterburning_heat
