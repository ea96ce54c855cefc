"""Where the charge's energy went, and whether the balances close."""

from __future__ import annotations

import numpy as np

from baypulse import library, params
from baypulse.engine import layout as at
from baypulse.engine import rates as r
from baypulse.engine import run
from baypulse.engine.parameters import OUTSIDE, Parameters, pack
from baypulse.model import Case
from baypulse.physics import gas, powder
from baypulse.result import Budget

_WORK = {
    "friction": at.BOOK_FRICTION,
    "pins": at.BOOK_PINS,
    "stand and ground": at.BOOK_GROUND,
    "contents": at.BOOK_PACKING,
    "brake": at.BOOK_BRAKE,
    "cord": at.BOOK_CORD,
    "impacts": at.BOOK_IMPACT,
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
    _, c0_b, c1_b, _, c0_a, c1_a = P.gas
    u_b = gas.specific_energy(P.T_ambient, c0_b, c1_b)
    u_a = gas.specific_energy(P.T_ambient, c0_a, c1_a)
    start = y0[at.VOLUMES : P.skins_at].reshape(-1, at.PER_VOLUME)
    cells = y[at.VOLUMES : P.skins_at].reshape(-1, at.PER_VOLUME)
    doors = y[P.openings_at : P.books_at].reshape(-1, at.PER_OPENING)
    out = np.where(P.opening_to == OUTSIDE, 1.0, np.where(P.opening_from == OUTSIDE, -1.0, 0.0))
    heat = y[P.heats_at : P.openings_at]
    book = y[P.books_at :]
    burnt = P.burnt_ceiling * powder.burnt_fraction(y[at.DEPTH], P.r_low, P.r_high)
    made = P.charge_mass * burnt
    energy = cells[:, 2].sum() + cells[:, 4].sum()
    kept = energy - u_b * cells[:, 0].sum() - u_a * (cells[:, 1].sum() + cells[:, 3].sum())

    terms: dict[str, float] = {}
    if case.powder is not None:
        total = P.charge_mass * (P.powder_energy - u_b)
        terms["not burnt"] = (P.charge_mass - made) * (P.powder_energy - u_b)
        share = library.powder(case.powder.grade, case.materials).condensed_heat_share
        salts = share * c0_b * np.sum(cells[:, 0] * (seen.volumes[-1, :, 2] - P.T_ambient))
        terms["hot salts"] = salts
        terms["hot gas and air"] = kept - salts
    else:
        total = _stored_energy(case, P)
        terms["left in the gas"] = total + kept
    terms |= dict(zip(params.surface_names(case), heat, strict=True))
    for j, name in enumerate(params.opening_names(case)):
        if out[j] != 0.0:
            lost = doors[j, 2] - u_b * doors[j, 0] - u_a * doors[j, 1]
            terms[f"through {name}"] = terms.get(f"through {name}", 0.0) + out[j] * lost
    nose, frame = r.masses(modes, pack(P))
    motion = 0.5 * (nose * y[at.NOSE_V] ** 2 + frame * y[at.FRAME_V] ** 2)
    work = {name: book[entry] for name, entry in _WORK.items()} | {"motion left": motion}
    lifted = {"lifting and drag": -book[at.BOOK_OUTSIDE]}
    terms |= {"pushing the outside air": book[at.BOOK_AIR]} | work | lifted

    gas_residual = energy - (start[:, 2].sum() + start[:, 4].sum()) - made * P.powder_energy
    gas_residual += heat.sum() + out @ doors[:, 2] + book[at.BOOK_PUSH] + book[at.BOOK_AIR]
    mass = cells[:, [0, 1, 3]].sum() - start[:, [0, 1, 3]].sum() - made
    return Budget(
        total=float(total),
        terms={name: float(term) for name, term in terms.items()},
        gas_residual=float(gas_residual),
        motion_residual=float(book[at.BOOK_PUSH] + book[at.BOOK_OUTSIDE] - sum(work.values())),
        mass_residual=float(mass + out @ (doors[:, 0] + doors[:, 1])),
    )


def _stored_energy(case: Case, P: Parameters) -> float:
    """Return the energy stored in a reservoir above ambient pressure, p V/(g - 1) [J]."""
    assert case.cold_gas is not None
    R, c0, c1 = P.gas[:3]
    return case.cold_gas.pressure * case.cold_gas.volume * (c0 + c1 * P.T_ambient) / R
