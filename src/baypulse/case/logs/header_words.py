"""What the words of a header mean: which quantity, and in which unit."""

from __future__ import annotations

import re
from dataclasses import dataclass

from baypulse.case import units
from baypulse.errors import UnitError

DIMENSIONS = {"time": "time", "altitude": "length", "pressure": "stress"}
"""The quantities that are looked for, and the kind of unit of each."""

_SPELLINGS = {
    "second": "s", "seconds": "s", "sec": "s", "secs": "s",
    "millisecond": "ms", "milliseconds": "ms", "msec": "ms", "millis": "ms",
    "microsecond": "us", "microseconds": "us", "usec": "us", "micros": "us",
    "minute": "min", "minutes": "min", "mins": "min",
    "hour": "h", "hours": "h", "hr": "h", "hrs": "h",
    "meter": "m", "meters": "m", "metre": "m", "metres": "m",
    "kilometer": "km", "kilometers": "km", "kilometre": "km", "kilometres": "km",
    "pa": "Pa", "pascal": "Pa", "pascals": "Pa", "hpa": "hPa", "hectopascal": "hPa",
    "kpa": "kPa", "kilopascal": "kPa", "kilopascals": "kPa", "mpa": "MPa",
    "millibar": "mbar", "millibars": "mbar", "mb": "mbar", "bars": "bar", "torr": "mmHg",
    "inhg": "inHg", "mmhg": "mmHg", "atmospheres": "atm",
}  # fmt: skip
"""Spellings of headers, in small letters, of units that a case file spells in one way."""

_NAMES = {
    "time": {
        "time",
        "t",
        "timestamp",
        "datetime",
        "elapsed",
        "clock",
        "zeit",
        "temps",
        "tiempo",
        "tempo",
    },
    "altitude": {"altitude", "alt", "height", "agl", "asl", "msl", "amsl", "elevation", "höhe"},
    "pressure": {"pressure", "press", "baro", "barometer", "p", "druck", "pression"},
}
_OTHERS = {
    "speed", "velocity", "vel", "rate", "acceleration", "accel", "acc", "temperature", "temp",
    "voltage", "volts", "battery", "std", "sigma", "error", "state", "status", "max", "maximum",
    "delta", "angle", "date",
}  # fmt: skip
"""Words that make a header something else: ``altitude rate``, ``time error``."""

_FOREIGN = {
    "dm", "dam", "hm", "nm", "yd", "yds", "yard", "yards", "mi", "mile", "miles", "nmi", "fathom",
    "fathoms", "fl", "kft", "decimeter", "decimeters", "decimetre", "decimetres", "day", "days",
    "tick", "ticks", "lsb", "adc", "counts", "dbar", "cbar", "h:m", "hh:mm", "h:mm", "ksi",
    "kgf/cm2", "kgf/cm^2", "at",
}  # fmt: skip
"""Units that some instrument writes and that are not read here, as the last word of a header."""

_REMARKS = {
    "agl", "asl", "msl", "amsl", "raw", "baro", "barometer", "barometric", "gps", "gnss",
    "filtered", "filt", "kalman", "smoothed", "corrected", "calibrated", "est", "estimated",
    "measured", "abs", "absolute", "gauge", "gage", "utc", "gmt", "local", "elapsed", "sensor",
    "static", "sea", "level", "above", "ground", "pad", "launch", "since", "relative", "true",
    "pressure", "altitude", "height", "std", "isa", "qnh", "qfe",
}  # fmt: skip
"""What stands in brackets behind a name and is no unit."""

CLOCK_FORMAT = re.compile(r"(?:h{1,2}:)?m{1,2}:s{1,2}(?:[.:,][sfmx0]{1,3})?", re.IGNORECASE)
"""A format of clocks that are read: hours may be missing, seconds may not."""

_ABSOLUTE = re.compile(r"[\s_(]*\b(?:abs|absolute|a)\b\.?\)?$", re.IGNORECASE)
_GAUGE = re.compile(r"[\s_(]*\b(?:gauge|gage|g)\b\.?\)?$", re.IGNORECASE)
_GLUED = re.compile(r"(psi|bar|mbar|pa|hpa|kpa|mpa|atm)([ga])", re.IGNORECASE)
_ABOVE_PAD = re.compile(r"\b(?:agl|above (?:the )?(?:ground|pad)(?: level)?)\b", re.IGNORECASE)
_ABOVE_SEA = re.compile(r"\b(?:a?msl|asl|above (?:mean )?sea(?: level)?)\b", re.IGNORECASE)


@dataclass(frozen=True)
class Unit:
    """A unit as a header says it.

    Attributes
    ----------
    name : str
        As a case file spells it.
    factor : float
        Its size in SI.
    state : str
        ``"gauge"``, ``"abs"`` or nothing, of a pressure.
    """

    name: str
    factor: float
    state: str = ""

    @property
    def text(self) -> str:
        """The name with its state."""
        return f"{self.name} {self.state}".strip()


