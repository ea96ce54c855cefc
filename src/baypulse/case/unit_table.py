"""The names of units with their exact factors, and the kinds of value of a case.

Only :mod:`baypulse.case.units` reads this table. A test compares every factor with pint.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from baypulse.constants import STANDARD_GRAVITY

Vector = tuple[int, int, int, int, int]
"""Powers of metre, kilogram, second, kelvin and radian."""


@dataclass(frozen=True)
class Dimension:
    """A kind of value.

    Attributes
    ----------
    vector : tuple of int
        Powers of metre, kilogram, second, kelvin and radian.
    si_unit : str
        The unit of the floats that :func:`parse` returns.
    example : str
        A value as somebody would type it, for messages.
    shown : tuple of str
        Units in which :mod:`baypulse.case.quantities` writes it, that of the SI first.
    filed : str
        Unit that stands beside the SI one in files for other programs; empty for none.
    """

    vector: Vector
    si_unit: str
    example: str
    shown: tuple[str, ...]
    filed: str = ""


DIMENSIONS: dict[str, Dimension] = {
    "length": Dimension((1, 0, 0, 0, 0), "m", "75 mm", ("mm", "in"), "in"),
    # a length that nobody says in millimetres
    "altitude": Dimension((1, 0, 0, 0, 0), "m", "30 m", ("m", "ft"), "ft"),
    "area": Dimension((2, 0, 0, 0, 0), "m^2", "100 cm^2", ("cm^2", "in^2"), "in^2"),
    "volume": Dimension((3, 0, 0, 0, 0), "m^3", "500 cm^3", ("cm^3", "in^3"), "in^3"),
    "mass": Dimension((0, 1, 0, 0, 0), "kg", "1.2 g", ("g", "grain"), "g"),
    "time": Dimension((0, 0, 1, 0, 0), "s", "5 ms", ("ms",)),
    "force": Dimension((1, 1, -2, 0, 0), "N", "90 N", ("N", "lbf"), "lbf"),
    "gauge pressure": Dimension((-1, 1, -2, 0, 0), "Pa", "15 psig", ("kPa", "psi"), "psi"),
    "absolute pressure": Dimension(
        (-1, 1, -2, 0, 0), "Pa", "98.2 kPa abs", ("kPa abs", "psia"), "psi"
    ),
    "stress": Dimension((-1, 1, -2, 0, 0), "Pa", "69 MPa", ("MPa", "psi"), "psi"),
    "temperature": Dimension((0, 0, 0, 1, 0), "K", "15 degC", ("degC", "degF"), "degF"),
    "velocity": Dimension((1, 0, -1, 0, 0), "m/s", "12 m/s", ("m/s", "ft/s"), "ft/s"),
    "acceleration": Dimension((1, 0, -2, 0, 0), "m/s^2", "9.81 m/s^2", ("gee", "m/s^2")),
    "ratio": Dimension((0, 0, 0, 0, 0), "", "12 %", ("%",)),
    "angle": Dimension((0, 0, 0, 0, 1), "rad", "90 deg", ("deg",)),
    "density": Dimension((-3, 1, 0, 0, 0), "kg/m^3", "350 kg/m^3", ("kg/m^3", "lb/ft^3")),
    "energy": Dimension((2, 1, -2, 0, 0), "J", "25 J", ("J", "ft*lbf"), "ft*lbf"),
    "mass flow": Dimension((0, 1, -1, 0, 0), "kg/s", "12 g/s", ("g/s", "oz/s"), "g/s"),
    "specific energy": Dimension((2, 0, -2, 0, 0), "J/kg", "219 kJ/kg", ("kJ/kg",)),
    "conductivity": Dimension((1, 1, -3, -1, 0), "W/m/K", "0.3 W/m/K", ("W/m/K",)),
    "heat capacity": Dimension((2, 0, -2, -1, 0), "J/kg/K", "1000 J/kg/K", ("J/kg/K",)),
    "heat capacity slope": Dimension((2, 0, -2, -2, 0), "J/kg/K^2", "0.1 J/kg/K^2", ("J/kg/K^2",)),
    "heat transfer": Dimension((0, 1, -3, -1, 0), "W/m^2/K", "80 W/m^2/K", ("W/m^2/K",)),
    "covolume": Dimension((3, -1, 0, 0, 0), "m^3/kg", "0.6 cm^3/g", ("cm^3/g",)),
    "per kelvin": Dimension((0, 0, 0, -1, 0), "1/K", "-0.8 %/K", ("%/K",)),
}
"""Every kind of value that a case or the library may hold."""

SI_UNITS: dict[str, str] = {name: kind.si_unit for name, kind in DIMENSIONS.items()}
"""SI unit of every kind of value."""


@dataclass(frozen=True)
class Atom:
    """One unit name: its size in SI, its powers, and what pint calls it."""

    factor: float
    vector: Vector
    pint_name: str


_INCH = 0.0254
_POUND = 0.45359237
_POUND_FORCE = _POUND * STANDARD_GRAVITY
_MERCURY = 13595.1 * STANDARD_GRAVITY  # Pa per metre of conventional mercury

_POWER: Vector = (2, 1, -3, 0, 0)  # no key of a case holds one

_ROWS: tuple[tuple[str, float, str, str], ...] = (
    ("m", 1.0, "length", "meter"),
    ("cm", 1e-2, "length", "centimeter"),
    ("mm", 1e-3, "length", "millimeter"),
    ("um µm μm", 1e-6, "length", "micrometer"),
    ("km", 1e3, "length", "kilometer"),
    ("in inch inches", _INCH, "length", "inch"),
    ("mil", _INCH / 1000.0, "length", "thou"),
    ("ft foot feet", 12.0 * _INCH, "length", "foot"),
    ("L l", 1e-3, "volume", "liter"),
    ("mL ml cc", 1e-6, "volume", "milliliter"),
    ("g gram grams", 1e-3, "mass", "gram"),
    ("mg", 1e-6, "mass", "milligram"),
    ("kg", 1.0, "mass", "kilogram"),
    ("lb lbm lbs pound pounds", _POUND, "mass", "pound"),
    ("oz ounce ounces", _POUND / 16.0, "mass", "ounce"),
    ("grain grains", _POUND / 7000.0, "mass", "grain"),
    ("s", 1.0, "time", "second"),
    ("ms", 1e-3, "time", "millisecond"),
    ("us µs μs", 1e-6, "time", "microsecond"),
    ("min", 60.0, "time", "minute"),
    ("h", 3600.0, "time", "hour"),
    ("N", 1.0, "force", "newton"),
    ("kN", 1e3, "force", "kilonewton"),
    ("lbf", _POUND_FORCE, "force", "pound_force"),
    ("ozf", _POUND_FORCE / 16.0, "force", "ounce_force"),
    ("kgf", STANDARD_GRAVITY, "force", "kilogram_force"),
    ("gf", STANDARD_GRAVITY * 1e-3, "force", "gram_force"),
    ("gee", STANDARD_GRAVITY, "acceleration", "standard_gravity"),
    ("Pa", 1.0, "stress", "pascal"),
    ("hPa", 1e2, "stress", "hectopascal"),
    ("kPa", 1e3, "stress", "kilopascal"),
    ("MPa", 1e6, "stress", "megapascal"),
    ("GPa", 1e9, "stress", "gigapascal"),
    ("bar", 1e5, "stress", "bar"),
    ("mbar", 1e2, "stress", "millibar"),
    ("atm", 101325.0, "stress", "standard_atmosphere"),
    ("psi", _POUND_FORCE / _INCH**2, "stress", "psi"),
    ("ksi", 1000.0 * _POUND_FORCE / _INCH**2, "stress", "kip_per_square_inch"),
    ("mmHg", _MERCURY * 1e-3, "stress", "millimeter_Hg"),
    ("inHg", _MERCURY * _INCH, "stress", "inch_Hg"),
    ("K", 1.0, "temperature", "kelvin"),
    ("J", 1.0, "energy", "joule"),
    ("kJ", 1e3, "energy", "kilojoule"),
    ("MJ", 1e6, "energy", "megajoule"),
    ("cal", 4.184, "energy", "calorie"),
    ("W", 1.0, "power", "watt"),
    ("kW", 1e3, "power", "kilowatt"),
    ("%", 1e-2, "ratio", "percent"),
    ("rad", 1.0, "angle", "radian"),
    ("deg °", math.pi / 180.0, "angle", "degree"),
)

UNITS: dict[str, Atom] = {
    name: Atom(factor, _POWER if kind == "power" else DIMENSIONS[kind].vector, pint_name)
    for names, factor, kind, pint_name in _ROWS
    for name in names.split()
}
"""Every unit name that may be typed, except the temperatures that do not start at 0 K."""

SCALES: dict[str, tuple[float, float]] = {
    "degC": (1.0, 273.15),
    "°C": (1.0, 273.15),
    "degF": (5.0 / 9.0, 459.67 * 5.0 / 9.0),
    "°F": (5.0 / 9.0, 459.67 * 5.0 / 9.0),
    "K": (1.0, 0.0),
}
"""Units of temperature: kelvin = factor * value + offset."""

SPOKEN: dict[str, str] = {
    "inch": "in", "inches": "in", "foot": "ft", "feet": "ft", "lbs": "lb", "pound": "lb",
    "pounds": "lb", "ounce": "oz", "ounces": "oz", "gram": "g", "grams": "g", "grains": "grain",
}  # fmt: skip
"""Names of units that are written out, and the short ones."""

MARKS: dict[str, str] = {"'": "ft", "′": "ft", "’": "ft", '"': "in", "″": "in", "”": "in"}
"""Marks behind a number that mean feet and inches, straight and curled."""

PAIRS: dict[str, tuple[str, int]] = {"ft": ("in", 12), "lb": ("oz", 16), "lbf": ("ozf", 16)}
"""Units that are said with a smaller one behind them, and how many of that make one."""

SCALE_READINGS: dict[str, str] = {"lb": "lbf", "oz": "ozf", "kg": "kgf", "g": "gf"}
"""What a hanging scale shows, and the force that it means; lbm stays a mass."""

FRACTIONS: dict[str, tuple[int, int]] = {
    "½": (1, 2), "⅓": (1, 3), "⅔": (2, 3), "¼": (1, 4), "¾": (3, 4),
    "⅛": (1, 8), "⅜": (3, 8), "⅝": (5, 8), "⅞": (7, 8),
}  # fmt: skip
"""Fractions of one sign, as a keyboard or a word processor makes them."""

REFUSED: dict[str, str] = {
    "gr": 'gr is ambiguous: write "grain" (64.8 mg) or "g"',
    "C": 'did you mean "degC"?',
    "F": 'did you mean "degF"?',
    "gm": 'did you mean "g"?',
    "gms": 'did you mean "g"?',
    "fps": 'did you mean "ft/s"?',
    "sec": 'did you mean "s"?',
    "degrees": 'did you mean "deg"?',
}
"""Names that people type and that are refused, with what to say."""
