"""Text with a unit in, SI floats out: the only module that knows the names of units.

The parser reads a number and unit names joined by ``*`` and ``/``. The number may be one of a tape
measure or a kitchen scale: ``1/16 in``, ``3 1/2 in``, ``3-1/2 in``, ``½ in``, ``25'``, ``6' 4"``,
``5 ft 3 in``, ``2 lb 3 oz``. There is no other arithmetic, nothing is evaluated, and the length of
the text is capped. Where a force is wanted, the reading of a hanging scale is one: lb, oz, kg and g
are then lbf, ozf, kgf and gf. The factors come from their definitions, so that a case is read
without loading anything else; a test compares every one of them with pint.
"""

from __future__ import annotations

import math
import re
from functools import cache, lru_cache
from typing import Any

from baypulse.case.unit_table import (
    DIMENSIONS,
    FRACTIONS,
    MARKS,
    PAIRS,
    REFUSED,
    SCALE_READINGS,
    SCALES,
    SI_UNITS,
    SPOKEN,
    UNITS,
    Vector,
)
from baypulse.errors import UnitError
from baypulse.spelling import near

__all__ = [
    "DIMENSIONS", "LONGEST_TEXT", "SI_UNITS", "convert", "parse", "parse_spread", "pattern",
    "plain", "quantity", "scale_reading", "unit_of",
]  # fmt: skip

LONGEST_TEXT = 80
"""Longest text [characters] that is read as a value."""

_NUMBER = re.compile(r"[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?")
_COMMA = re.compile(r"[+-]?[0-9]+(?:,[0-9]+)+")
_GLYPHS = "".join(FRACTIONS)
_SHARE = rf"[0-9]{{1,6}}/[0-9]{{1,6}}(?![0-9./])|[{_GLYPHS}]"
_FRACTION = re.compile(rf"([+-]?)(?:([0-9]{{1,6}})(?:[ -](?! )|(?=[{_GLYPHS}])))?({_SHARE})")
_WORD = rf"[A-Za-z]+|[{''.join(MARKS)}]"
_PAIR = re.compile(rf"([0-9]{{1,6}})\s*({_WORD})(?:-|\s*)(?=[0-9.{_GLYPHS}])(.*?)\s*({_WORD})")
_NAME = r"[A-Za-z%°µμ]+"
_POWERED = re.compile(rf"({_NAME})\s*(\^?[23]|[²³])?")
_UNIT = re.compile(rf"(?:1\s*/\s*)?{_POWERED.pattern}(?:\s*[*/·]\s*{_POWERED.pattern})*")
_STATED = re.compile(r"\s*\b(gauge|gage|abs|absolute)\.?$")
_GLUED = re.compile(r"^(psi|ksi|bar|mbar|Pa|hPa|kPa|MPa|atm)([ga])$")
_PRESSURES = {"gauge": "gauge pressure", "abs": "absolute pressure"}


def parse(text: str | float | int, dimension: str) -> float:
    """Read a value with its unit.

    Parameters
    ----------
    text : str, float or int
        Such as ``"12 psig"``; a bare number is accepted for a ratio only.
    dimension : str
        One of :data:`DIMENSIONS`.

    Returns
    -------
    float
        The value in SI.

    Raises
    ------
    UnitError
        With a sentence that says what is wrong and what to write.

    Examples
    --------
    >>> parse("75 mm", "length")
    0.075
    >>> parse("12 %", "ratio")
    0.12
    >>> parse("1/4 in", "length")
    0.00635
    """
    kind = DIMENSIONS[dimension]
    if isinstance(text, bool) or not isinstance(text, (str, int, float)):
        raise UnitError(f"{_short(text)} is not {_wanted(dimension)}")
    if not isinstance(text, str):
        return _bare(text, dimension)
    number, unit = _split(text, dimension)
    if not unit:
        if dimension == "ratio":
            return number
        raise UnitError(f'"{text}" has no unit; write {_wanted(dimension)}')
    if dimension == "temperature" and unit in SCALES:
        factor, offset = SCALES[unit]
        return number * factor + offset
    plain, stated = _state(unit)
    factor, vector = _resolve(text, plain, dimension)
    if vector != kind.vector or (stated and dimension != _PRESSURES[stated]):
        raise UnitError(_wrong_kind(text, number, vector, stated, dimension))
    if not stated and dimension in _PRESSURES.values():
        raise UnitError(_unstated(number, plain))
    return _times(text, number, factor)


