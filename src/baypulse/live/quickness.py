"""Slow, middle and quick powder: the widest unknown of a charge, as one slider."""

from __future__ import annotations

import math

from baypulse.case import library, quantities
from baypulse.case.held_value import with_value
from baypulse.case.library import address
from baypulse.case.model import Case

PATH = "powder.rate_factor"
"""Key that multiplies the rate at which the powder burns."""

TENTH = 1.2816
"""Standard deviations from the middle to the slow, or the quick, tenth of a normal law."""

PRESSURE = 2e5
"""A usual absolute pressure of a bay [Pa], at which the spread of the exponent is taken; our
choice."""

STEPS = (-1.0, -0.5, 0.0, 0.5, 1.0)
"""Places of the slider, in distances from the middle to the quick tenth."""

NAMES = ("slow", "rather slow", "middle", "rather quick", "quick")
"""What its places are called."""


def scatters(case: Case) -> bool:
    """Say whether the case burns powder."""
    return case.powder is not None


def factor(case: Case, step: float) -> float:
    """Return the factor on the rate of burning at a place of the slider.

    The library's spreads of the burning time of a bed and of its pressure exponent, independent of
    each other, as one log-normal factor on the rate.

    Parameters
    ----------
    case : Case
        With powder.
    step : float
        -1 for the slow tenth, 0 for the middle, 1 for the quick tenth.
    """
    assert case.powder is not None
    grade = case.powder.grade
    time, exponent, reference = (
        library.fact(address("powders", grade, name))
        for name in ("bed_time", "bed_exponent", "bed_pressure")
    )
    lever = math.log(reference.value / PRESSURE)
    deviation = math.hypot(time.spread / time.value, exponent.spread * lever)
    return math.exp(step * TENTH * deviation)


def held_at(case: Case, step: float) -> Case:
    """Return the case with its powder as slow or as quick as a place of the slider; gas as it is.

    Parameters
    ----------
    case : Case
        With any charge.
    step : float
        As in :func:`factor`.
    """
    if case.powder is None:
        return case
    return with_value(case, PATH, case.powder.rate_factor * factor(case, step))


def texts(case: Case) -> list[str]:
    """Return what a case file says at each place of the slider.

    Parameters
    ----------
    case : Case
        With powder.
    """
    assert case.powder is not None
    return [
        quantities.digits(case.powder.rate_factor * factor(case, step)) for step in STEPS
    ]  # fmt: skip
