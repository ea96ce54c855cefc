"""Members of an ensemble: points of the unit cube, the values they stand for, the core's records.

A block's points depend on the seed and its number alone, so that any block can be made anywhere
and in any order. Points become normal scores, scores become values: nothing here is random but
:func:`unit_points`.

Values that scatter together share a normal score (a Gaussian copula of one factor): z = sqrt(r)
z_group + sqrt(1 - r) z_own, with r the value's ``correlation``.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import lru_cache
from typing import Any

import numpy as np
from scipy.special import ndtr, ndtri

from baypulse.case import params, quantities
from baypulse.case.casefile import consistency
from baypulse.case.casefile.keys import key_at, put_all
from baypulse.case.casefile.spreads import log_deviation, scores_of_bounds
from baypulse.case.model import Case, Provenance, Spread
from baypulse.case.spec import Number
from baypulse.engine.layout import M_A2
from baypulse.engine.parameters import Parameters, pack_members
from baypulse.members import sobol
from baypulse.members.factors import (
    LIBRARY,
    Factor,
    differs_by_pin,
    nominal_at,
    pin_count,
    spread_at,
)
from baypulse.members.parts import StudyError

Array = np.ndarray

BLOCK = 2**sobol.DIGITS
"""Members of a block."""

SAMPLINGS = ("sobol", "latin")
"""Scrambled Sobol' points, and Latin hypercubes."""

PART = 8 * BLOCK
"""Members whose values are drawn at a time: what it takes on the way is five times as much."""

KEPT_BLOCKS = 8
"""Blocks of points that are kept: a search draws the same for every change that it tries."""


@lru_cache(KEPT_BLOCKS)
def unit_points(seed: int, block: int, dimensions: int, sampling: str = "sobol") -> Array:
    """Return the points of one block.

    Parameters
    ----------
    seed : int
        Of the study, at least 0.
    block : int
        Number of the block, from 0.
    dimensions : int
        Columns.
    sampling : str
        One of :data:`SAMPLINGS`.

    Returns
    -------
    ndarray, shape (BLOCK, dimensions)
        Each uniform between 0 and 1, both excluded. Blocks are independent as a whole; their
        rows are not, since row for row Sobol' points begin with the same digits: never pair them.
        They cannot be written to: who asks for a block again is given the same one.

    Notes
    -----
    Ten digits of a Sobol' point tell all points of a block apart in every column. They are
    scrambled (linear matrix scramble and digital shift), the digits behind them are random: so
    Owen's scrambling leaves them too, and to scramble all thirty would take five times as long.

    References
    ----------
    A. B. Owen, Scrambling Sobol' and Niederreiter-Xing points, J. Complexity 14 (1998) 466
    (from memory).
    """
    root = np.random.SeedSequence(seed, spawn_key=(block,))
    first, second = (np.random.default_rng(child) for child in root.spawn(2))
    if dimensions == 0:
        return np.empty((BLOCK, 0))
    if sampling == "sobol":
        points = second.random((BLOCK, dimensions))
        even = points[:, : sobol.MOST]  # what lies beyond is drawn at random
        even /= BLOCK
        # from a child, as SciPy draws them: so they are the same
        even += sobol.scrambled(even.shape[1], first.spawn(1)[0])
    elif sampling == "latin":
        # the package of statistics takes half a second to load
        from scipy.stats import qmc

        points = qmc.LatinHypercube(dimensions, rng=first).random(BLOCK)
    else:
        raise ValueError(f'the sampling is "sobol" or "latin", not "{sampling}"')
    points = np.clip(points, np.finfo(float).tiny, 1.0 - np.finfo(float).epsneg)
    points.flags.writeable = False
    return points


def many_points(seed: int, members: int, dimensions: int, skip: int = 0) -> Array:
    """Return points of as many blocks as the members need.

    Parameters
    ----------
    seed : int
        Of the study, at least 0.
    members : int
        How many; the last block is cut to them.
    dimensions : int
        Columns.
    skip : int
        Blocks of the seed to leave for others.

    Returns
    -------
    ndarray, shape (members, dimensions)
        As from :func:`unit_points`.
    """
    points = np.empty((members, dimensions))
    for block, start in enumerate(range(0, members, BLOCK), skip):
        part = points[start : start + BLOCK]
        part[:] = unit_points(seed, block, dimensions)[: part.shape[0]]
    return points


def values(case: Case, factors: Sequence[Factor], u: Array) -> dict[str, Array]:
    """Return what every member's values are.

    Parameters
    ----------
    case : Case
        The case.
    factors : sequence of Factor
        What scatters, from :func:`baypulse.members.factors.factors`; what is left out keeps its
        nominal value, or the middle of what its group leaves it.
    u : ndarray, shape (members, dimensions)
        Points between 0 and 1, both excluded.

    Returns
    -------
    dict
        By path, arrays of shape (members,), or (members, pins) for the strength of pins.
    """
    whole: dict[str, Array] = {}
    for start in range(0, max(u.shape[0], 1), PART):
        part = u[start : start + PART]
        # exact: the upper half of the unit interval has no finer numbers
        for path, drawn in _from_tails(case, factors, part - (part >= 0.5)).items():
            if path not in whole:
                whole[path] = np.empty((u.shape[0], *drawn.shape[1:]))
            whole[path][start : start + PART] = drawn
    return whole


