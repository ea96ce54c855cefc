"""How a key of the case file is declared: as the metadata of a field of the model."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

REQUIRED = object()
"""Marks a key that has no default."""


@dataclass(frozen=True)
class DefaultSpread:
    """How a default that is an estimate scatters, unless the key is typed.

    Attributes
    ----------
    distribution : str
        ``"normal"`` or ``"log-normal"``.
    share : float
        Standard deviation as a share of the default.
    low, high : float or None
        Where it is cut [SI]; the ends of the allowed range when left out.
    """

    distribution: str
    share: float
    low: float | None = None
    high: float | None = None


@dataclass(frozen=True)
class Number:
    """A key that holds a dimensional value or a plain ratio.

    Attributes
    ----------
    dimension : str
        One of :data:`baypulse.case.units.DIMENSIONS`.
    help : str
        What it is and how to measure it, one sentence.
    low, high : float
        Allowed range in SI, both ends included.
    example : str
        A value as somebody would type it.
    scatter : Scatter or None
        Of the default.
    """

    dimension: str
    help: str
    low: float
    high: float
    example: str
    scatter: DefaultSpread | None = None


@dataclass(frozen=True)
class Count:
    """A key that holds a whole number."""

    help: str
    low: int
    high: int
    example: str


@dataclass(frozen=True)
class Choice:
    """A key that holds one word of a list; ``table`` names a library table to take it from."""

    help: str
    example: str
    options: tuple[str, ...] = ()
    table: str = ""


@dataclass(frozen=True)
class Text:
    """A key that holds free text."""

    help: str
    example: str


Spec = Number | Count | Choice | Text


def number(
    dimension: str, help: str, low: float, high: float, example: str, default: Any = REQUIRED,
    scatter: DefaultSpread | None = None,
) -> Any:  # fmt: skip
    """Declare a :class:`Number` key; a default of None makes it optional."""
    return _field(Number(dimension, help, low, high, example, scatter), default)


def count(help: str, low: int, high: int, example: str, default: Any = REQUIRED) -> Any:
    """Declare a :class:`Count` key."""
    return _field(Count(help, low, high, example), default)


def choice(
    help: str,
    example: str,
    default: Any = REQUIRED,
    *,
    options: tuple[str, ...] = (),
    table: str = "",
) -> Any:
    """Declare a :class:`Choice` key."""
    return _field(Choice(help, example, options, table), default)


def text(help: str, example: str, default: Any = REQUIRED) -> Any:
    """Declare a :class:`Text` key."""
    return _field(Text(help, example), default)


def _field(spec: Spec, default: Any) -> Any:
    if default is REQUIRED:
        return field(metadata={"spec": spec})
    return field(default=default, metadata={"spec": spec})
