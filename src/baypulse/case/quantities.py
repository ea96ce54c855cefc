"""Numbers, units and chances as people read them: the only module that writes them.

The unit that comes first is that of the system in use (:func:`written_in`); the other follows in
brackets. Text, pages and figures all ask here, so the same quantity reads the same everywhere.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from typing import TYPE_CHECKING

from baypulse.case import units
from baypulse.case.unit_table import DIMENSIONS

if TYPE_CHECKING:
    from baypulse.case.model import Case
    from baypulse.members.chances import Chance

SI = "si"
"""Metre, newton, pascal come first."""

US = "us"
"""Inch, pound, psi come first."""

INCHES = ("in", "inch", "inches", "ft", "foot", "feet", "mil")
"""Units of length by which a case is taken as written in inches."""

PRINTED = {"gee": "g", "degC": "°C", "degF": "°F"}
"""Units that are printed as people write them, where a case file has another name for them."""

SMALL_MASS = 0.05
"""Mass [kg] below which it is weighed in grams by everybody, as powder is."""

RECORDED = 27
"""Records that the program was held against: 20 of shots and separations, and 7 bays of which the
outcome is known (docs/recorded-shots.md)."""

SUPPORTED = (RECORDED + 1.0) / (RECORDED + 2.0)
"""Chance beyond which no record supports one: all of :data:`RECORDED` were as they could be, and
then the next is with this chance (rule of succession, P. S. Laplace, Essai philosophique sur les
probabilites, 1814, from memory)."""

RESTS_ON = (
    f"Chances hold for the spreads listed, the program's own among them. {RECORDED} recorded shots "
    f"and bays support none beyond {math.floor(100.0 * SUPPORTED)} %, so none is written as surer, "
    "however many simulated shots agree."
)
"""What is said of the chances of every study."""

ALIKE = ("acceleration",)
"""Kinds of value that everybody writes in the same unit first."""

_FIRST: ContextVar[str] = ContextVar("first", default=SI)


@contextmanager
def written_in(system: str) -> Iterator[None]:
    """Write the units of one system first, until the end of the block.

    Parameters
    ----------
    system : str
        :data:`SI` or :data:`US`.
    """
    token = _FIRST.set(system)
    try:
        yield
    finally:
        _FIRST.reset(token)


def system_of(case: Case) -> str:
    """Return the system in which a case is written: that of its bore.

    Parameters
    ----------
    case : Case
        One made without a text is written in the SI.
    """
    bore = case.provenance.get("bay.bore")
    typed = units.unit_of(bore.text, "length") if bore is not None and bore.text else "mm"
    return US if typed in INCHES else SI


def preferred(value: float, dimension: str) -> tuple[str, ...]:
    """Return the units in which a value is written, the first one first.

    Parameters
    ----------
    value : float
        SI; its size chooses between small and large units.
    dimension : str
        One of :data:`baypulse.case.unit_table.DIMENSIONS`.
    """
    size = abs(value)
    pair = DIMENSIONS[dimension].shown
    if dimension == "length" and size >= 1.0:
        pair = ("m", "ft")
    elif dimension == "area" and 0.0 < size < 1e-4:
        pair = ("mm^2", "in^2")
    elif dimension == "volume" and size >= 1e-3:
        pair = ("L", "in^3")
    elif dimension == "mass" and size >= SMALL_MASS:
        pair = ("g", "lb") if size < 1.0 else ("kg", "lb")
    elif dimension == "time" and size >= 1.0:
        pair = ("s",)
    elif dimension == "stress" and size < 1e6:
        pair = ("kPa" if size >= 100.0 else "Pa", "psi")
    alike = dimension in ALIKE or (dimension == "mass" and size < SMALL_MASS)
    return pair if _FIRST.get() == SI or alike else pair[::-1]


def show(
    value: float, dimension: str, units_: tuple[str, ...] | None = None, significant: int = 3
) -> str:
    """Write a value for people, the second unit in brackets.

    Parameters
    ----------
    value : float
        SI.
    dimension : str
        One of :data:`baypulse.case.unit_table.DIMENSIONS`.
    units_ : tuple of str, optional
        Units to use in place of the preferred ones, SI first.
    significant : int
        Digits.

    Examples
    --------
    >>> show(142.0, "force")
    '142 N (31.9 lbf)'
    >>> show(0.0012, "mass")
    '1.20 g (18.5 grain)'
    """
    return several((value,), dimension, units_=units_, significant=significant)


def several(
    values: Sequence[float], dimension: str, between: str = " / ",
    units_: tuple[str, ...] | None = None, significant: int = 3,
) -> str:  # fmt: skip
    """Write several values of one kind in the units that fit the largest.

    Parameters
    ----------
    values : sequence of float
        SI.
    dimension : str
        One of :data:`baypulse.case.unit_table.DIMENSIONS`.
    between : str
        What stands between the numbers.
    units_ : tuple of str, optional
        Units to use in place of the preferred ones, SI first.
    significant : int
        Digits of each.

    Examples
    --------
    >>> several((8.0, 10.0), "velocity", " to ")
    '8.00 to 10.0 m/s (26.2 to 32.8 ft/s)'
    """
    if units_ is None and dimension == "ratio":
        return between.join(_ratio(float(value)) for value in values)
    largest = max((abs(float(v)) for v in values if math.isfinite(v)), default=0.0)
    if units_ is None:
        units_ = preferred(largest, dimension)
    elif _FIRST.get() == US:
        units_ = units_[::-1]
    parts = [
        between.join(digits(units.convert(float(v), unit), significant) for v in values)
        + f" {pretty(unit)}".rstrip()
        for unit in units_
    ]
    return parts[0] if len(parts) == 1 else f"{parts[0]} ({', '.join(parts[1:])})"


def span(low: float, high: float, dimension: str) -> str:
    """Write a range, such as ``"0.350 to 1.03 g (5.40 to 15.9 grain)"``.

    Parameters
    ----------
    low, high : float
        SI.
    dimension : str
        One of :data:`baypulse.case.unit_table.DIMENSIONS`.
    """
    return several((low, high), dimension, " to ")


def short_span(low: float, high: float, dimension: str) -> str:
    """Write a range in its first unit only, where there is little room.

    Examples
    --------
    >>> short_span(3.5e-4, 1.03e-3, "mass")
    '0.350 to 1.03 g'
    """
    return several((low, high), dimension, " to ", preferred(high, dimension)[:1])


def height(value: float) -> str:
    """Write a height or an altitude, which nobody says in millimetres: ``"366 m (1200 ft)"``."""
    return show(value, "altitude")


def scale_step(mass: float) -> float:
    """Return in which steps a mass of powder is weighed: 0.01 g below 1 g, else 0.05 g [kg]."""
    return 0.01e-3 if mass < 1e-3 else 0.05e-3


def weighable(mass: float, *, up: bool) -> float:
    """Return a mass of powder that a scale shows, so rounded that it errs to the safe side.

    Parameters
    ----------
    mass : float
        In kg, above 0.
    up : bool
        Whether more is safer, as for a least charge.

    Returns
    -------
    float
        A multiple of :func:`scale_step` [kg].

    Examples
    --------
    >>> weighable(1.231e-3, up=True), weighable(0.4999e-3, up=False)
    (0.00125, 0.00049)
    """
    step = scale_step(mass)
    # a mass that is such a multiple already stays itself
    steps = mass / step + (-1e-9 if up else 1e-9)
    return step * (math.ceil(steps) if up else math.floor(steps))


def short(value: float, dimension: str) -> str:
    """Write a value in its first unit only, where there is little room."""
    if dimension == "ratio":
        return f"{percent(value)} %"
    unit = preferred(value, dimension)[0]
    return f"{digits(units.convert(value, unit))} {pretty(unit)}"


def digits(value: float, significant: int = 3) -> str:
    """Write a number with three significant digits, four from 1000 on, and no locale."""
    if value == 0.0 or not math.isfinite(value):
        return "0" if value == 0.0 else str(value)
    exponent = int(f"{abs(value):.{significant - 1}e}".split("e")[1])
    if exponent < -4 or exponent > 8:
        return f"{value:.{significant - 1}e}"
    if exponent >= significant:
        return f"{round(value, significant - exponent):.0f}"
    return f"{value:.{significant - 1 - exponent}f}"


def pretty(unit: str) -> str:
    """Write a unit as it is printed."""
    plain = PRINTED.get(unit, unit)
    return plain.replace("^2", "²").replace("^3", "³").replace("*", " ")


def beside(text: str, dimension: str) -> str:
    """Return a value as typed, with people's other units in brackets.

    Parameters
    ----------
    text : str
        Readable, such as ``"1500 lbf"``.
    dimension : str
        One of :data:`baypulse.case.unit_table.DIMENSIONS`.

    Examples
    --------
    >>> beside("1500 lbf", "force")
    '1500 lbf (6672 N)'
    """
    value = units.parse(text, dimension)
    if dimension == "ratio":
        return text
    typed = units.plain(units.unit_of(text, dimension))
    others = [unit for unit in preferred(value, dimension) if units.plain(unit) != typed]
    if not others:
        return text
    return f"{text} ({', '.join(show(value, dimension, (unit,)) for unit in others)})"


def within(low: float, high: float, dimension: str, example: str) -> str:
    """Return an allowed range in the unit of an example.

    Parameters
    ----------
    low, high : float
        SI.
    dimension : str
        One of :data:`baypulse.case.unit_table.DIMENSIONS`.
    example : str
        A readable value, such as ``"75 mm"``.

    Examples
    --------
    >>> within(0.01, 1.0, "length", "75 mm")
    '10 mm to 1000 mm'
    """
    unit = units.unit_of(example, dimension)
    numbers = [units.convert(value, unit) for value in (low, high)]
    ends = [f"{number:.5g}" if abs(number) < 1e5 else f"{number:.0f}" for number in numbers]
    return " to ".join(f"{end} {unit}".strip() for end in ends)


def percent(share: float, like: float | None = None) -> str:
    """Return a share in percent, without the sign, with two digits of what is left to 0 or 1.

    Parameters
    ----------
    share : float
        From 0 to 1.
    like : float, optional
        Share whose number of digits is taken.

    Examples
    --------
    >>> percent(0.9731), percent(0.99963), percent(0.00012), percent(1.0)
    ('97.3', '99.963', '0.012', '100')
    """
    if like is None and share in (0.0, 1.0):
        return f"{100.0 * share:.0f}"
    model = share if like is None else like
    left = 100.0 * min(model, 1.0 - model)
    places = 1 if left <= 0.0 else min(max(1, 1 - math.floor(math.log10(left) + 1e-9)), 9)
    return f"{100.0 * share:.{places}f}"


def asked(share: float) -> str:
    """Write a share that somebody asked for, with the digits that it has: ``"99.9 %"``."""
    return f"{100.0 * share:.6g} %"


def interval(share: float, low: float, high: float) -> str:
    """Return both ends of an interval about a share, in percent, such as ``"96.9 to 97.6"``."""
    like = low if share >= 1.0 else high if share <= 0.0 else share
    ends = [percent(end, None if end in (0.0, 1.0) else like) for end in (low, high)]
    return " to ".join(ends)


def share(value: float, low: float, high: float) -> str:
    """Write a chance with its 95 % interval, no surer than the records support.

    Examples
    --------
    >>> share(0.873, 0.861, 0.884), share(1.0, 0.999, 1.0), share(1.0, 0.631, 1.0)
    ('87.3 % (86.1 to 88.4)', 'over 96 %', 'over 63 %')
    """
    if _beyond(value):
        return _bounded(value, low, high)
    return f"{percent(value)} % ({interval(value, low, high)})"


def likely(value: float, *, whole: bool = False, brief: bool = False) -> str:
    """Write a chance, never nearer to nothing or certainty than the records support.

    Parameters
    ----------
    value : float
        From 0 to 1.
    whole : bool
        In whole percent, where no more is known or wanted of it.
    brief : bool
        With signs in place of words, where there is little room.

    Examples
    --------
    >>> likely(0.8734), likely(0.8734, whole=True), likely(0.99963), likely(0.0, brief=True)
    ('87.3 %', '87 %', 'over 96 %', '< 4 %')
    """
    if _beyond(value):
        return _bounded(value, 1.0, 0.0, brief=brief)
    return f"{100.0 * value:.0f} %" if whole else f"{percent(value)} %"


def _beyond(value: float) -> bool:
    """Return whether a chance is surer than the records support."""
    return not 1.0 - SUPPORTED <= value <= SUPPORTED


def _bounded(value: float, low: float, high: float, *, brief: bool = False) -> str:
    """Write a chance that is surer than the records support as that bound, or its interval's."""
    above, below = (">", "<") if brief else ("over", "under")
    if value > SUPPORTED:
        return f"{above} {math.floor(100.0 * min(SUPPORTED, low))} %"
    return f"{below} {math.ceil(100.0 * max(1.0 - SUPPORTED, high))} %"