def from_scores(case: Case, factors: Sequence[Factor], z: Array) -> dict[str, Array]:
    """Return what every member's values are, from standard normal scores.

    Parameters
    ----------
    case, factors
        As for :func:`values`.
    z : ndarray, shape (members, dimensions)
        Scores; tails are kept accurate to beyond 8 standard deviations on either side.

    Returns
    -------
    dict
        As for :func:`values`.
    """
    return _from_tails(case, factors, _tails(z))


def truncations(case: Case) -> list[str]:
    """Return a sentence for every spread of which the allowed range cuts off more than 0.1 %."""
    return [f"{path}: {sentence}" for path, sentence in consistency.truncations(case, asked=False)]


def member_case(case: Case, values: Mapping[str, Any]) -> Case:
    """Return a case with values put in their places.

    Parameters
    ----------
    case : Case
        The case.
    values : mapping
        By path, numbers or arrays from :func:`values`.

    Returns
    -------
    Case
        Not validated: its numbers may be impossible together.
    """
    return put_all(case, values)


def one_member(case: Case, values: Mapping[str, Array], index: int) -> Case:
    """Return one member as a case of its own, to be run and drawn like any other.

    Parameters
    ----------
    case : Case
        The case.
    values : mapping
        From :func:`values`.
    index : int
        Row of the member.

    Returns
    -------
    Case
        Its numbers are floats (a tuple of them for the strength of pins that differ); it does
        not scatter, and what was drawn says so in its provenance.
    """
    drawn: dict[str, Any] = {}
    for path, column in values.items():
        row = column[index].tolist()
        drawn[path] = tuple(row) if isinstance(row, list) else row
    provenance = dict(case.provenance)
    for path, value in drawn.items():
        spec = None if path.startswith(LIBRARY) else key_at(path).spec
        if isinstance(spec, Number):
            numbers = value if isinstance(value, tuple) else (value,)
            shown = ", ".join(quantities.show(number, spec.dimension) for number in numbers)
            line = case.provenance[path].line if path in case.provenance else None
            provenance[path] = Provenance(text=shown, origin="drawn", line=line)
    member = member_case(case, drawn)
    # the text says what the values scatter about, not what they are
    return replace(member, provenance=provenance, spreads={}, source_text="")


def records(
    case: Case, values: Mapping[str, Array], members: int = BLOCK
) -> tuple[np.recarray, Parameters]:
    """Return the members as the compiled core reads them.

    Parameters
    ----------
    case : Case
        The case.
    values : mapping
        From :func:`values`.
    members : int
        How many there are.

    Returns
    -------
    records : recarray, shape (members,)
        Of impossible members too: see :func:`possible`.
    P : Parameters
        The same as arrays, with the members as first axis where they differ.
    """
    P = params.parameters(member_case(case, values))
    return pack_members(P, members), P


def possible(P: Parameters, members: int = BLOCK) -> Array:
    """Return which members can be run: those with room for air in every volume.

    Parameters
    ----------
    P : Parameters
        From :func:`records`.
    members : int
        How many there are.

    Returns
    -------
    ndarray of bool, shape (members,)
        False where contents, grains or holder fill the bay, or the grains their holder.
    """
    air = P.initial[..., M_A2]
    return np.broadcast_to((air > 0.0).all(axis=-1), (members,)).copy()


def some_possible(case: Case, values: Mapping[str, Array], members: int = BLOCK) -> Array:
    """Return which members can be run, as :func:`possible`, and refuse a case in which none can.

    Parameters
    ----------
    case : Case
        Of which the members are.
    values, members
        As for :func:`records`, but for any number of members: the parameters of one take kilobytes,
        so that they are looked at a block at a time.

    Raises
    ------
    StudyError
        If no member has room; the sentence names what fills it.
    """
    found = np.empty(members, bool)
    for start in range(0, members, BLOCK):
        some = slice(start, min(start + BLOCK, members))
        drawn = member_case(case, {path: column[some] for path, column in values.items()})
        found[some] = possible(params.parameters(drawn), some.stop - start)
    if found.any():
        return found
    told = [f"{path}: {sentence}" for path, sentence in consistency.problems(case)]
    told = told or ["the spreads of the packed volume and of the bay's dimensions reach too far"]
    raise StudyError(
        f"{case.name}: none of {members:,} simulated shots has room for its contents and grains, "
        f"so none can be fired. {'; '.join(told)}. Give less of what fills it, or more room"
    )


