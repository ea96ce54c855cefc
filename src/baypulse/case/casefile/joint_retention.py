"""What holds a joint, and how far that scatters, to first order.

A study draws the joint of its own bay number by number. Of the joints of other bays a case has
room for one number, their hold, so its spread is put together here.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Callable, Iterator
from functools import partial
from typing import NamedTuple

import numpy as np

from baypulse.case import geometry, library, params
from baypulse.case.casefile.keys import LIBRARY, put_at, value_at
from baypulse.case.geometry import Floats
from baypulse.case.library import address
from baypulse.case.model import Case, Spread

BATCH = "batch"
"""Group of the strengths of pins that were not measured."""

BATCH_CORRELATION = 0.5
"""Share of the variance of a pin's strength that its whole batch has in common; estimate."""

_SHEAR = ".shear_strength"
"""What the path of a pin material's strength ends in."""

_STEP = 1e-3
"""Share of its deviation by which an input is moved to see what the hold does."""


class _Part(NamedTuple):
    """One input's standard deviation of the hold [N], its group, and what it shares with that."""

    deviation: float
    group: str
    correlation: float


def slow_hold(case: Case) -> Floats:
    """Return what holds a joint in a slow pull [N]: friction, seal, and each pin or its hole.

    Parameters
    ----------
    case : Case
        The joint's bay, or its members.
    """
    held = geometry.static_hold(case)
    return held.friction + held.seal + params.slow_pins(case).sum(axis=-1)


def hold(case: Case) -> float:
    """Return the force that parts a joint [N]: friction, seal, and each pin or its hole.

    Of a slow pull. A jerk or a quick rise of pressure finds pins stronger
    (:func:`baypulse.case.geometry.rate_gain`); that is left out, on the safe side for a joint that
    must hold.

    Parameters
    ----------
    case : Case
        The joint's bay.
    """
    return float(slow_hold(case))


def hold_deviation(case: Case) -> float:
    """Return the standard deviation of that force [N].

    The hold is taken as linear in its inputs: var = sum over all pairs of d_i d_j r_ij, with
    d = (dH/dq) sigma_q of each input q, and r_ij = sqrt(r_i r_j) for inputs of one group, such as
    the pins of a batch, else 0 for two different inputs (first-order propagation; JCGM 100:2008,
    section 5.2, from memory). What it cannot see is a hole that tears in a few members only: in
    bench-76, with its wall of card, it gives 9 % too little.

    Parameters
    ----------
    case : Case
        The joint's bay, with the spreads of its file; what its file does not say scatters as the
        library says.
    """
    parts = list(_parts(case))
    variance = sum(part.deviation**2 for part in parts)
    groups: dict[str, list[_Part]] = defaultdict(list)
    for part in parts:
        if part.group:
            groups[part.group].append(part)
    for members in groups.values():
        common = [part.deviation * math.sqrt(part.correlation) for part in members]
        variance += sum(common) ** 2 - sum(each**2 for each in common)
    return math.sqrt(max(variance, 0.0))


def deviation_of(spread: Spread, value: float) -> float:
    """Return the standard deviation of a spread, before it is cut.

    Parameters
    ----------
    spread : Spread
        Of a number.
    value : float
        The number: the mode of a triangular distribution.
    """
    if spread.distribution == "sample":
        return float(np.std(spread.sample))
    if spread.distribution in ("uniform", "triangular"):
        low, high = spread.low or 0.0, spread.high or 0.0
        if spread.distribution == "uniform":
            return (high - low) / math.sqrt(12.0)
        a, b, c = low, high, value
        return math.sqrt((a * a + b * b + c * c - a * b - a * c - b * c) / 18.0)
    return spread.deviation or 0.0


def _parts(case: Case) -> Iterator[_Part]:
    """Yield what each input adds, every pin for itself."""
    for path, spread in case.spreads.items():
        value = value_at(case, path)
        if value is None:
            continue
        step = deviation_of(spread, value)
        slope = _slope(partial(put_at, case, path), value, step)
        # pins of one measured strength scatter one by one
        alike = path.endswith(_SHEAR) and not spread.group
        group = BATCH if alike else spread.group
        correlation = BATCH_CORRELATION if alike else spread.correlation if group else 0.0
        yield from _of_each(case, path, slope * step, group, correlation)
    for place in _library_places(case):
        if place in case.materials:
            continue
        fact = library.fact(place)
        path = LIBRARY + place
        part = _slope(partial(put_at, case, path), fact.value, fact.spread) * fact.spread
        if path.endswith(_SHEAR):
            yield from _of_each(case, path, part, BATCH, BATCH_CORRELATION)
        else:
            yield _Part(part, "", 0.0)


def _of_each(
    case: Case, path: str, deviation: float, group: str, correlation: float
) -> Iterator[_Part]:
    """Yield the part of an input, of a strength that of every pin."""
    pins = case.pins is not None and (path == "pins.strength" or path.endswith(_SHEAR))
    count = case.pins.count if pins and case.pins is not None else 1
    for _ in range(count):
        yield _Part(deviation / count, group, correlation)


def _slope(changed: Callable[[float], Case], value: float, deviation: float) -> float:
    """Return how fast the hold changes with an input, by a central difference."""
    step = _STEP * deviation
    if step == 0.0:
        return 0.0
    return (hold(changed(value + step)) - hold(changed(value - step))) / (2.0 * step)


def _library_places(case: Case) -> Iterator[str]:
    """Yield the addresses of the library's numbers that this hold depends on."""
    joint, pins = case.joint, case.pins
    if joint.fit is not None and joint.pull_off is None:
        yield address("fits", joint.fit, "shear")
    if pins is None:
        return
    yield address("walls", case.bay.wall, "bearing_strength")
    yield address("threads", pins.thread, "major_diameter")
    if pins.strength is None:
        yield address("threads", pins.thread, "root_diameter")
        for name in ("shear_strength", "temperature_slope", "moisture_slope"):
            yield address("pin materials", pins.material, name)
