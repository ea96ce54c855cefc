"""Heat that walls and packed cloth take, and the salts that settle on them."""

from __future__ import annotations

import numpy as np

from baypulse.engine import gasside
from baypulse.engine import layout as at
from baypulse.physics import heat, salts
from baypulse.physics.compiled import compiled


@compiled
def skin_and_flux(
    j: int, y: np.ndarray, P: np.record, work: np.ndarray
) -> tuple[float, float, float]:
    """Return a surface's skin temperature [K] and the fluxes of both zones into it [W/m^2].

    Each zone heats the share of the wall it touches: its share of the volume. Part of the skin's
    rise follows the flux at once, and the flux depends on the skin: one Newton step from the
    slow part settles both, since that part is less than a hundredth of the whole.
    """
    k = P.surface_volume[j]
    i = P.skins_at + j * P.n_terms
    rise = 0.0
    for n in range(P.n_terms):
        rise += P.skin_weights[n] * y[i + n]
    slow = P.T_ambient + rise / P.surface_effusivity[j]
    cold = work[k, gasside.V2] / work[k, gasside.V_GAS]
    hot = 1.0 - cold
    h, emissivity = P.surface_convection[j], P.surface_emissivity[j]
    T_1, T_2 = work[k, gasside.T1], work[k, gasside.T2]
    q = hot * heat.heat_flux(T_1, slow, emissivity, h) + cold * h * (T_2 - slow)
    slope = h + hot * heat.radiation_slope(slow, emissivity)
    skin = slow + P.skin_instant * q / (P.surface_effusivity[j] + P.skin_instant * slope)
    q1 = hot * heat.heat_flux(T_1, skin, emissivity, h)
    q2 = cold * h * (T_2 - skin)
    return skin, q1, q2


@compiled
def warm_walls(
    y: np.ndarray, s: float, modes: np.ndarray, P: np.record, work: np.ndarray, dy: np.ndarray
) -> None:
    """Heat the surfaces by radiation, by convection, and by the salts that settle on them.

    The salts leave with their whole energy, c T_1; the skin feels what they give up down to its
    own temperature.
    """
    u = y[at.PACK_X] - y[at.FRAME_X]
    for j in range(P.n_surfaces):
        k = P.surface_volume[j]
        if not gasside.lives(k, modes, P):
            continue
        i = P.skins_at + j * P.n_terms
        skin, q1, q2 = skin_and_flux(j, y, P, work)
        # a volume is as much longer as its ends have parted
        longer = u if k == P.back else s - u if P.back >= 0 else s
        area = P.surface_area[j] + P.surface_growth[j] * longer
        m_c = y[at.VOLUMES + at.PER_VOLUME * k + at.M_C]
        V, T_1 = work[k, gasside.V_GAS], work[k, gasside.T1]
        per_area = salts.settling(m_c, P.deposition, 1.0, V)
        q = q1 + q2 + per_area * P.condensed_heat * (T_1 - skin)
        for n in range(P.n_terms):
            dy[i + n] = q - P.skin_rates[n] * y[i + n]
        settled = area * per_area
        work[k, gasside.D_MB] -= settled
        work[k, gasside.D_MC] -= settled
        carried = settled * P.condensed_heat * T_1
        work[k, gasside.S1] -= area * q1 + carried
        work[k, gasside.S2] -= area * q2
        if dy.shape[0] > P.heats_at:
            dy[P.heats_at + j] = area * (q1 + q2) + carried
            dy[P.deposits_at + j] = settled
