"""Values that scatter: ``{ value = "90 N", spread = "12 %" }`` and named distributions."""

from __future__ import annotations

import math
from typing import Any

from baypulse import units
from baypulse.errors import UnitError
from baypulse.model import Spread
from baypulse.spec import Number
from baypulse.spelling import near

FORM_KEYS = ("value", "spread", "distribution", "low", "high", "sample", "group", "source")
"""What the table of a scattering value may hold."""

DISTRIBUTIONS = ("normal", "log-normal", "uniform", "triangular", "sample")
"""The distributions by name."""

_NEEDS = {
    "normal": ("value", "spread"),
    "log-normal": ("value", "spread"),
    "uniform": ("value", "low", "high"),
    "triangular": ("value", "low", "high"),
    "sample": ("sample",),
}


def read_spread(given: dict[str, Any], spec: Number) -> tuple[float, Spread | None]:
    """Read the table form of a number.

    Parameters
    ----------
    given : dict
        ``value`` with ``spread`` (a standard deviation; normal unless ``distribution`` says
        "log-normal"), or with ``distribution`` "uniform" or "triangular" and ``low`` and
        ``high``, or ``sample``, a list of measured values, whose mean is the value when none is
        given. ``low`` and ``high`` truncate the other distributions. Values with the same
        ``group`` scatter together; ``source`` is kept as a remark.
    spec : Number
        The key's description.

    Returns
    -------
    value : float
        In SI.
    spread : Spread or None
        None when the table holds a value alone.

    Raises
    ------
    UnitError
        With a sentence that says what is wrong.
    """
    distribution = _distribution(given)
    if distribution is None:
        if "value" not in given:
            raise UnitError(f'"value" is missing: write {{ value = "{spec.example}", ... }}')
        return units.parse(given["value"], spec.dimension), None
    _check_names(given, distribution)
    sample = _sample(given, spec)
    value = (
        units.parse(given["value"], spec.dimension)
        if "value" in given
        else math.fsum(sample) / len(sample)
    )
    deviation = None
    if "spread" in given:
        deviation = units.parse_spread(given["spread"], spec.dimension, value)
        if distribution == "log-normal" and value <= 0.0:
            raise UnitError("a log-normal spread needs a value above zero")
    low = _bound(given, "low", spec)
    high = _bound(given, "high", spec)
    if distribution in ("normal", "log-normal"):
        # without typed bounds no draw may leave the range that the model allows
        low = spec.low if low is None else low
        high = spec.high if high is None else high
    _check_order(value, low, high, given)
    group = given.get("group", "")
    if not isinstance(group, str):
        raise UnitError('"group" is a word in quotes')
    return value, Spread(
        distribution=distribution,
        deviation=deviation,
        low=low,
        high=high,
        sample=tuple(sample),
        group=group,
    )


def _check_names(given: dict[str, Any], distribution: str) -> None:
    """Refuse what a distribution lacks or has no use for."""
    for name in _NEEDS[distribution]:
        if name not in given:
            raise UnitError(f'a {distribution} spread needs "{name}"')
    for name in ("spread", "sample"):
        if name in given and name not in _NEEDS[distribution]:
            raise UnitError(f'a {distribution} spread takes no "{name}"')


def _distribution(given: dict[str, Any]) -> str | None:
    """Return the distribution that is named or meant; None for a value alone."""
    named = given.get("distribution")
    if named is not None:
        if not isinstance(named, str) or named not in DISTRIBUTIONS:
            close = near(str(named), DISTRIBUTIONS)
            hint = f'; did you mean "{close}"?' if close else ";"
            raise UnitError(
                f'"{str(named)[:40]}" is not a distribution{hint} known: {", ".join(DISTRIBUTIONS)}'
            )
        return named
    if "sample" in given:
        return "sample"
    if "spread" in given:
        return "normal"
    if "low" in given or "high" in given:
        raise UnitError(
            '"low" and "high" alone do not say how the value scatters: add '
            'distribution = "uniform" or "triangular"'
        )
    return None


def _sample(given: dict[str, Any], spec: Number) -> list[float]:
    """Read measured values."""
    raw = given.get("sample", [])
    if "sample" in given and (not isinstance(raw, list) or len(raw) < 2):
        raise UnitError('"sample" is a list of two or more values, such as ["88 N", "93 N"]')
    sample = [units.parse(item, spec.dimension) for item in raw]
    for item, value in zip(raw, sample, strict=True):
        if not spec.low <= value <= spec.high:
            raise UnitError(f'"{item}" in the sample is outside {_range(spec)}')
    return sample


def _bound(given: dict[str, Any], name: str, spec: Number) -> float | None:
    """Read ``low`` or ``high``."""
    if name not in given:
        return None
    value = units.parse(given[name], spec.dimension)
    if not spec.low <= value <= spec.high:
        raise UnitError(f'{name} = "{given[name]}" is outside {_range(spec)}')
    return value


def _range(spec: Number) -> str:
    return f"the allowed {units.span(spec.low, spec.high, spec.dimension, spec.example)}"


def _check_order(
    value: float, low: float | None, high: float | None, given: dict[str, Any]
) -> None:
    """Refuse bounds that are crossed, or that leave the value out."""
    if low is not None and high is not None and low >= high:
        raise UnitError(f'low = "{given.get("low")}" is not below high = "{given.get("high")}"')
    if "low" in given and low is not None and value < low:
        raise UnitError(f'the value lies below low = "{given["low"]}"')
    if "high" in given and high is not None and value > high:
        raise UnitError(f'the value lies above high = "{given["high"]}"')
