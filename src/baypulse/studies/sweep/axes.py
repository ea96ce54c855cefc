"""Inputs to sweep: ``powder.mass=0.4 g..1.2 g:25`` becomes a row of values."""

from __future__ import annotations

import numpy as np

from baypulse.case import quantities, units
from baypulse.case.casefile.keys import place_of, renamed, tables, value_at
from baypulse.case.model import Case
from baypulse.case.spec import Count, Number
from baypulse.errors import UnitError
from baypulse.members.parts import StudyError
from baypulse.spelling import near
from baypulse.studies.sweep.result import Axis

POINTS = (41, 21)
"""Points of an axis where their number is not given, for one and for two axes."""

MOST_POINTS = 500

FORM = 'write --over "powder.mass=0.4 g..1.2 g", with ":25" behind it for 25 points, or a list '
FORM += '"pins.count=2,3,4"'


def axis(case: Case, text: str, axes: int = 1) -> Axis:
    """Read an input and its range.

    Parameters
    ----------
    case : Case
        The case that is swept.
    text : str
        ``path=low..high``, ``path=low..high:points`` or ``path=a, b, c``.
    axes : int
        How many inputs are swept, for the usual number of points.

    Raises
    ------
    StudyError
        With a sentence that quotes what was given.
    """
    path, equals, span = (part.strip() for part in text.partition("="))
    if not equals or not span:
        raise StudyError(f'--over "{text}": no range is given; {FORM}')
    spec = _spec(case, path, text)
    try:
        values = _values(span, spec, POINTS[min(axes, 2) - 1])
    except UnitError as error:
        raise StudyError(f'--over "{text}": {error}; {FORM}') from None
    _check_range(values, spec, text)
    label = _label(case, path)
    dimension = spec.dimension if isinstance(spec, Number) else "ratio"
    return Axis(path, label, dimension, values)


def _spec(case: Case, path: str, text: str) -> Number | Count:
    """Return the description of an input that can be swept in this case."""
    known = {
        f"{place}.{key.name}": key.spec
        for table in tables().values()
        for place in _places(case, table.name, table.repeated)
        for key in table.keys.values()
        if isinstance(key.spec, (Number, Count))
    }
    spec = known.get(path)
    if spec is None:
        new = renamed(path, known)
        if new:
            raise StudyError(f'--over "{text}": {path} is now called {new}; write that')
        close = near(path, list(known))
        hint = f'did you mean "{close}"?' if close else "baypulse check CASE lists the inputs"
        raise StudyError(f'--over "{text}": this case has no number "{path}" to sweep; {hint}')
    return spec


def _places(case: Case, table: str, repeated: bool) -> list[str]:
    held = getattr(case, table)
    if repeated:
        return [f"{table}[{k}]" for k in range(len(held))]
    return [] if held is None else [table]


def _values(span: str, spec: Number | Count, points: int) -> np.ndarray:
    """Return the values of a range or a list, rising."""
    low, dots, rest = (part.strip() for part in span.partition(".."))
    if not dots:
        listed = [_one(item.strip(), spec) for item in span.split(",")]
        return np.array(sorted(set(listed)))
    high, colon, number = (part.strip() for part in rest.partition(":"))
    if colon:
        if not number.isdecimal() or not 2 <= int(number) <= MOST_POINTS:
            raise UnitError(f'"{number}" is no number of points from 2 to {MOST_POINTS}')
        points = int(number)
    first, last = _one(low, spec), _one(high, spec)
    if not first < last:
        raise UnitError(f'"{low}" is not below "{high}"')
    values = np.linspace(first, last, points)
    return np.unique(np.round(values)) if isinstance(spec, Count) else values


def _one(text: str, spec: Number | Count) -> float:
    if isinstance(spec, Number):
        return units.parse(text, spec.dimension)
    if not text.isdecimal():
        raise UnitError(f'"{text}" is no whole number')
    return float(int(text))


def _check_range(values: np.ndarray, spec: Number | Count, text: str) -> None:
    for value in (values[0], values[-1]):
        if not spec.low <= value <= spec.high:
            allowed = (
                f"from {spec.low} to {spec.high}"
                if isinstance(spec, Count)
                else quantities.within(spec.low, spec.high, spec.dimension, spec.example)
            )
            raise StudyError(f'--over "{text}": the allowed values are {allowed}')


def _label(case: Case, path: str) -> str:
    """Return what an input is called: its own name in words, and of which opening."""
    table, index, name = place_of(path)
    if name == "count":
        name = "number"
    words = name.replace("_", " ")
    if index is not None:
        return f"{words} of {value_at(case, f'{table}[{index}].name')}"
    return f"{words} of {'' if table in ('pins', 'openings') else 'the '}{table.replace('_', ' ')}"
