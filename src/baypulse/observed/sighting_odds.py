"""How likely a sighting is, given a simulated shot; and what somebody would report of one."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import expit

from baypulse.case import charge_fields, cord_fields, equivalent_holes, geometry, library, params
from baypulse.case.model import Case
from baypulse.observed.cause_ensemble import CauseEnsemble
from baypulse.observed.causes import PLACES, vents
from baypulse.observed.sightings import Sighting, SightingKind, answered, available, measured
from baypulse.observed.slide_distance import without_cord
from baypulse.run.result import Parachute, Verdict

LEAST_TRAVEL = 0.5e-3
"""Travel of a joint that stuck from which there is something to measure [m]."""

Array = np.ndarray


@dataclass(frozen=True)
class Traces:
    """What members leave to be seen, one after another over several ensembles.

    Attributes
    ----------
    kinds : dict
        What can be seen in this case.
    answers : dict
        By kind, the chance that each answer is the right one, shape (members, answers).
    numbers : dict
        By kind, the true value [SI], shape (members,); NaN where there is none.
    usable : ndarray of bool, shape (members,)
        Members that count.
    """

    kinds: dict[str, SightingKind]
    answers: dict[str, Array]
    numbers: dict[str, Array]
    usable: Array


def traces(case: Case, ensembles: Sequence[CauseEnsemble]) -> Traces:
    """Return what the members of several ensembles leave to be seen.

    Parameters
    ----------
    case : Case
        As it was meant to be.
    ensembles : sequence of CauseEnsemble
        Of this case.
    """
    kinds = available(case)
    answers = {
        name: np.concatenate([_left(kind, each) for each in ensembles])
        for name, kind in kinds.items()
        if kind.answers
    }
    numbers = {
        name: np.concatenate([_left(kind, each) for each in ensembles])
        for name, kind in kinds.items()
        if not kind.answers
    }
    usable = np.concatenate([each.usable for each in ensembles])
    return Traces(kinds, answers, numbers, usable)


def likelihood(sighting: Sighting, seen: Traces) -> Array:
    """Return the chance, density for a number, of a sighting given each member.

    Parameters
    ----------
    sighting : Sighting
        Of a kind that the case has.
    seen : Traces
        Of the members.

    Returns
    -------
    ndarray, shape (members,)

    Notes
    -----
    An answer: sum over the answers of the chance that it is right, times the chance that it is
    reported so. A number x of a true value m: (1 - g) N(ln x; ln m, s) / x + g / (x ln(high/low)),
    with s^2 = error^2 + (floor/m)^2 and g the chance of a gross mistake; where there is no true
    value (a joint that did not separate has no velocity) only the mistake is left.
    """
    kind = sighting.kind
    if sighting.answer is not None:
        reports = np.array(
            [kind.report(right)[sighting.answer] for right in range(len(kind.answers))]
        )
        return np.asarray(seen.answers[kind.name] @ reports)
    assert sighting.value is not None
    centre, width = _spread(kind, seen.numbers[kind.name], sighting.error)
    score = (math.log(sighting.value) - centre) / width
    density = np.exp(-0.5 * score**2) / (math.sqrt(2.0 * math.pi) * width * sighting.value)
    mistake = kind.gross * kind.anything(sighting.value)
    return np.nan_to_num((1.0 - kind.gross) * density, nan=0.0) + mistake


def report(
    kind: SightingKind, seen: Traces, member: int, rng: np.random.Generator
) -> Sighting | None:
    """Return what somebody reports of a member, mistakes included.

    Parameters
    ----------
    kind : Kind
        What is asked.
    seen : Traces
        Of the members.
    member : int
        Which.
    rng : numpy.random.Generator
        Of the mistakes.

    Returns
    -------
    Sighting or None
        None where there is no number to report.
    """
    if kind.answers:
        right = int(rng.choice(len(kind.answers), p=seen.answers[kind.name][member]))
        return answered(kind, int(rng.choice(len(kind.answers), p=kind.report(right))))
    ends = math.log(kind.low), math.log(kind.high)
    if rng.random() < kind.gross:
        return measured(kind, math.exp(rng.uniform(*ends)))
    centre, width = _spread(kind, seen.numbers[kind.name][member : member + 1], None)
    if np.isnan(centre[0]):
        return None
    logarithm = float(np.clip(centre[0] + width[0] * rng.standard_normal(), *ends))
    return measured(kind, min(max(math.exp(logarithm), kind.low), kind.high))


def _spread(kind: SightingKind, true: Array, error: float | None) -> tuple[Array, Array]:
    """Return mean and standard deviation of the logarithm of what is measured."""
    share, floor = (kind.error, kind.floor) if error is None else (0.0, error)
    # what is lost in the floor is read as the floor
    centre = np.maximum(true, floor)
    return np.log(centre), np.sqrt(share**2 + (floor / centre) ** 2)


def _rises(value: Array, mark: float, width: float) -> Array:
    """Return 1/(1 + (mark/value)^(1/width)), the soft step from 0 to 1 at a mark."""
    return np.asarray(expit((np.log(np.maximum(value, 1e-12)) - math.log(mark)) / width))


def _left(kind: SightingKind, members: CauseEnsemble) -> Array:
    """Return what members leave to be seen; a diagnosis looks at the same ones many times."""
    if kind.name not in members.left:
        found = _answers(kind, members) if kind.answers else _number(kind.name, members)
        members.left[kind.name] = found
    return members.left[kind.name]


def _answers(kind: SightingKind, members: CauseEnsemble) -> Array:
    """Return the chance that each answer is right, shape (members, answers)."""
    found = _ANSWERS[kind.name](kind, members)
    # a member that does not count may lack numbers; what stands here then is not used
    return np.where(members.usable[:, None], found, 1.0 / len(kind.answers))


def _outcome(kind: SightingKind, members: CauseEnsemble) -> Array:
    verdict = members.outcomes.verdict
    stayed = members.outcomes.contents == Parachute.STAYS_IN.code
    hard = verdict == Verdict.SEPARATES_TOO_HARD.code
    opens = verdict == Verdict.SEPARATES.code
    return np.stack(
        [
            verdict == Verdict.NO_SEPARATION.code,
            verdict == Verdict.PARTIAL_SEPARATION.code,
            # of two things that went wrong either is told
            (opens & stayed) + 0.5 * (hard & stayed),
            opens & ~stayed,
            (hard & ~stayed) + 0.5 * (hard & stayed),
        ],
        axis=1,
    ).astype(float)


def _pins(kind: SightingKind, members: CauseEnsemble) -> Array:
    pins = members.case.pins
    assert pins is not None
    failed = members.outcomes.column("pins_failed")
    whole, every = failed < 0.5, failed > pins.count - 0.5
    return np.stack([whole, ~whole & ~every, every], axis=1).astype(float)


def _sound(kind: SightingKind, members: CauseEnsemble) -> Array:
    marks = kind.marks
    width = marks["width"]
    peak = members.outcomes.column("peak_pressure")
    rise = members.outcomes.column("peak_time") - _start(members)
    heard = _rises(peak, marks["heard_pressure"], width)
    sharp = _rises(peak, marks["pop_pressure"], width) * (
        1.0 - _rises(np.nan_to_num(rise, nan=1.0), marks["pop_rise"], width)
    )
    return np.stack([heard * sharp, heard * (1.0 - sharp), 1.0 - heard], axis=1)


def _start(members: CauseEnsemble) -> Array:
    """Return when gas begins to fill the bay [s]: the holder bursts, or the source starts."""
    drawn = members.drawn
    begins = (
        drawn.powder.ignition_delay
        if drawn.powder is not None
        else drawn.cold_gas.opening_delay
        if drawn.cold_gas is not None
        else 0.0
    )
    burst = members.outcomes.column("burst_time")
    return np.where(np.isnan(burst), begins, burst)


def _smoke(kind: SightingKind, members: CauseEnsemble) -> Array:
    amount = (
        members.outcomes.column("peak_pressure")
        / kind.marks["pressure"]
        * members.outcomes.column("burnt")
    )
    areas = _areas(members)
    jets = np.stack([np.broadcast_to(areas[place], amount.shape) for place in _SMOKE], axis=1)
    shown = np.column_stack([np.ones(amount.shape), jets / kind.marks["area"] * amount[:, None]])
    return np.asarray(shown / shown.sum(axis=1, keepdims=True))


LEAST_GAUGE = 1.0
"""Gauge pressure at which a slot is compared with a hole, at least [Pa]."""

_SMOKE = ("vent", "joint", *PLACES)
"""Places of smoke, in the order of the answers behind no smoke."""


def _areas(members: CauseEnsemble) -> dict[str, Array]:
    """Return the effective area of the holes at each place [m^2], shape (members,) or ()."""
    drawn = members.drawn
    open_joint = ~np.isnan(members.outcomes.column("clear_time"))
    # slots as holes of cold air at the peak, where most of the smoke leaves
    gauge = np.maximum(members.outcomes.column("peak_pressure"), LEAST_GAUGE)
    gap = equivalent_holes.gap_area(drawn, gauge)
    found = {place: np.zeros(()) for place in _SMOKE}
    found["joint"] = gap + params.LEAK_DISCHARGE * open_joint * geometry.bore_area(drawn)
    small = vents(members.case)
    for k, hole in enumerate(drawn.openings):
        ends = {hole.between, hole.to}
        if "bay" not in ends:
            continue
        place = "vent" if k in small else "motor end"
        if hole.name == PLACES[1] or "electronics" in ends:
            place = PLACES[1]
        found[place] = found[place] + equivalent_holes.opening_area(drawn, hole, gauge)
    return found


def _residue(kind: SightingKind, members: CauseEnsemble) -> Array:
    # grains that the gas carries out are not found in the bay, and what stays inside burns on when
    # the run is over: there lies what did not burn at all
    marks, burnt = kind.marks, _ceiling(members)
    grains = 1.0 - _rises(burnt, marks["grains_below"], marks["width"])
    clean = _rises(burnt, marks["dirty_below"], marks["width"])
    return np.stack([clean, (1.0 - clean) * (1.0 - grains), (1.0 - clean) * grains], axis=1)


def _ceiling(members: CauseEnsemble) -> Array:
    """Return the share of the charge that burns in the end, shape (members,)."""
    drawn = members.drawn
    assert drawn.powder is not None
    grain = library.powder(drawn.powder.grade, drawn.materials)
    pressure = geometry.air(drawn)[0]
    share = charge_fields.burnable_fraction(drawn.powder, grain, pressure, drawn.holder is None)
    return np.broadcast_to(np.asarray(share, dtype=float), members.outcomes.verdict.shape)


def _scorch(kind: SightingKind, members: CauseEnsemble) -> Array:
    drawn = members.drawn
    assert drawn.powder is not None
    # a run ends before a shut bay has burnt all its grains
    shut = np.isnan(members.outcomes.column("clear_time"))
    share = np.where(shut, _ceiling(members), members.outcomes.column("burnt"))
    burnt = share * drawn.powder.mass / geometry.bore_area(drawn)
    yes = _rises(burnt, kind.marks["powder"], kind.marks["width"])
    return np.stack([yes, 1.0 - yes], axis=1)


def _electronics(kind: SightingKind, members: CauseEnsemble) -> Array:
    pulse = members.outcomes.column("electronics_pulse")
    yes = _rises(np.nan_to_num(pulse), kind.marks["pulse"], kind.marks["width"])
    return np.stack([yes, 1.0 - yes], axis=1)


_ANSWERS = {
    "outcome": _outcome, "pins": _pins, "sound": _sound, "smoke": _smoke, "residue": _residue,
    "scorch": _scorch, "electronics": _electronics,
}  # fmt: skip


def _number(name: str, members: CauseEnsemble) -> Array:
    """Return the true value of what can be measured, NaN where there is none, shape (members,)."""
    column = members.outcomes.column
    if name == "travel":
        travel = column("greatest_travel")
        stuck = np.isnan(column("clear_time")) & (travel > LEAST_TRAVEL)
        return np.where(stuck, travel, np.nan)
    if name == "slide":
        return _slide(members)
    return column(
        {"time": "clear_time", "velocity": "clear_velocity", "peak": "peak_pressure"}[name]
    )


def _slide(members: CauseEnsemble) -> Array:
    """Return how far the leaving section slides, to the end of its cord at the farthest [m]."""
    speeds = members.outcomes.column("greatest_velocity").tolist()
    far = np.array([without_cord(members.case, speed) for speed in speeds])
    if members.case.cord is not None:
        drawn = members.drawn
        far = np.minimum(far, cord_fields.taut_travel(drawn))
    return np.where(np.isfinite(far), far, np.nan)
