"""The unknowns of a published measurement, found again from its own figures by the fit.

The measurement is the closed-vessel table of Noble & Abel (Encyclopaedia Britannica, 11th ed.,
article "Ballistics", Table 1; see test_closed_vessel_table). What it must give: the gas of a
kilogram of powder, 12.5 mol, at the 2480 K that the authors found (G. G. Andre, Rock Blasting,
1878, quoting them), n R T = 258 kJ/kg. The covolume is not printed with it; the molten residue
alone takes 0.6 of the powder's own space (Andre), 0.34 cm^3/g, and whole powder takes 0.57.

This shows that the solver, the slopes and the intervals find what decides the readings; it says
nothing of a bay, whose mixing and losses a closed vessel of cannon charges does not have.
"""

from __future__ import annotations

import numpy as np
import pytest

from baypulse.case import library
from baypulse.studies.fit.posterior import Stream, most_probable
from tools import charged, go
from validation.test_closed_vessel_table import TABLE, TON_PER_SQUARE_INCH, UNIT_DENSITY

DATA = library.powder("3F")
ROWS = TABLE[1::3]
"""Every third row of the table, 0.06 to 0.25, for time."""

IMPETUS, COVOLUME = (300e3, 60e3), (0.5e-3, 0.2e-3)
"""Middle and standard deviation of what is known before: wide, and the first of them wrong."""


def peak(density: float, gas_constant: float, covolume: float) -> float:
    P = charged(
        density * 1e-3, 1e-3, covolume=covolume, mixing_time=0.03,
        products=(gas_constant, DATA.heat_capacity, 0.0),
        specific_energy=DATA.heat_capacity * DATA.explosion_temperature,
        specific_volume=1.0 / DATA.grain_density, r_low=0.5 * DATA.smallest_grain,
        r_high=0.5 * DATA.largest_grain, rate=DATA.rate, rate_pressure=DATA.rate_pressure,
        rate_exponent=DATA.rate_exponent, burnable_fraction=1.0,
    )  # fmt: skip
    _, seen = go(P, 0.4, 1e-8)
    return float(seen.volumes[:, 0, 0].max())


class Vessel:
    """The closed vessel as the model of a fit: two scores, one record of all rows."""

    scores = size = 2
    nuisances = ()

    def values(self, z: np.ndarray) -> tuple[float, float]:
        return (
            max(IMPETUS[0] + IMPETUS[1] * z[0], 1e4) / DATA.explosion_temperature,
            max(COVOLUME[0] + COVOLUME[1] * z[1], 1e-5),
        )

    def runs(self, scores: np.ndarray) -> list:
        return [
            np.array([peak(density * UNIT_DENSITY, *self.values(z)) for density, _ in ROWS])
            for z in scores
        ]

    def seen(self, run: np.ndarray, scores: np.ndarray) -> list[np.ndarray]:
        return [run]


def test_impetus_and_covolume_of_the_closed_vessel_table() -> None:
    measured = np.array([tons for _, tons in ROWS]) * TON_PER_SQUARE_INCH
    stream = Stream(measured, 0.04 * measured, np.zeros(measured.size, bool), record=False)
    top = most_probable(Vessel(), [stream], [np.zeros(2)], np.array([0, 1]))  # type: ignore[arg-type]
    impetus = IMPETUS[0] + IMPETUS[1] * top.scores[0]
    covolume = COVOLUME[0] + COVOLUME[1] * top.scores[1]
    error = IMPETUS[1] * float(np.sqrt(top.covariance[0, 0]))
    # air in the vessel adds a little heat capacity and gas of its own: 5 % is the table's scatter
    assert impetus == pytest.approx(258e3, rel=0.05), (impetus, error)
    assert abs(impetus - 258e3) < 3.0 * error
    assert error < 0.1 * impetus
    assert 0.34e-3 < covolume < 0.75e-3
    # a higher force and a smaller covolume fit nearly as well, and it says so
    assert top.covariance[0, 1] < 0.0