def unit(text: str, quantity: str) -> Unit | None:
    """Return the unit that a text names, or None.

    Parameters
    ----------
    text : str
        Such as ``"ft AGL"``, ``"feet"``, ``"psia"``, ``"kPa abs"``, ``"MS"``.
    quantity : str
        A key of :data:`DIMENSIONS`.

    Examples
    --------
    >>> unit("KPA absolute", "pressure")
    Unit(name='kPa', factor=1000.0, state='abs')
    """
    bare, state = text.strip(), ""
    if quantity == "altitude":
        bare = _ABOVE_SEA.sub("", _ABOVE_PAD.sub("", bare)).strip(" ,;_-")
    if quantity == "pressure":
        glued = _GLUED.fullmatch(bare)
        if glued:
            bare, state = glued.group(1), "gauge" if glued.group(2) in "gG" else "abs"
        else:
            for pattern, word in ((_ABSOLUTE, "abs"), (_GAUGE, "gauge")):
                found = pattern.search(bare.replace("_", " "))
                if found and found.start():
                    bare, state = bare[: found.start()], word
    for name in (bare, bare.lower(), _SPELLINGS.get(bare.lower(), "")):
        # as written first: MPa and mPa differ in case only
        try:
            return Unit(name, units.parse(f"1 {name}", DIMENSIONS[quantity]), state)
        except UnitError:
            continue
    return None


def is_unit(text: str) -> bool:
    """Tell whether a field of a row of units holds one, of whatever kind."""
    bare = text.strip("()[] ")
    if any(unit(bare, quantity) for quantity in DIMENSIONS):
        return True
    return bool(re.fullmatch(r"(?:deg|°)? ?[CFK]|[mkf]t?/s(?:\^?2|²)?|g|V|mV|A|Hz|%|deg|°", bare))


def split(header: str, quantity: str) -> tuple[str, Unit | None]:
    """Take a header apart into the name and the unit.

    Parameters
    ----------
    header : str
        Such as ``"Altitude (ft)"``, ``"alt_m"``, ``"Pressure kPa abs"``, ``"t [ms]"``.
    quantity : str
        A key of :data:`DIMENSIONS`.

    Examples
    --------
    >>> split("alt_ft", "altitude")[0]
    'alt'
    """
    bracket = re.search(r"[(\[]\s*([^)\]]*?)\s*[)\]]", header)
    if bracket:
        name = (header[: bracket.start()] + header[bracket.end() :]).strip(" _,:-")
        found = unit(bracket.group(1), quantity)
        if found or not name:
            return name, found
    words = [(match.start(), match.group()) for match in re.finditer(r"[^\s_,:/()\[\]]+", header)]
    for count in (2, 1):
        if len(words) > count:
            start = words[-count][0]
            found = unit(" ".join(word for _, word in words[-count:]), quantity)
            if found:
                return header[:start].strip(" _,:-/"), found
    return header.strip(), None


def foreign(header: str, quantity: str) -> str:
    """Return the unit of a header that is none of a quantity, or nothing.

    Examples
    --------
    >>> foreign("Altitude (dm)", "altitude"), foreign("alt_yd", "altitude")
    ('dm', 'yd')
    >>> foreign("Altitude (baro)", "altitude"), foreign("Altitude (ft)", "altitude")
    ('', '')
    """
    if split(header, quantity)[1] or unit(header.strip("()[] "), quantity):
        return ""
    bracket = re.search(r"[(\[]\s*([^)\]]*?)\s*[)\]]", header)
    if bracket:
        text = bracket.group(1)
        words = re.findall(r"[^\W\d_]+", text.lower())
        known = all(word in _REMARKS for word in words) or _is_clock(text, quantity)
        return "" if known else text
    last = re.split(r"[\s_,/]+", header.strip(" _,/"))
    return last[-1] if len(last) > 1 and last[-1].lower() in _FOREIGN else ""


def _is_clock(text: str, quantity: str) -> bool:
    return quantity == "time" and CLOCK_FORMAT.fullmatch(text) is not None


def reference(header: str) -> str:
    """Return ``"pad"`` or ``"sea"`` where a header says what an altitude is above, or nothing."""
    text = header.replace("_", " ")
    return "pad" if _ABOVE_PAD.search(text) else "sea" if _ABOVE_SEA.search(text) else ""


def kinds(header: str) -> dict[str, int]:
    """Return the quantities a header may name, each with how plainly it does so.

    3 stands for the name alone, 2 for the name among other words, 1 for a unit alone or for a
    second instrument (a satellite receiver's altitude).

    Examples
    --------
    >>> kinds("Time (s)"), kinds("barometric altitude [ft]"), kinds("vertical speed")
    ({'time': 3}, {'altitude': 2}, {})
    """
    found: dict[str, int] = {}
    for quantity, names in _NAMES.items():
        name, _ = split(header, quantity)
        spaced = re.sub(r"(?<=[a-z])(?=[A-Z])", " ", name)
        words = re.findall(r"[^\W\d_]+", spaced.lower())
        if any(word in _OTHERS for word in words):
            continue
        if any(word in names for word in words):
            found[quantity] = 1 if "gps" in words else 3 if len(words) == 1 else 2
        elif unit(header.strip("()[] "), quantity):
            found[quantity] = 1
    if "altitude" in found and found["altitude"] > 1:
        found.pop("pressure", None)  # a pressure altitude is an altitude
    return found