def parse_spread(text: str | float | int, dimension: str, value: float) -> float:
    """Read a standard deviation, as a share of the value or with a unit.

    Parameters
    ----------
    text : str, float or int
        Such as ``"12 %"`` or ``"5 N"``. A difference of temperature takes K, degC or degF, one
        of pressure any unit of pressure.
    dimension : str
        One of :data:`DIMENSIONS`.
    value : float
        The value in SI that scatters.

    Returns
    -------
    float
        The deviation in SI, not negative.
    """
    if isinstance(text, bool) or not isinstance(text, (str, int, float)):
        raise UnitError(f"{_short(text)} is not a spread, such as 12 %")
    if not isinstance(text, str):
        share: float | None = _bare(text, "ratio")
    else:
        number, unit = _split(text, dimension)
        share = number if not unit else number / 100.0 if unit == "%" else None
    if share is not None:
        if dimension == "temperature":
            raise UnitError(f'a share of a temperature has no meaning: write "5 K", not "{text}"')
        if value == 0.0 and share != 0.0:
            raise UnitError(f'"{text}" of zero is zero; give the spread with a unit')
        deviation = share * abs(value)
    else:
        deviation = _difference(str(text), number, unit, dimension)
    if deviation < 0.0:
        raise UnitError(f'a spread cannot be negative: "{text}"')
    return deviation


def unit_of(text: str, dimension: str) -> str:
    """Return the unit of a readable value; of a pair, such as 5 ft 3 in, the larger one."""
    return _split(text, dimension)[1]


def scale_reading(text: str, dimension: str) -> str:
    """Return the unit of force as which the reading of a hanging scale is taken, else nothing.

    Parameters
    ----------
    text : str
        Readable, such as ``"5 lb"``.
    dimension : str
        One of :data:`DIMENSIONS`; no other than a force is read so.
    """
    unit = unit_of(text, dimension)
    return unit if dimension == "force" and unit not in text else ""


def plain(unit: str) -> str:
    """Return a unit without what says gauge or absolute."""
    return _state(unit)[0]


def convert(value: float, unit: str) -> float:
    """Return a value given in SI in another unit, such as ``"psi"``, ``"psig"`` or ``"degF"``."""
    if unit in SCALES:
        factor, offset = SCALES[unit]
        return (value - offset) / factor
    if unit in ("", "1"):
        return value
    plain, _ = _state(unit)
    factor, _vector = _resolve(unit, plain, "")
    return value / factor


def quantity(value: float, si_unit: str, unit: str | None = None) -> Any:
    """Return a pint quantity.

    Parameters
    ----------
    value : float
        In ``si_unit``.
    si_unit : str
        Such as ``"m/s"``.
    unit : str, optional
        Unit to convert to, such as ``"ft/s"``.
    """
    found = _registry().Quantity(value, _pint_unit(si_unit))
    return found if unit is None else found.to(_pint_unit(unit))


def pattern(dimension: str) -> str:
    """Return a regular expression (ECMA-262) of the texts that fit, for the JSON Schema."""
    plain = r"([0-9]+\.?[0-9]*|\.[0-9]+)([eE][+-]?[0-9]+)?"
    part = rf"([0-9]{{1,6}}[ -])?[0-9]{{1,6}}/[0-9]{{1,6}}|([0-9]{{1,6}}[ -]?)?[{_GLYPHS}]"
    number = rf"[+-]?({plain}|{part})"
    if dimension == "ratio":
        return rf"^\s*{number}\s*%?\s*$"
    if dimension == "temperature":
        return rf"^\s*{number}\s*({'|'.join(SCALES)})\s*$"
    vector = DIMENSIONS[dimension].vector
    names = _names(vector)
    if dimension in _PRESSURES.values():
        words, letter = (
            ("gauge|gage", "g") if dimension == "gauge pressure" else ("abs|absolute", "a")
        )
        glued = "|".join(f"{name}{letter}" for name in _glue_names())
        return rf"^\s*{number}\s*(({names})\s+({words})\.?|{glued})\s*$"
    if dimension in ("length", "altitude", "mass", "time", "force", "angle", "stress"):
        if dimension == "force":
            names += f"|{_spellings(*SCALE_READINGS)}"
        pairs = "".join(
            rf"|[0-9]{{1,6}}\s*({_spellings(large)})(-|\s*)"
            rf"([0-9]+\.?[0-9]*|\.[0-9]+|{part})\s*({_spellings(small)})"
            for large, (small, _) in PAIRS.items()
            if UNITS[large].vector == vector or (dimension == "force" and large in SCALE_READINGS)
        )
        return rf"^\s*({number}\s*({names}){pairs})\s*$"
    name = r"[A-Za-z%°µμ]+\s*(\^?[23]|[²³])?"
    return rf"^\s*{number}\s*(1\s*/\s*)?{name}(\s*[*/·]\s*{name})*\s*$"


