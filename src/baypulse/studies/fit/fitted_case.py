"""A fit as values of a case file."""

from __future__ import annotations

from baypulse.case import quantities, units
from baypulse.case.casefile.fitted_values import Entry
from baypulse.case.casefile.keys import key_at
from baypulse.case.model import Spread
from baypulse.studies.fit.compute import written_spread
from baypulse.studies.fit.result import Fit, Fitted
from baypulse.studies.fit.unknowns import Unknown

_UNITS = {
    "time": "ms", "length": "mm", "area": "cm^2", "volume": "cm^3", "mass": "g", "force": "N",
    "ratio": "", "velocity": "m/s", "stress": "kPa",
}  # fmt: skip
"""Unit in which a case file gets a value; of other kinds the unit of SI."""

_STATED = {"gauge pressure": ("kPa", "kPa gauge"), "absolute pressure": ("kPa", "kPa abs")}

DIGITS = 4
"""Of a value and its ends; a spread gets two."""


def entries(fit: Fit) -> list[Entry]:
    """Return the values of which something was learnt as a case file says them.

    Parameters
    ----------
    fit : Fit
        Findings.
    """
    return [Entry(each.unknown.path, value_text(each)) for each in fit.fitted if each.learnt]


def remarks(fit: Fit) -> list[str]:
    """Return where the values come from, as lines of a comment."""
    files = ", ".join(fit.files)
    names = ", ".join(each.unknown.path for each in fit.fitted if each.learnt)
    return [
        f"Fitted from {files} with baypulse fit, starting from case {fit.case.name}: {names}.",
        "Each spread holds for its value alone: together they scatter less than they say.",
    ]


def value_text(fitted: Fitted) -> str:
    """Return a value with its spread as TOML."""
    unknown = fitted.unknown
    spread = written_spread(fitted)
    parts = [f'value = "{_text(fitted.best, unknown.dimension)}"']
    if spread.distribution != "normal":
        parts.append(f'distribution = "{spread.distribution}"')
    if spread.deviation is not None:
        share = spread.deviation / fitted.best if fitted.best else 0.0
        parts.append(f'spread = "{quantities.digits(100.0 * share, 2)} %"')
    parts += _ends(spread, unknown)
    if spread.group:
        parts += [f'group = "{spread.group}"', f"correlation = {spread.correlation:.3g}"]
    return f"{{ {', '.join(parts)} }}"


def _ends(spread: Spread, unknown: Unknown) -> list[str]:
    """Return where the spread is cut, if not at the ends of what the key allows."""
    spec = key_at(unknown.path).spec
    needed = spread.distribution == "triangular"
    found = []
    for name in ("low", "high"):
        value = getattr(spread, name)
        if value is not None and (needed or value != getattr(spec, name)):
            found.append(f'{name} = "{_text(value, unknown.dimension)}"')
    return found


def _text(value: float, dimension: str) -> str:
    unit, stated = _STATED.get(dimension, (_UNITS.get(dimension, ""),) * 2)
    if not unit:
        unit = stated = units.SI_UNITS[dimension]
    shown = f"{units.convert(value, unit) if unit else value:.{DIGITS}g}"
    return f"{shown} {stated}".strip()
