"""Values that scatter: ``{ value = "90 N", spread = "12 %" }`` and named distributions."""

from __future__ import annotations

import math
from typing import Any

from baypulse.case import quantities, units
from baypulse.case.model import Spread
from baypulse.case.spec import Number
from baypulse.errors import UnitError
from baypulse.spelling import near

FORM_KEYS = (
    "value", "spread", "distribution", "low", "high", "sample", "group", "correlation", "source",
)  # fmt: skip
"""What the table of a scattering value may hold."""

WIDEST = 100.0
"""Times its value that a spread may have; our choice."""

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
        ``group`` scatter together, wholly or by ``correlation``; ``source`` is kept as a remark.
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
        if "group" in given or "correlation" in given:
            raise UnitError('a group is for values that scatter: add spread = "10 %" or the like')
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
        if deviation > WIDEST * abs(value) > 0.0:
            raise UnitError(
                f"the spread is more than {WIDEST:g} times the value itself, which says that "
                "nothing is known of it; give less"
            )
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
        correlation=_correlation(given),
    )


def default_spread(value: float, spec: Number) -> Spread | None:
    """Return how a default scatters; None where it is no estimate.

    Parameters
    ----------
    value : float
        The default in SI.
    spec : Number
        The key's description.
    """
    scatter = spec.scatter
    if scatter is None:
        return None
    return Spread(
        distribution=scatter.distribution,
        deviation=scatter.share * value,
        low=spec.low if scatter.low is None else scatter.low,
        high=spec.high if scatter.high is None else scatter.high,
    )


def log_deviation(value: float, deviation: float) -> float:
    """Return the standard deviation of the logarithm of a log-normal value.

    With the median v and the standard deviation d of the value itself, w = exp(s^2) is the root
    of w (w - 1) = (d/v)^2.

    Parameters
    ----------
    value, deviation : float
        Median v, above 0, and standard deviation d.
    """
    return math.sqrt(math.log(0.5 + math.sqrt(0.25 + (deviation / value) ** 2)))


def scores_of_bounds(value: float, spread: Spread) -> tuple[float, float]:
    """Return how many standard deviations below and above the value a spread is cut.

    Parameters
    ----------
    value : float
        In SI.
    spread : Spread
        Normal or log-normal, its deviation above 0. A log-normal one counts in logarithms.
    """
    deviation = spread.deviation or 0.0
    low = -math.inf if spread.low is None else spread.low
    high = math.inf if spread.high is None else spread.high
    if spread.distribution == "normal":
        return (low - value) / deviation, (high - value) / deviation
    s = log_deviation(value, deviation)
    below = math.log(low / value) / s if low > 0.0 else -math.inf
    return below, math.log(high / value) / s


def shares_cut(value: float, spread: Spread) -> tuple[float, float]:
    """Return the shares of a spread that lie below its lower and above its upper bound.

    Parameters
    ----------
    value : float
        In SI.
    spread : Spread
        Only a normal or log-normal one is cut at all.
    """
    if spread.distribution not in ("normal", "log-normal") or not spread.deviation:
        return 0.0, 0.0
    below, above = scores_of_bounds(value, spread)
    return 0.5 * math.erfc(-below / math.sqrt(2.0)), 0.5 * math.erfc(above / math.sqrt(2.0))


def is_level(spread: Spread) -> bool:
    """Say whether a spread is none: a deviation of zero, or measured values all alike."""
    if spread.distribution == "sample":
        return min(spread.sample) == max(spread.sample)
    return spread.deviation == 0.0


def _correlation(given: dict[str, Any]) -> float:
    """Read how closely a value goes with its group."""
    if "correlation" not in given:
        return 1.0
    if not given.get("group"):
        raise UnitError(
            '"correlation" says how closely a value goes with its group: add group = "a name"'
        )
    share = units.parse(given["correlation"], "ratio")
    if not 0.0 < share <= 1.0:
        raise UnitError(
            f"a correlation is above 0 and at most 1, not {given['correlation']}; for values "
            'that have nothing to do with each other leave out "group"'
        )
    return share


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
    return f"the allowed {quantities.within(spec.low, spec.high, spec.dimension, spec.example)}"


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