def _names(vector: Vector) -> str:
    """Return the names of units of one kind, and the marks of feet and inches, as alternatives."""
    names = [name for name, atom in UNITS.items() if atom.vector == vector]
    return "|".join(
        [*names, *(mark for mark, name in MARKS.items() if UNITS[name].vector == vector)]
    )


def _spellings(*units: str) -> str:
    """Return everything that means one of several units, as alternatives."""
    others = [each for table in (SPOKEN, MARKS) for each, unit in table.items() if unit in units]
    return "|".join([*units, *others])


def _glue_names() -> list[str]:
    """Return the pressure units that may carry a ``g`` or an ``a``."""
    return [name for name in UNITS if _GLUED.match(f"{name}g")]


def _bare(value: float, dimension: str) -> float:
    """Accept a number without a unit where that is allowed."""
    if isinstance(value, float) and not math.isfinite(value):
        raise UnitError(f"{value} is not a finite number; write {_wanted(dimension)}")
    if dimension != "ratio":
        typed = f"{value:g}" if abs(value) < 1e18 else "a very large number"
        raise UnitError(f"{typed} has no unit; write {_wanted(dimension)}, in quotes")
    try:
        return float(value)
    except OverflowError:
        raise UnitError("the number is too large") from None


def _split(text: str, dimension: str) -> tuple[float, str]:
    """Take a text apart into its number and its unit."""
    if len(text) > LONGEST_TEXT:
        raise UnitError(
            f"the text has {len(text)} characters, more than {LONGEST_TEXT}; "
            f"write {_wanted(dimension)}"
        )
    body = text.strip()
    if not body:
        raise UnitError(f"the text is empty; write {_wanted(dimension)}")
    if re.match(r"[+-]?(nan|inf)", body, re.IGNORECASE):
        raise UnitError(f'"{text}" is not a finite number; write {_wanted(dimension)}')
    comma = _COMMA.match(body)
    if comma:
        point = comma.group().replace(",", ".", 1).replace(",", "")
        whole = comma.group().replace(",", "")
        also = f" or {whole}" if re.fullmatch(r"[+-]?[0-9]{1,3}(,[0-9]{3})+", comma.group()) else ""
        raise UnitError(f'"{text}" has a comma in the number: write {point}{also}')
    number, rest = _number(text, body, dimension)
    if not math.isfinite(number):
        raise UnitError(f'"{text}" is not a finite number; write {_wanted(dimension)}')
    unit = _spoken(rest.strip())
    return number, SCALE_READINGS.get(unit, unit) if dimension == "force" else unit


def _number(text: str, body: str, dimension: str) -> tuple[float, str]:
    """Read the number at the beginning of a text, a fraction too; return it and what follows."""
    pair = _pair(text, body)
    if pair is not None:
        return pair
    fraction = _FRACTION.match(body)
    if fraction:
        number = _with_share(text, fraction.group(2), fraction.group(3))
        return -number if fraction.group(1) == "-" else number, body[fraction.end() :]
    match = _NUMBER.match(body)
    if match is None:
        raise UnitError(f'"{text}" does not start with a number; write {_wanted(dimension)}')
    return float(match.group()), body[match.end() :]


