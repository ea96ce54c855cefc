"""How a text table is laid out: separator, header, row of units, first row of data."""

from __future__ import annotations

import csv
import re
from collections import Counter
from contextlib import suppress
from dataclasses import dataclass

from baypulse.case.logs.header_words import is_unit, kinds
from baypulse.errors import LogError

SAMPLE_BYTES = 262_144
"""How many bytes of a file are looked at; the header must lie within."""

SAMPLE_LINES = 600
"""How many lines of a file are looked at; the header must lie within."""

SEPARATORS = ("\t", ";", ",", " ")
"""In the order in which equals are preferred; a space stands for any run of blanks."""

_SPELT = {"\t": "tab", ";": "semicolon", ",": "comma", " ": "blank"}
_COMMENT = re.compile(r"\s*(?:#|//)+\s*")
_VALUE = re.compile(
    r"[+-]?(?:\d+(?:[.,]\d+)?|\d+\.|[.,]\d+)(?:[eE][+-]?\d+)?"  # a number
    r"|[+-]?[1-9]\d{0,2}(?:(?:'\d{3})+|(?: \d{3})+|(?:\.\d{3})+|(?:,\d{3})+)(?:[.,]\d*)?"
    r"|(?:\d+:)?\d{1,2}:\d{1,2}(?:[.,]\d+)?"  # a clock
    r"|\d{4}-\d\d-\d\d(?:[T ]\d\d:\d\d(?::\d\d(?:[.,]\d+)?)?)?(?:Z|[+-]\d\d:?\d\d)?",  # a date
    re.ASCII,
)
_MISSING = re.compile(r"-*|nan|[+-]?inf|n/?a|null|none|\?+", re.IGNORECASE)


@dataclass(frozen=True)
class TableLayout:
    """What was found at the head of a file.

    Attributes
    ----------
    separator : str
        One of :data:`SEPARATORS`.
    first : int
        Line of the first row of data, from 1.
    names : tuple of str
        Header of every column as written; ``column 1`` and so on where there is none.
    units : tuple of str
        Of a row of units below the header; empty texts without one.
    titled : bool
        Whether there was a header.
    """

    separator: str
    first: int
    names: tuple[str, ...]
    units: tuple[str, ...]
    titled: bool


def find(file: str, data: bytes) -> TableLayout:
    """Find the layout from the first lines of a file.

    Parameters
    ----------
    file : str
        For messages.
    data : bytes
        UTF-8 with line feeds.

    Raises
    ------
    LogError
        Where there is no table of two columns, or header and rows do not fit together.
    """
    head = data[:SAMPLE_BYTES].decode("utf-8", errors="replace").split("\n")
    if len(data) > SAMPLE_BYTES and len(head) > 1:
        head.pop()
    lines = [(number, text) for number, text in enumerate(head[:SAMPLE_LINES], 1) if text.strip()]
    plain = [(number, text) for number, text in lines if not _COMMENT.match(text)]
    separator = max(SEPARATORS, key=lambda one: _fit(plain, one))
    if _fit(plain, separator) == 0.0:
        raise LogError(_no_table(file, plain))
    rows = [(number, fields(text, separator)) for number, text in plain]
    width = Counter(len(row) for _, row in rows if _is_data(row)).most_common(1)[0][0]
    at = _first_row(rows, width)
    names, units = _header(rows[:at], width, separator, dict(plain))
    if not names:
        names = _commented([line for line in lines if line[0] < rows[at][0]], separator, width)
    titled = bool(names)
    _refuse_misfit(file, rows[at:], names, separator)
    names = tuple(
        names[k] if k < len(names) and names[k] else f"column {k + 1}"
        for k in range(max(width, len(names)))
    )
    units += ("",) * (len(names) - len(units))
    return TableLayout(separator, rows[at][0], names, units, titled)


def fields(line: str, separator: str) -> list[str]:
    """Split one line, without the blanks and quotes around each field."""
    parts = line.split() if separator == " " else line.split(separator)
    if '"' in line:
        # a field without end is longer than csv allows, and stays as it was split
        with suppress(csv.Error):
            parts = next(csv.reader([line], delimiter=separator, skipinitialspace=True), [])
    return [part.strip(" \t\"'") for part in parts]


def _is_data(row: list[str]) -> bool:
    """Tell whether at least two fields, and half of those that are filled, are values."""
    filled = [part for part in row if part]
    values = sum(1 for part in filled if _VALUE.fullmatch(part))
    return values >= 2 and 2 * values >= len(filled)


