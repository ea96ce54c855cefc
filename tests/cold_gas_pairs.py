"""Could a reservoir of compressed gas have parted the pairs? Fitted like the powder."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache
from itertools import product

import numpy as np
from scipy.optimize import least_squares

from baypulse import simulate
from baypulse.case.held_value import with_value
from baypulse.case.model import Case, ColdGas
from baypulse.run.result import Result
from recorded import records
from separations import (
    FIT,
    FREE,
    PINS,
    RISE_WITHIN,
    WITHIN,
    between,
    ratios,
    with_free_volume,
)

LEAST_BOTTLE, SMALL, LARGE = 5e-6, 60e-6, 300e-6
"""Volumes of the reservoir [m^3]: least, and greatest of a cartridge and of a bottle; estimate."""

FILL = (0.5e6, 6e6)
"""Fill pressure [Pa], gauge: up to that of carbon dioxide at 20 degC; estimate."""

ORIFICE = (0.5e-3, 12e-3)
"""Diameter of the opening [m]; estimate."""


@dataclass(frozen=True)
class Source:
    """A pair's case with compressed gas, fitted.

    Attributes
    ----------
    case : Case
        With what was fitted.
    result : Result
        Its run.
    ratios : dict of str to float
        Computed over measured, by quantity.
    """

    case: Case
    result: Result
    ratios: Mapping[str, float]

    @property
    def met(self) -> bool:
        """Whether every figure is met within what is asked."""
        return bool(np.all(np.abs(_errors(self.ratios)) <= 1.0))


def _errors(found: Mapping[str, float]) -> np.ndarray:
    return np.array([
        math.log(value) / math.log(RISE_WITHIN if quantity == "rise_time" else WITHIN)
        for quantity, value in found.items()
    ])  # fmt: skip


@cache
def fitted_gas(name: str, largest: float) -> Source:
    """Return a pair's case with bottle, fill, orifice, room, pins and friction fitted.

    Carbon dioxide as a perfect gas; from the best three of a coarse grid, since where the joint
    does not separate nothing leads to where it separates.

    Parameters
    ----------
    name : str
        Of the record.
    largest : float
        Largest bottle [m^3].
    """
    (record,) = (record for record in records() if record.name == name)
    bare = replace(record.case, powder=None)

    def case_at(x: np.ndarray) -> Case:
        case = with_free_volume(bare, between(FREE[name], x[0]))
        case = with_value(case, "pins.strength", between(PINS, x[1]))
        case = with_value(case, "joint.pull_off", between(FIT, x[2]))
        bottle = ColdGas(
            gas="carbon dioxide", volume=between((LEAST_BOTTLE, largest), x[3]),
            pressure=between(FILL, x[4]), orifice=between(ORIFICE, x[5]),
        )  # fmt: skip
        return replace(case, cold_gas=bottle)

    def errors(x: np.ndarray) -> np.ndarray:
        return _errors(ratios(record, simulate(case_at(x))))

    grid = product((0.1, 0.4), (0.45, 0.6), (0.5,), (0.7, 0.95), (0.95,), (0.4, 0.5, 0.6, 0.8))
    starts = sorted(grid, key=lambda x: float(np.sum(errors(np.array(x)) ** 2)))[:3]
    tries = [
        least_squares(errors, start, bounds=(0.0, 1.0), diff_step=0.01, xtol=1e-4, ftol=1e-4,
                      max_nfev=40)
        for start in starts
    ]  # fmt: skip
    case = case_at(min(tries, key=lambda found: found.cost).x)
    result = simulate(case)
    return Source(case, result, ratios(record, result))