def _pair(text: str, body: str) -> tuple[float, str] | None:
    """Read ``6' 4"`` or ``2 lb 3 oz`` as a number of the larger unit; None of any other text."""
    match = _PAIR.fullmatch(body)
    if match is None:
        return None
    large, small = _spoken(match.group(2)), _spoken(match.group(4))
    if PAIRS.get(large, ("", 0))[0] != small:
        return None
    fewer, rest = _number(text, match.group(3), "")
    if rest:
        return None
    most = PAIRS[large][1]
    if fewer >= most:
        raise UnitError(
            f'"{text}" has {fewer:g} {small} beside {large}; {most} {small} are 1 {large}'
        )
    return int(match.group(1)) + fewer / most, large


def _with_share(text: str, whole: str | None, share: str) -> float:
    """Return a whole number with a fraction of one, such as 3 and 1/2."""
    if share in FRACTIONS:
        over, under = FRACTIONS[share]
    else:
        over, under = map(int, share.split("/"))
    if under == 0:
        raise UnitError(f'"{text}" divides by zero')
    if whole is not None and over >= under:
        raise UnitError(
            f'"{text}" has a fraction of one or more behind a whole number: write '
            f"{int(whole) + over / under:.6g}"
        )
    return int(whole or 0) + over / under


def _spoken(unit: str) -> str:
    """Return the name in the table of a unit written out, or as a mark of feet or inches."""
    return SPOKEN.get(unit, MARKS.get(unit, unit))


def _state(unit: str) -> tuple[str, str]:
    """Split ``psig`` or ``kPa abs`` into the unit and ``"gauge"``, ``"abs"`` or nothing."""
    word = _STATED.search(unit)
    if word and word.start():
        return unit[: word.start()].strip(), "gauge" if word.group(1)[0] == "g" else "abs"
    glued = _GLUED.match(unit)
    if glued:
        return glued.group(1), "gauge" if glued.group(2) == "g" else "abs"
    return unit, ""


@lru_cache  # a table asks for the same few thousands of times
def _resolve(text: str, unit: str, dimension: str) -> tuple[float, Vector]:
    """Return size and powers of a unit made of names, ``*`` and ``/``."""
    if not _UNIT.fullmatch(unit):
        raise UnitError(
            f'"{text}" is not a number with a unit (no arithmetic is read); '
            f"write {_wanted(dimension)}"
        )
    factor = 1.0
    vector = [0, 0, 0, 0, 0]
    start = 0
    if unit.startswith("1"):
        start = unit.index("/")
    for match in _POWERED.finditer(unit, start):
        before = unit[start : match.start()]
        start = match.end()
        name = match.group(1)
        if name not in UNITS:
            raise UnitError(_unknown(name, dimension))
        power = 3 if (match.group(2) or "")[-1:] in ("3", "³") else 2 if match.group(2) else 1
        power = -power if "/" in before else power
        atom = UNITS[name]
        factor *= atom.factor**power
        vector = [a + power * b for a, b in zip(vector, atom.vector, strict=True)]
    if factor >= 1.0 and abs(factor - round(factor)) < 1e-12 * factor:
        factor = float(round(factor))  # (1e-2)^-3 misses 1e6 by the last bit
    return factor, (vector[0], vector[1], vector[2], vector[3], vector[4])


def _difference(text: str, number: float, unit: str, dimension: str) -> float:
    """Read a difference: no offset of temperature, no gauge or absolute."""
    if dimension == "temperature" and unit in SCALES:
        return number * SCALES[unit][0]
    plain, _ = _state(unit)
    factor, vector = _resolve(text, plain, dimension)
    if vector != DIMENSIONS[dimension].vector:
        raise UnitError(_wrong_kind(text, number, vector, "", dimension))
    return _times(text, number, factor)


def _times(text: str, number: float, factor: float) -> float:
    """Multiply; a value that overflows is refused."""
    value = number * factor
    if not math.isfinite(value):
        raise UnitError(f'"{text}" is not a finite number')
    # 75 * 1e-3 is 0.075 to the last bit only by division
    inverse = 1.0 / factor
    return number / round(inverse) if 1.0 < inverse == round(inverse) < 1e7 else value


