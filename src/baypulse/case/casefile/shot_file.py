"""The shots of a case: a small file beside it, TOML or a table of commas, all problems at once."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Iterable
from contextlib import suppress
from dataclasses import dataclass
from datetime import date as Date
from datetime import datetime
from pathlib import Path
from typing import Any

import tomlkit

from baypulse.case.casefile.keys import charge_path, key_at, number_at
from baypulse.case.casefile.reader import Reader, file_text, parsed, unplaced
from baypulse.case.casefile.toml_lines import key_lines
from baypulse.case.casefile.whole_file import write_whole
from baypulse.case.model import Case
from baypulse.case.spec import Count
from baypulse.case.units import parse
from baypulse.errors import CaseError, Problem, UnitError, cause

ENDING = ".shots.toml"
"""Of a file of shots beside its case."""

MOST_SHOTS = 100
"""Shots of a file; a run of this many takes minutes."""

COLUMNS = ("date", "charge", "pins", "saw", "note")
"""Keys of a shot, and columns of a table."""

_EXAMPLE = '[[shots]] with saw = ["separated", "pop"]'
_SAW = 'a list of what was seen, such as saw = ["separated", "all pins sheared"]'


@dataclass(frozen=True, kw_only=True)
class ShotRow:
    """One shot as its file says it.

    Attributes
    ----------
    charge : float or None
        As weighed, or as filled [SI]; None for that of the case.
    pins : int or None
        How many; None for as many as in the case.
    saw : tuple of str
        What was seen.
    date : datetime.date or None
        When.
    note : str
        Anything.
    line : int or None
        Where it stands.
    """

    charge: float | None = None
    pins: int | None = None
    saw: tuple[str, ...] = ()
    date: Date | None = None
    note: str = ""
    line: int | None = None


@dataclass(frozen=True, kw_only=True)
class ShotFile:
    """What a file of shots says."""

    shots: tuple[ShotRow, ...]


Judge = Callable[[ShotRow], Iterable[tuple[str, str]]]
"""From a shot to key and sentence of everything that is impossible about it in its case."""


def shots_beside(file: str, case: Case) -> Path:
    """Return the place of the shots of a case that is read from a file.

    Parameters
    ----------
    file : str
        The case's file, or a bay of a rocket file.
    case : Case
        Read from it.
    """
    return Path(file).parent / f"{case.name}{ENDING}"


def read_rows(path: str | Path, case: Case, judge: Judge) -> tuple[ShotRow, ...]:
    """Read a file of shots.

    Parameters
    ----------
    path : str or pathlib.Path
        TOML with ``[[shots]]``, or a table whose name ends in ``.csv`` with the columns of
        :data:`COLUMNS`, sightings with ";" between them.
    case : Case
        Whose shots they are.
    judge : callable
        What else can be wrong with a shot: what was seen is understood elsewhere.

    Raises
    ------
    CaseError
        With every problem found, each with its line.
    """
    return rows_of(file_text(path), str(path), case, judge)


def rows_of(content: str, file: str, case: Case, judge: Judge) -> tuple[ShotRow, ...]:
    """Read shots from text; parameters as of :func:`read_rows`."""
    content = content.removeprefix("\ufeff")
    if not content.strip():
        raise unplaced(
            file, f"the file is empty; write {_EXAMPLE} for each shot, or remove the file"
        )
    table = file.lower().endswith(".csv")
    given, lines = _from_table(content, file) if table else _from_toml(content, file)
    reader = Reader(file, lines, ShotFile)
    rows = []
    for k, each in enumerate(given):
        before = len(reader.problems)
        row = _row(reader, f"shots[{k}]", each, case)
        if len(reader.problems) == before:
            reader.refuse_all((f"shots[{k}].{key}", sentence) for key, sentence in judge(row))
        rows.append(row)
    if not rows and not reader.problems:
        raise unplaced(file, f"there is no shot in it; write {_EXAMPLE} for each")
    if len(rows) > MOST_SHOTS:
        reader.refuse(f"shots[{MOST_SHOTS}]", f"{len(rows)} shots given, allowed 1 to {MOST_SHOTS}")
    reader.stop_at_problems()
    return tuple(rows)


def shot_text(row: ShotRow, charge: str) -> str:
    """Return a shot as TOML.

    Parameters
    ----------
    row : ShotRow
        The shot.
    charge : str
        Its charge as it was typed; empty for the case's.
    """
    given = {
        "date": row.date, "charge": charge, "pins": row.pins, "saw": list(row.saw), "note": row.note
    }  # fmt: skip
    held = {name: value for name, value in given.items() if value not in (None, "")}
    return tomlkit.dumps({"shots": [held]})


def append(path: str | Path, entry: str, case: Case, judge: Judge) -> tuple[ShotRow, ...]:
    """Write a shot behind those of a file; what is there stays, to the byte.

    Parameters
    ----------
    path : str or pathlib.Path
        A TOML file; made if missing.
    entry : str
        From :func:`shot_text`.
    case, judge
        As for :func:`read_rows`.

    Returns
    -------
    tuple of ShotRow
        All shots that the file then has.

    Raises
    ------
    CaseError
        If the file, or the new shot, has a problem; nothing is written then.
    """
    place = Path(path)
    if place.suffix.lower() == ".csv":
        raise unplaced(str(path), "a shot is added to a TOML file only; write its line by hand")
    old = b""
    if place.exists():
        file_text(place)
        old = place.read_bytes()
    gap = b"" if not old else b"\n" if old.endswith(b"\n") else b"\n\n"
    whole = old + gap + entry.encode()
    rows = rows_of(whole.decode(), str(path), case, judge)
    try:
        write_whole(place, whole, ".", "")
    except OSError as error:
        raise unplaced(str(path), f"cannot be written: {cause(error)}") from None
    return rows


def _from_toml(content: str, file: str) -> tuple[list[dict[str, Any]], dict[str, int]]:
    data, lines = parsed(content, file), key_lines(content)
    if {"bay", "joint"} & set(data):
        raise unplaced(
            file, "this is a case, not a file of shots; its shots stand in one beside it"
        )
    reader = Reader(file, lines, ShotFile)
    for name in data:
        if name != "shots":
            reader.refuse(name, reader.unknown(name, ["shots"], top=True))
    shots = data.get("shots", [])
    if not isinstance(shots, list) or not all(isinstance(each, dict) for each in shots):
        reader.refuse("shots", "write [[shots]], with two brackets, once for each")
    reader.stop_at_problems()
    return shots, lines


def _from_table(content: str, file: str) -> tuple[list[dict[str, Any]], dict[str, int]]:
    """Read a table; its cells become what a TOML file would hold."""
    first = content.lstrip().splitlines()[0]
    comma = max(",;\t", key=first.count)
    table = csv.reader(io.StringIO(content, newline=""), delimiter=comma)
    names: list[str] = []
    found: list[dict[str, Any]] = []
    lines: dict[str, int] = {}
    problems: list[Problem] = []
    line = 1
    for cells in table:
        start, line = line, table.line_num + 1
        if not any(cell.strip() for cell in cells):
            continue
        if not names:
            names = [cell.strip().lower() for cell in cells]
            problems = [
                Problem(start, "", f'unknown column "{name[:40]}"; known: {", ".join(COLUMNS)}')
                for name in names if name not in COLUMNS
            ]  # fmt: skip
            if "saw" not in names:
                problems.append(Problem(start, "", 'there is no column "saw" of what was seen'))
            if len(set(names)) < len(names):
                problems.append(Problem(start, "", "a column is given twice; keep one"))
            continue
        if len(cells) > len(names):
            sentence = f"{len(cells)} cells below {len(names)} columns; quote a cell with a comma"
            problems.append(Problem(start, "", sentence))
        path = f"shots[{len(found)}]"
        lines |= {path: start} | {f"{path}.{name}": start for name in names}
        held = dict(zip(names, (cell.strip() for cell in cells), strict=False))
        found.append(_typed({name: cell for name, cell in held.items() if cell}))
    if problems:
        raise CaseError(file, problems)
    return found, lines


def _typed(cells: dict[str, str]) -> dict[str, Any]:
    """Return the cells of a row as TOML would give them; what is no such value stays text."""
    found: dict[str, Any] = dict(cells)
    if "saw" in cells:
        found["saw"] = [part.strip() for part in cells["saw"].split(";") if part.strip()]
    if cells.get("pins", "").isdecimal():
        found["pins"] = int(cells["pins"])
    with suppress(ValueError):
        found["date"] = Date.fromisoformat(cells.get("date", ""))
    return found


def _row(reader: Reader, path: str, given: dict[str, Any], case: Case) -> ShotRow:
    """Read one shot; it is usable only when there are no problems."""
    for name in given:
        if name not in COLUMNS:
            reader.refuse(f"{path}.{name}", reader.unknown(name, list(COLUMNS)))
    return ShotRow(
        charge=_charge(reader, path, given, case),
        pins=_pins(reader, path, given),
        saw=_saw(reader, path, given),
        date=_date(reader, path, given),
        note=_note(reader, path, given),
        line=reader.line(path),
    )


def _charge(reader: Reader, path: str, given: dict[str, Any], case: Case) -> float | None:
    if "charge" not in given:
        return None
    raw, key = given["charge"], f"{path}.charge"
    spec = number_at(charge_path(case))
    if isinstance(raw, (dict, list)):
        reader.refuse(key, f'one value is wanted, as it was weighed, such as "{spec.example}"')
        return None
    try:
        return reader.in_range(key, spec, parse(raw, spec.dimension), raw)
    except UnitError as error:
        reader.refuse(key, str(error))
        return None


def _pins(reader: Reader, path: str, given: dict[str, Any]) -> int | None:
    if "pins" not in given:
        return None
    spec = key_at("pins.count").spec
    assert isinstance(spec, Count)
    # a test without pins is a shot too
    allowed = Count(spec.help, 0, spec.high, spec.example)
    return reader.whole(f"{path}.pins", allowed, given["pins"])


def _saw(reader: Reader, path: str, given: dict[str, Any]) -> tuple[str, ...]:
    raw, key = given.get("saw"), f"{path}.saw"
    if "saw" not in given or raw == []:
        reader.refuse(key, f"missing: {_SAW}; a shot of which nothing is known is left out")
    elif not isinstance(raw, list) or not all(isinstance(each, str) for each in raw):
        reader.refuse(key, f"wanted is {_SAW}")
    else:
        return tuple(raw)
    return ()


def _date(reader: Reader, path: str, given: dict[str, Any]) -> Date | None:
    raw = given.get("date")
    if isinstance(raw, datetime):
        return raw.date()
    if raw is not None and not isinstance(raw, Date):
        reader.refuse(f"{path}.date", "a date is wanted, without quotes, such as 2031-05-17")
        return None
    return raw


def _note(reader: Reader, path: str, given: dict[str, Any]) -> str:
    raw = given.get("note", "")
    if not isinstance(raw, str):
        reader.refuse(f"{path}.note", 'text is wanted, such as "a hot day"')
        return ""
    return raw