def _fit(lines: list[tuple[int, str]], separator: str) -> float:
    """Return how well a separator turns lines into values: the sum over rows of their share.

    It counts by the share of the lines, the header's too, that it stands in: a decimal comma stands
    in rows only.
    """
    total = 0.0
    for _, text in lines:
        row = fields(text, separator)
        if _is_data(row):
            filled = [part for part in row if part]
            total += sum(1 for part in filled if _VALUE.fullmatch(part)) / len(filled)
    return total * sum(separator in text for _, text in lines) / max(len(lines), 1)


def _first_row(rows: list[tuple[int, list[str]]], width: int) -> int:
    """Return the index of the first row of data.

    A line of settings above the header may hold two numbers, so the line after must be data too;
    the rows above that one may lack a number, but not read as text.
    """
    like = [_is_data(row) and abs(len(row) - width) <= 1 for _, row in rows]
    at = next((k for k in range(len(rows)) if like[k] and all(like[k : k + 2])), like.index(True))
    words = _words(rows[at][1])
    while at and len(rows[at - 1][1]) == width and _words(rows[at - 1][1]) <= words:
        if not any(_VALUE.fullmatch(part) for part in rows[at - 1][1]):
            break
        at -= 1
    return at


def _words(row: list[str]) -> int:
    """Return the number of fields that are neither a value nor a sign for a missing one."""
    return sum(1 for part in row if not _VALUE.fullmatch(part) and not _MISSING.fullmatch(part))


def _header(
    above: list[tuple[int, list[str]]], width: int, separator: str, texts: dict[int, str]
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Return the header's names and the units of a row below it; empty where there are none."""
    above = [(number, row) for number, row in above if _words(row) >= 2]
    if not above:
        return (), ()
    number, row = above[-1]
    units: tuple[str, ...] = ()
    if len(above) > 1 and all(not part or part in "-()[]" or is_unit(part) for part in row):
        units = tuple(part.strip("()[] -") for part in row)
        number, row = above[-2]
    names = _blank_names(texts[number], width) if separator == " " else row
    while names and not names[-1]:
        names = names[:-1]
    return tuple(names), units


def _blank_names(text: str, width: int) -> list[str]:
    """Split a header between blanks, where names and units may hold blanks themselves."""
    wide = [part.strip(" \t\"'") for part in re.split(r"\s{2,}|\t", text.strip())]
    if len(wide) == width:
        return wide
    joined = re.sub(r"\s+(?=[(\[])", "\0", text)
    joined = re.sub(r"[(\[][^)\]]*[)\]]", lambda found: found.group().replace(" ", "\0"), joined)
    return [part.replace("\0", " ") for part in fields(joined, " ")]


def _commented(lines: list[tuple[int, str]], separator: str, width: int) -> tuple[str, ...]:
    """Return the names of a header that stands in a comment, if one names a known quantity."""
    for _, text in reversed(lines):
        mark = _COMMENT.match(text)
        if mark:
            body = text[mark.end() :]
            names = _blank_names(body, width) if separator == " " else fields(body, separator)
            if 2 <= len(names) <= width + 1 and any(kinds(name) for name in names):
                return tuple(names)
    return ()


def _refuse_misfit(
    file: str, rows: list[tuple[int, list[str]]], names: tuple[str, ...], separator: str
) -> None:
    """Raise where rows hold values beyond the last name of the header."""
    if not names:
        return
    for number, row in rows:
        beyond = len(row) > len(names) and any(row[len(names) :])
        if beyond and _is_data(row):
            raise LogError(misfit(file, number, len(row), len(names), separator))


def misfit(file: str, line: int, values: int, names: int, separator: str) -> str:
    """Return the sentence for a row that holds values beyond the last name of the header."""
    hint = "name every column in the header"
    if separator == ",":
        hint = (
            "where commas are decimal signs too, save the table with semicolons between "
            "the columns or with decimal points"
        )
    return (
        f"{file}:{line}: the row has {values} values and the header names {names} columns "
        f"({_SPELT[separator]} separated); {hint}"
    )


def _no_table(file: str, lines: list[tuple[int, str]]) -> str:
    """Return the sentence for a file without two columns of numbers."""
    if not lines:
        return f"{file}: holds comments only; a table with a time and a reading is wanted"
    number, text = next(
        ((n, text) for n, text in lines if any(map(_VALUE.fullmatch, fields(text, ",")))), lines[0]
    )
    seen = text.strip()[:40]
    return (
        f'{file}:{number}: no table of at least two columns of numbers was found ("{seen}"); '
        "give a CSV file with a time (a number, mm:ss.s or 2030-05-01T10:00:00.0) and an altitude "
        "or a pressure in each row"
    )