def _tails(z: Array) -> Array:
    """Return the share of a normal distribution beyond each score, negative in the upper half."""
    return np.copysign(np.maximum(ndtr(-np.abs(z)), np.finfo(float).tiny), -z)


def _from_tails(case: Case, factors: Sequence[Factor], tails: Array) -> dict[str, Array]:
    """Return values from the signed shares of :func:`_tails`, shape (members, dimensions)."""
    drawn = _shared(case, factors, tails)
    bounded = {
        path: tail
        for path, tail in drawn.items()
        if spread_at(case, path).distribution in ("normal", "log-normal")
    }
    found = _from_bounded(case, bounded)
    for path in drawn.keys() - bounded.keys():
        found[path] = _from_shape(spread_at(case, path), nominal_at(case, path), drawn[path])
    return {path: found[path] for path in drawn}


def _shared(case: Case, factors: Sequence[Factor], tails: Array) -> dict[str, Array]:
    """Return the signed share of every value, its group's score and its own put together."""
    found: dict[str, Array] = {}
    mixed: dict[str, Array] = {}
    for factor in factors:
        columns = (
            tails[:, factor.columns] if len(factor.columns) > 1 else tails[:, factor.columns[0]]
        )
        for path in factor.paths:
            spread = spread_at(case, path)
            each = differs_by_pin(path) and columns.ndim == 1
            part = np.repeat(columns[:, None], pin_count(case, path), axis=1) if each else columns
            found[path] = part
            if not spread.group or spread.correlation == 1.0:
                continue
            share = spread.correlation if factor.common else 1.0 - spread.correlation
            score = math.sqrt(share) * np.sign(part) * ndtri(np.abs(part))
            mixed[path] = mixed[path] + score if path in mixed else score
    return found | {path: _tails(score) for path, score in mixed.items()}


def _from_bounded(case: Case, given: Mapping[str, Array]) -> dict[str, Array]:
    """Return normal and log-normal values, all in one go: a row for each of their columns.

    With F(x) = (Phi(x) - Phi(a)) / (Phi(b) - Phi(a)) between the cuts a and b, a <= 0 <= b, in
    standard deviations: each is solved from its nearer tail, so that no digits are lost in either.
    """
    if not given:
        return {}
    marks = [_marks(nominal_at(case, path), spread_at(case, path)) for path in given]
    heights = [tail.shape[1] if tail.ndim == 2 else 1 for tail in given.values()]
    value, scale, curved, low, high, a, b = np.repeat(marks, heights, axis=0).T[..., None]
    rows = np.vstack([tail.T for tail in given.values()])
    below, above = ndtr(a), ndtr(-b)
    side = np.sign(rows)
    np.abs(rows, out=rows)
    rows *= 1.0 - below - above
    # products, since to choose one by one takes ten times as long
    rows += (side > 0.0) * below
    rows += (side < 0.0) * above
    ndtri(rows, out=rows)
    rows *= side * scale
    bent = curved[:, 0] > 0.0
    rows[bent] = value[bent] * np.exp(rows[bent])
    rows[~bent] += value[~bent]
    np.clip(rows, low, high, out=rows)  # rounding must not leave the bounds
    parts = np.split(rows, np.cumsum(heights[:-1]))
    return {
        path: part.T if tail.ndim == 2 else part[0]
        for (path, tail), part in zip(given.items(), parts, strict=True)
    }


def _marks(value: float, spread: Spread) -> tuple[float, ...]:
    """Return value, deviation, whether of the logarithm, bounds, and bounds in deviations."""
    deviation = spread.deviation or 0.0
    curved = spread.distribution == "log-normal"
    return (
        value,
        log_deviation(value, deviation) if curved else deviation,
        float(curved),
        -math.inf if spread.low is None else spread.low,
        math.inf if spread.high is None else spread.high,
        *scores_of_bounds(value, spread),
    )


def _from_shape(spread: Spread, value: float, tails: Array) -> Array:
    """Return values of a uniform, triangular or measured distribution.

    A sample is drawn as it is: each measured value with the same chance. To smooth or to
    interpolate it would invent values and, between few of them, lose much of their variance.
    """
    lower = tails > 0.0
    below, above = np.where(lower, tails, 1.0 + tails), np.where(lower, 1.0 - tails, -tails)
    if spread.distribution == "sample":
        measured = np.sort(spread.sample)
        return measured[np.minimum((below * measured.size).astype(int), measured.size - 1)]
    low, high = spread.low, spread.high
    assert low is not None and high is not None
    width = high - low
    if spread.distribution == "uniform":
        return np.where(lower, low + width * below, high - width * above)
    rising = low + np.sqrt(below * width * (value - low))
    falling = high - np.sqrt(above * width * (high - value))
    return np.where(below * width < value - low, rising, falling)
