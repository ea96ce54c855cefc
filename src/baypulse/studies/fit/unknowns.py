"""Which numbers of a case can be fitted, and what is taken as known of them before.

A number that is fitted needs a prior: the spread that the case file gives it, else the library's,
else one of those here. All other numbers that scatter keep their spread and go along, so that an
interval holds what is not known of them too.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from baypulse.case import charge_fields, geometry, library, params
from baypulse.case.casefile.joint_retention import BATCH_CORRELATION, deviation_of
from baypulse.case.casefile.keys import key_at, number_at, place_of, renamed, tables, value_at
from baypulse.case.model import Case, Spread
from baypulse.case.spec import Number
from baypulse.members.draws import member_case
from baypulse.members.factors import LIBRARY, Factor, acts, factors
from baypulse.members.parts import StudyError
from baypulse.spelling import near

PINS_GROUP = "pins"
"""Name of what all pins have in common."""


@dataclass(frozen=True)
class WordOfNumber:
    """A number that can be fitted by a word of its own.

    Attributes
    ----------
    word : str
        How it is asked for.
    path : str
        Its place in the case.
    label : str
        What it is called.
    share : float
        Standard deviation over the value where neither case nor library has a spread; an estimate.
    low, high : float or None
        Where that is cut, SI; the range of the key where None.
    value : callable or None
        From the case, its value where the case has none.
    replaces : callable
        From the case, the endings of the library's numbers that it stands for.
    """

    word: str
    path: str
    label: str
    share: float
    low: float | None = None
    high: float | None = None
    value: Callable[[Case], float] | None = None
    replaces: Callable[[str], bool] = lambda _: False


@dataclass(frozen=True)
class Unknown:
    """A number that is fitted.

    Attributes
    ----------
    path, label, dimension : str
        Its place in the case, what it is called, and its kind.
    value : float
        Before the fit, SI.
    spread : Spread
        How it is taken to scatter before the fit.
    origin : str
        Where that comes from, in words.
    """

    path: str
    label: str
    dimension: str
    value: float
    spread: Spread
    origin: str


def _burnt(case: Case) -> float:
    assert case.powder is not None
    data = library.powder(case.powder.grade, case.materials)
    pressure = geometry.air(case)[0]
    return float(charge_fields.burnable_fraction(case.powder, data, pressure, case.holder is None))


CHOICES = {
    choice.word: choice
    for choice in (
        WordOfNumber("mixing", "bay.entrainment", "entrainment of air", 1.0, 0.01, 20.0),
        WordOfNumber(
            "burnt",
            "powder.burnable_fraction",
            "share of the charge that burns",
            0.15,
            0.05,
            1.0,
            _burnt,
            lambda name: name.endswith((".burnable_fraction", ".thin_air_full", ".thin_air_none")),
        ),
        WordOfNumber(
            "rate",
            "powder.rate_factor",
            "factor of the burning rate",
            0.5,
            0.05,
            20.0,
            None,
            lambda name: name.endswith((".rate", ".bed_time")),
        ),
        WordOfNumber(
            "friction",
            "joint.pull_off",
            "pull-off friction",
            0.4,
            None,
            None,
            lambda case: float(geometry.static_friction(case)),
            lambda name: name.startswith("library.fits."),
        ),
        WordOfNumber(
            "leak",
            "joint.clearance",
            "gap of the shoulder",
            1.0,
            0.0,
            1e-3,
            lambda case: max(case.joint.clearance, 3e-5),
        ),
        WordOfNumber("delay", "powder.ignition_delay", "ignition delay", 0.5, 1e-4, 0.5),
        WordOfNumber(
            "wall",
            "contents.exposed_area",
            "exposed area of cloth",
            0.7,
            1e-4,
            1.0,
            lambda case: params.CLOTH_FACES * float(geometry.bore_area(case)),
            lambda name: name.endswith(".exposure"),
        ),
        WordOfNumber(
            "pins",
            "pins.strength",
            "strength of a pin in a slow pull",
            0.15,
            None,
            None,
            lambda case: float(np.mean(geometry.pin_strengths(case))),
            lambda name: (
                (
                    name.startswith("library.pin materials.")
                    and not name.endswith(".rate_strengthening")
                )
                or (name.startswith("library.threads.") and name.endswith("root_diameter"))
            ),
        ),
    )
}
"""Words for what can be fitted. Any other number of the case that has a spread can be named by its
path. The shares are estimates: wide, so that a record can say what it has to. Mixing stands for the
pure number of the law of entrainment, which carries over to other bays."""

_INSTEAD: tuple[tuple[Callable[[Case], bool], WordOfNumber], ...] = (
    (lambda case: case.bay.mixing_time is not None,
     WordOfNumber("mixing", "bay.mixing_time", "mixing time", 0.7, 0.003, 0.3)),
    (lambda case: case.powder is None,
     replace(CHOICES["delay"], path="cold_gas.opening_delay", label="opening delay")),
)  # fmt: skip
"""What a word stands for in cases of a kind, in place of the above."""

ALWAYS = ("mixing", "burnt", "rate")
"""What is fitted where nothing is asked: what decides the pressure and nobody can measure."""

WITH_MOTION = ("friction",)
"""What is fitted besides where something was measured of the motion."""

WITH_RELEASE = ("pins",)
"""What is fitted besides where an acceleration was measured."""


def usual(case: Case, kinds: Sequence[str]) -> list[str]:
    """Return what is fitted where nothing is asked for.

    Parameters
    ----------
    case : Case
        The case.
    kinds : sequence of str
        What was measured: kinds of records, and words of single numbers.
    """
    words = ALWAYS + (WITH_MOTION if set(kinds) - {"pressure", "peak"} else ())
    words += WITH_RELEASE if "acceleration" in kinds else ()
    known = choices(case)
    return [word for word in words if value_at_or_none(case, known[word]) is not None]


def choices(case: Case) -> dict[str, WordOfNumber]:
    """Return what each word of :data:`CHOICES` stands for in a case."""
    return CHOICES | {choice.word: choice for fits, choice in _INSTEAD if fits(case)}


def value_at_or_none(case: Case, choice: WordOfNumber) -> float | None:
    """Return the value of a choice in a case; None where the case has no such table."""
    table, _, _ = place_of(choice.path)
    if getattr(case, table) is None:
        return None
    held = value_at(case, choice.path)
    if choice.value is not None and (held is None or choice.word == "leak"):
        return choice.value(case)
    return None if held is None else float(held)


def with_priors(case: Case, asked: Sequence[str]) -> tuple[Case, list[Unknown], list[Factor]]:
    """Return the case with a spread for all that is fitted, and what scatters in it.

    Parameters
    ----------
    case : Case
        The case.
    asked : sequence of str
        Words of :data:`CHOICES`, or paths.

    Returns
    -------
    case : Case
        With the priors as its spreads.
    unknowns : list of Unknown
        One for each that was asked for.
    factors : list of Factor
        All that scatters in that case, without the library's numbers that an unknown stands for.

    Raises
    ------
    StudyError
        Where something cannot be fitted in this case.
    """
    # a step is no slope: measured values are taken as a normal of the same middle and scatter
    case = replace(case, spreads={p: _smooth(case, p, s) for p, s in case.spreads.items()})
    unknowns: list[Unknown] = []
    left_out: list[Callable[[str], bool]] = []
    known = choices(case)
    for word in asked:
        choice = known.get(word) or next((c for c in known.values() if c.path == word), None)
        unknown = _chosen(case, choice) if choice is not None else _named(case, word)
        if any(unknown.path == other.path for other in unknowns):
            continue
        unknowns.append(unknown)
        case = member_case(case, {unknown.path: unknown.value})
        case = replace(case, spreads=case.spreads | {unknown.path: unknown.spread})
        if choice is not None:
            left_out.append(choice.replaces)
    found = [
        factor
        for factor in factors(case)
        if not (factor.name.startswith(LIBRARY) and any(stands(factor.name) for stands in left_out))
    ]
    return case, unknowns, found


def of_one_shot(case: Case, factor: Factor, unknowns: Sequence[Unknown]) -> bool:
    """Say whether a factor is drawn anew in every shot.

    What the case file lets scatter does, and each pin; a number of the library, and what is fitted,
    is the same in all shots.
    """
    if factor.name.endswith(", each pin") or len(factor.columns) > 1:
        return True
    fitted = any(unknown.path in factor.paths for unknown in unknowns)
    return not fitted and not factor.name.startswith(LIBRARY)


def _chosen(case: Case, choice: WordOfNumber) -> Unknown:
    """Return a choice as an unknown of this case."""
    table, _, _ = place_of(choice.path)
    value = value_at_or_none(case, choice)
    if value is None:
        raise StudyError(
            f"--unknown {choice.word}: this case has no [{table}], so there is no "
            f"{choice.label} to fit; leave it out"
        )
    spec = number_at(choice.path)
    given = case.spreads.get(choice.path)
    if choice.word == "pins":
        return _pins(case, choice, value, given, spec)
    if given is not None and value == value_at(case, choice.path):
        return Unknown(choice.path, choice.label, spec.dimension, value, given, "the case")
    low = spec.low if choice.low is None else choice.low
    high = spec.high if choice.high is None else choice.high
    kind = "normal" if choice.word == "burnt" else "log-normal"
    spread = Spread(distribution=kind, deviation=choice.share * value,
                    low=min(low, value), high=max(high, value))  # fmt: skip
    return Unknown(choice.path, choice.label, spec.dimension, value, spread, "an estimate")


def _pins(
    case: Case, choice: WordOfNumber, value: float, given: Spread | None, spec: Number
) -> Unknown:
    """Return the strength of the pins: what all have in common is fitted, each has its own part."""
    if given is not None and given.group:
        return Unknown(choice.path, choice.label, spec.dimension, value, given, "the case")
    deviation, origin = choice.share * value, "an estimate"
    if given is not None:
        deviation, origin = deviation_of(given, value), "the case, half of it in common"
    spread = Spread(
        distribution="normal", deviation=deviation, low=spec.low, high=spec.high,
        group=PINS_GROUP, correlation=BATCH_CORRELATION,
    )  # fmt: skip
    return Unknown(choice.path, choice.label, spec.dimension, value, spread, origin)


def _named(case: Case, path: str) -> Unknown:
    """Return a number that was named by its path; it must have a spread."""
    known = {p for p in case.spreads if isinstance(key_at(p).spec, Number) and value_at(case, p)}
    if path in known and not (path.startswith(LIBRARY) or acts(case, path, case.spreads[path])):
        raise StudyError(
            f"--unknown {path}: it does nothing in this case, where another value replaces it"
        )
    if path not in known:
        new = renamed(path, known)
        if new:
            raise StudyError(f"--unknown {path}: is now called {new}; write that")
        close = near(path, [*CHOICES, *known])
        hint = f'did you mean "{close}"?' if close else f"words are {', '.join(CHOICES)}"
        if _is_number(case, path):
            raise StudyError(
                f"--unknown {path}: the case gives it no spread, so nothing says where to look; "
                'write it as { value = "...", spread = "20 %" }'
            )
        raise StudyError(f"--unknown {path}: this case has no such number; {hint}")
    spec = number_at(path)
    label = path.replace("_", " ").replace(".", " ")
    value = float(value_at(case, path))
    return Unknown(path, label, spec.dimension, value, case.spreads[path], "the case")


def _is_number(case: Case, path: str) -> bool:
    if path.startswith(LIBRARY):
        return path.removeprefix(LIBRARY) in case.materials
    table, _, name = path.partition(".")
    held = tables().get(table.partition("[")[0])
    if held is None or name not in held.keys or (held.repeated and "[" not in table):
        return False
    try:
        return isinstance(held.keys[name].spec, Number) and value_at(case, path) is not None
    except (ValueError, IndexError):
        return False


def _smooth(case: Case, path: str, spread: Spread) -> Spread:
    """Return a spread whose values move smoothly with their score."""
    if spread.distribution != "sample":
        return spread
    spec = number_at(path)
    deviation = float(np.std(spread.sample))
    return replace(spread, distribution="normal", sample=(), deviation=deviation,
                   low=spec.low, high=spec.high)  # fmt: skip