def _wanted(dimension: str) -> str:
    """Return "a mass, such as "1.2 g"" for messages."""
    if dimension not in DIMENSIONS:
        return 'a unit such as "mm"'
    example = DIMENSIONS[dimension].example
    return f'{_article(dimension)}, such as "{example}"'


def _article(noun: str) -> str:
    return f"an {noun}" if noun[:1] in "aeio" else f"a {noun}"


def _short(value: object) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    words: dict[type[object], str] = {dict: "a table", list: "a list"}
    return words.get(type(value), f"a {type(value).__name__}")


def _unknown(name: str, dimension: str) -> str:
    """Return the sentence for a name that is no unit."""
    if name in REFUSED:
        return REFUSED[name] if name == "gr" else f'unknown unit "{name}"; {REFUSED[name]}'
    if name in SCALES:
        return f'"{name}" stands alone, for a temperature; here write K'
    fitting: list[str] = []
    if dimension in DIMENSIONS:
        vector = DIMENSIONS[dimension].vector
        fitting = [unit for unit, atom in UNITS.items() if atom.vector == vector]
    if dimension == "temperature":
        fitting = ["degC", "degF", "K"]
    if dimension in _PRESSURES.values():
        letter = "g" if dimension == "gauge pressure" else "a"
        fitting = [f"{unit}{letter}" for unit in _glue_names()]
    close = near(name, fitting) or near(name, list(UNITS))
    hint = f'; did you mean "{close}"?' if close else f"; write {_wanted(dimension)}"
    return f'unknown unit "{name}"{hint}'


def _unstated(number: float, unit: str) -> str:
    """Return the sentence for a pressure that is neither gauge nor absolute."""
    typed = f"{number:g}"
    if unit == "psi":
        gauge, absolute = f"{typed} psig", f"{typed} psia"
    else:
        gauge, absolute = f"{typed} {unit} gauge", f"{typed} {unit} abs"
    letters = "; write psig or psia" if unit == "psi" else ""
    return (
        f'"{typed} {unit}" does not say gauge or absolute{letters}: '
        f'"{gauge}" above the air outside, or "{absolute}" above vacuum'
    )


def _wrong_kind(text: str, number: float, vector: Vector, stated: str, dimension: str) -> str:
    """Return the sentence for a readable value of the wrong kind."""
    body = text.strip()
    if stated and vector != DIMENSIONS["stress"].vector:
        return f'"{body}": only a pressure is gauge or absolute'
    if stated and dimension in _PRESSURES.values():
        if stated == "abs":
            return (
                f'"{body}" is an absolute pressure and a gauge pressure is wanted: subtract the '
                "pressure of the air outside (14.7 psi or 101.3 kPa at sea level) and write "
                'psig or "kPa gauge"'
            )
        return (
            f'"{body}" is a gauge pressure and an absolute pressure is wanted: add the pressure '
            'of the air outside (14.7 psi or 101.3 kPa at sea level) and write psia or "kPa abs"'
        )
    found = _PRESSURES[stated] if stated else ""
    if not found:
        found = next((name for name, kind in DIMENSIONS.items() if kind.vector == vector), "")
        found = "pressure" if vector == DIMENSIONS["stress"].vector else found
    what = f"is {_article(found)}" if found else "has a unit of another kind"
    scale = dimension == "force" and body.endswith("lbm")
    hint = f'; for the reading of a scale write "{number:g} lbf"' if scale else ""
    wanted = f'{_article(dimension)} is wanted, such as "{DIMENSIONS[dimension].example}"'
    return f'"{body}" {what}; {wanted}{hint}'


@cache
def _registry() -> Any:
    """Build pint's registry once; it takes about 0.2 s."""
    import pint

    return pint.UnitRegistry()


def _pint_unit(unit: str) -> str:
    """Translate a unit into pint's names."""
    if unit in ("degC", "°C"):
        return "degree_Celsius"
    if unit in ("degF", "°F"):
        return "degree_Fahrenheit"
    plain, _ = _state(unit)
    plain = plain.replace("²", "^2").replace("³", "^3").replace("·", "*")
    plain = re.sub(r"(?<=[A-Za-z])([23])", r"^\1", plain)
    return re.sub(_NAME, lambda match: UNITS[match.group()].pint_name, plain)