def estimate(value: float, low: float, high: float) -> str:
    """Write a number without a unit with as many digits as its interval supports.

    Examples
    --------
    >>> estimate(0.0861, 0.0203, 0.1572)
    '0.09 (0.02 to 0.16)'
    """
    wide = high - low
    places = max(0, 1 - math.floor(math.log10(wide))) if wide > 0.0 else 2
    middle, least, most = (f"{round(each, places) + 0.0:.{places}f}" for each in (value, low, high))
    return f"{middle} ({least} to {most})"


def chance(each: Chance) -> str:
    """Write a chance with the exact 95 % interval of its count, no surer than the records."""
    return share(each.share, each.low, each.high)


def about(value: float) -> str:
    """Write a share that is no chance in whole percent, where no more is known or wanted of it.

    Examples
    --------
    >>> about(0.247), about(0.004), about(0.999)
    ('25 %', 'below 1 %', 'above 99 %')
    """
    if value < 0.01:
        return "below 1 %"
    return "above 99 %" if value > 0.99 else f"{100.0 * value:.0f} %"


def often(each: Chance) -> str:
    """Write in how many shots something happens.

    The chance is no surer than the records support; what was counted stands behind it, with the
    exact 95 % interval of that count where it matters.

    Returns
    -------
    str
        Such as ``"in 87.3 % of 10,000 simulated shots (86.6 to 87.9)"``.
    """
    shots = f"{each.members:,} simulated shots" if each.members != 1 else "the one simulated shot"
    part = f"{percent(each.share)} % of"
    if not _beyond(each.share):
        return f"in {part} {shots} ({interval(each.share, each.low, each.high)})"
    counted = {each.members: "all of", 0: "none of"}.get(each.count, part)
    return f"in {chance(each)} of the shots ({counted} {shots})"


def capital(text: str) -> str:
    """Return a text with a capital at its beginning."""
    return f"{text[:1].upper()}{text[1:]}"


def shorten(text: str, most: int) -> str:
    """Return a text that is no longer than so many characters, on one line."""
    plain = " ".join(text.split())
    return plain if len(plain) <= most else f"{plain[: most - 1].rstrip()}…"


def _ratio(value: float) -> str:
    """Write a ratio, with the percentage where that is how people say it."""
    plain = f"{value:.4g}"
    return f"{plain} ({100.0 * value:.4g} %)" if 1e-4 <= abs(value) < 1.0 else plain
