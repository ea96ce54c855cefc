"""The unit of an altitude as the lines beside the table say it: titles, settings, comments."""

from __future__ import annotations

import re

from baypulse.case.logs.table import LogTable
from baypulse.errors import LogError

_HEIGHT = re.compile(
    r"apogee|altitude|height|elevation|\b(?:alt|agl|a?msl|asl)\b|\bunits?\b", re.IGNORECASE
)
"""A line with none of these words may speak of the length of the rocket."""

_NO_SPEED = r"\b(?!\s*(?:/|per)\s*\w)"
_UNITS = {
    "ft": re.compile(rf"(?:\d\s*|\b)(?:ft|feet|foot){_NO_SPEED}|\d\s*'(?!\d)", re.IGNORECASE),
    "m": re.compile(rf"\d\s*m{_NO_SPEED}|\bmet(?:er|re)s?{_NO_SPEED}", re.IGNORECASE),
}
_SYSTEMS = {
    "ft": re.compile(r"\bunits?\b.*\b(?:imperial|english|us)\b", re.IGNORECASE),
    "m": re.compile(r"\bunits?\b.*\b(?:metric|si)\b", re.IGNORECASE),
}


def altitude_unit(table: LogTable) -> tuple[str, str]:
    """Return the unit that lines beside the table give altitudes, and where, a part of a sentence.

    Parameters
    ----------
    table : LogTable
        With its remarks.

    Returns
    -------
    unit : str
        ``"ft"``, ``"m"`` or nothing.
    where : str
        Such as ``line 1 says "Apogee: 2450' AGL"``.

    Raises
    ------
    LogError
        Where one line says feet and another metres.
    """
    said: dict[str, tuple[int, str]] = {}
    for number, text in table.remarks:
        if not _HEIGHT.search(text):
            continue
        names = [
            unit for unit in _UNITS
            if _UNITS[unit].search(text) or _SYSTEMS[unit].search(text)
        ]  # fmt: skip
        if len(names) == 1:
            said.setdefault(names[0], (number, text.lstrip("#/ \t")[:60]))
    if len(said) > 1:
        (feet, _), (metres, _) = said["ft"], said["m"]
        raise LogError(
            f"{table.file}: line {feet} speaks of feet and line {metres} of metres, and the column "
            "of the altitude names no unit; name it with its unit"
        )
    for unit, (number, text) in said.items():
        return unit, f'line {number} says "{text}"'
    return "", ""
