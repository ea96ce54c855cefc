"""The case-file reader: TOML text in, a validated :class:`~baypulse.case.model.Case` out.

Everything about the keys comes from the metadata of the model's fields. Every problem is
collected, with its line, before :class:`~baypulse.errors.CaseError` is raised.
"""

from __future__ import annotations

import re
import stat
import tomllib
import warnings
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any

from baypulse.case import library, quantities, units
from baypulse.case.casefile import consistency, library_table
from baypulse.case.casefile.findings import Finding
from baypulse.case.casefile.keys import Key, KeyTable, options, renamed, tables, top_keys
from baypulse.case.casefile.shared_values import (
    NOTHING_SHARED,
    SharedValues,
    placed,
    unplaceable,
)
from baypulse.case.casefile.spreads import FORM_KEYS, default_spread, read_spread
from baypulse.case.casefile.toml_lines import key_lines
from baypulse.case.default_limits import limited
from baypulse.case.model import Case, Provenance, Spread
from baypulse.case.spec import Choice, Count, Number, Spec, Text
from baypulse.errors import CaseError, Problem, RangeWarning, UnitError, cause
from baypulse.spelling import near, unseen

LARGEST_FILE = 1_000_000
"""Largest case file [bytes] that is read."""

TINY = 1e-12
"""Share of the most that a value may be, below which it is neither nothing nor something."""

# the standard reader takes time that grows with the square of the length of a dotted key
_LONG_KEY = re.compile(r"""(?<![\w"'-])(?:[\w"'-]+[ \t]*\.[ \t]*){41}""")
_LAST_STEP = re.compile(r"(?:\.[^.]*|\[\d+\])$")
_PLACE = re.compile(r"\s*\(at (?:line (\d+), column \d+|end of document)\)$")
_UNQUOTED = re.compile(
    r"^\s*([\w.-]+)\s*=\s*([+-]?[0-9][0-9.,eE+-]*\s*[A-Za-z%°][^#\"']*?)\s*(#.*)?$"
)
_UNQUOTED_WORD = re.compile(r"^\s*([\w.-]+)\s*=\s*([A-Za-z#][^\"'\[{]*?)\s*$")


def read(path: str | Path) -> Case:
    """Read a case file.

    Parameters
    ----------
    path : str or pathlib.Path
        The file; its name without the suffix becomes the name of the case.

    Returns
    -------
    Case
        In SI, with the provenance of every value.

    Raises
    ------
    CaseError
        With every problem found, each with its line.
    """
    # the name of a case is written everywhere, that of a file may hold any byte
    name = "".join("_" if unseen(c) else c for c in Path(path).stem)
    return reads(file_text(path), name, str(path))


def file_text(path: str | Path) -> str:
    """Return the text of a file, or say why there is none.

    Parameters
    ----------
    path : str or pathlib.Path
        The file.

    Raises
    ------
    CaseError
        With one problem.
    """
    file = str(path)
    try:
        mode = Path(path).stat().st_mode
        if not (stat.S_ISREG(mode) or stat.S_ISDIR(mode)):
            raise unplaced(file, "this is a pipe or a device, not a file")  # which may never end
        with Path(path).open("rb") as stream:
            data = stream.read(LARGEST_FILE + 1)
    except FileNotFoundError:
        raise unplaced(file, "there is no such file") from None
    except IsADirectoryError:
        raise unplaced(file, "this is a folder, not a case file") from None
    except (OSError, ValueError) as error:
        raise unplaced(file, f"cannot be read: {cause(error)}") from None
    return _decoded(data, file)


def reads(
    text: str, name: str = "case", file: str = "case.toml", shared: SharedValues = NOTHING_SHARED
) -> Case:
    """Read a case from text.

    Parameters
    ----------
    text : str
        TOML.
    name : str
        Name of the case.
    file : str
        What messages call the file.
    shared : SharedValues
        Of the rocket file that names the case; the case's own values come first.

    Returns
    -------
    Case
        In SI, with the provenance of every value.

    Raises
    ------
    CaseError
        With every problem found, each with its line.
    """
    text = text.removeprefix("\ufeff")
    data = parsed(text, file)
    lines, taken = key_lines(text), shared.missing_in(data)
    reader = Reader(file, lines, Case, apart=(library_table.TABLE,), shared=shared)
    reader.refuse_all(unplaceable(text, taken, lines))
    reader.taken = {f"{table}.{name}" for table, keys in taken.items() for name in keys}
    data |= {table: data.get(table, {}) | keys for table, keys in taken.items()}
    values = reader.values(data)
    materials = library_table.read_numbers(reader, data.get(library_table.TABLE, {}))
    reader.refuse_all(consistency.tables_that_clash(set(data)))
    reader.stop_at_problems()
    case = Case(
        name=name,
        **values,
        provenance=reader.provenance,
        spreads=reader.spreads,
        materials=materials,
        source_text=placed(text, taken, lines) if taken else text,
    )
    reader.refuse_all(consistency.problems(case))
    reader.stop_at_problems()
    case = limited(case)
    for key, sentence in consistency.doubts(case):
        warnings.warn(reader.problem(key, sentence).sentence(file), RangeWarning, stacklevel=2)
    return case


def _decoded(data: bytes, file: str) -> str:
    """Turn the bytes of a file into text, or say why they are none."""
    if len(data) > LARGEST_FILE:
        raise unplaced(
            file, f"the file is larger than {LARGEST_FILE // 1000} kB; a case needs a few kB"
        )
    if b"\0" in data:
        raise unplaced(file, "the file holds binary data or UTF-16; save it as UTF-8 text")
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        odd = data[error.start]
        text = f"byte 0x{odd:02x} is not UTF-8; save the file with UTF-8 encoding"
        raise CaseError(file, [Problem(line, "", text)]) from None


def unplaced(file: str, sentence: str) -> CaseError:
    """Return the error for one problem of a whole file."""
    return CaseError(file, [Problem(None, "", sentence)])


def parsed(text: str, file: str) -> dict[str, Any]:
    """Run the standard library's TOML reader and give its errors a line and advice."""
    if len(text) > LARGEST_FILE:
        raise unplaced(
            file, f"the text is longer than {LARGEST_FILE // 1000} kB; a case needs a few kB"
        )
    long_key = _LONG_KEY.search(text)
    if long_key:
        line = text.count("\n", 0, long_key.start()) + 1
        raise CaseError(file, [Problem(line, "", "a key of more than 40 parts is not read")])
    if not text.strip():
        sentence = "the file is empty; a case needs at least a title, [bay], [nose], [airframe], "
        raise unplaced(file, sentence + "[joint] and [powder] or [cold_gas]")
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise CaseError(file, [_syntax_problem(str(error), text)]) from None
    except (ValueError, RecursionError) as error:
        reason = "nested too deeply" if isinstance(error, RecursionError) else str(error)
        raise unplaced(file, f"not readable TOML: {reason}") from None


def _syntax_problem(message: str, text: str) -> Problem:
    """Turn a message of the TOML reader into a problem that says what to do."""
    rows = text.split("\n")
    match = _PLACE.search(message)
    line = int(match.group(1)) if match and match.group(1) else len(rows)
    reason = _PLACE.sub("", message)
    row = rows[min(line, len(rows)) - 1].rstrip("\r")
    if reason.startswith("Cannot overwrite a value"):
        # the reader may stop on the line after the second assignment
        row = row if "=" in row else rows[max(line - 2, 0)]
        line = line if row == rows[line - 1].rstrip("\r") else line - 1
        key = row.split("=")[0].strip()
        return Problem(line, "", f'the key "{key}" is given twice in this table; keep one')
    if reason.startswith("Cannot declare"):
        return Problem(line, "", f"the table {row.strip()} is given twice; merge the two")
    if row.lstrip().startswith("[library"):
        name = library_table.header("pin materials", "nylon 6/6")
        return Problem(line, "", f"names with blanks or signs need quotes, such as {name}")
    unquoted = _UNQUOTED.match(row) or _UNQUOTED_WORD.match(row)
    if unquoted:
        key, value = unquoted.group(1), unquoted.group(2).strip()
        return Problem(line, "", f'values with a unit and words need quotes: {key} = "{value}"')
    if reason.startswith("Illegal character") and row.count('"') % 2:
        return Problem(line, "", "a quote on this line is not closed")
    return Problem(line, "", _printable(f"not readable TOML: {reason}"))


class Reader:
    """Walks the tables and keys, collecting values, provenance, spreads and problems.

    Parameters
    ----------
    file : str
        What messages call the file.
    lines : dict of str to int
        Line of each key.
    whole : type
        Dataclass of the whole file.
    apart : sequence of str
        Tables that somebody else reads.
    shared : SharedValues
        Of the rocket file; ``taken`` holds the paths that come from there.
    """

    def __init__(
        self, file: str, lines: dict[str, int], whole: Any, apart: Sequence[str] = (),
        shared: SharedValues = NOTHING_SHARED,
    ) -> None:  # fmt: skip
        self.file, self.lines, self.apart, self.shared = file, lines, apart, shared
        self.taken: set[str] = set()
        self.top_keys, self.tables = top_keys(whole), tables(whole)
        self.problems: list[Problem] = []
        self.provenance: dict[str, Provenance] = {}
        self.spreads: dict[str, Spread] = {}

    def line(self, path: str) -> int | None:
        """Return the line of a path, or of the nearest table around it."""
        while path not in self.lines:
            # a header such as [library.powders.3F] stands for the tables around it
            inside = [line for each, line in self.lines.items() if each.startswith(f"{path}.")]
            if inside:
                return min(inside)
            shorter = _LAST_STEP.sub("", path)
            if shorter == path:
                return None
            path = shorter
        return self.lines[path]

    def refuse(self, path: str, text: str) -> None:
        """Note a problem; what came from the file is made fit for a terminal."""
        self.problems.append(self.problem(path, _printable(text)))

    def problem(self, path: str, text: str) -> Problem:
        """Return a problem with its place: in this file, or in the rocket's for a shared value."""
        home = ".".join(path.split(".")[:2])
        if home not in self.taken:
            return Problem(self.line(path), _printable(path), text)
        line = self.shared.lines.get(path, self.shared.lines[home])
        return Problem(line, _printable(path), text, file=self.shared.file)

    def refuse_all(self, findings: Iterable[Finding]) -> None:
        """Note everything that a check found."""
        for path, text in findings:
            self.refuse(path, text)

    def stop_at_problems(self) -> None:
        """Raise a :class:`~baypulse.errors.CaseError` of every problem so far, if there is any."""
        if self.problems:
            raise CaseError(self.file, self.problems)

    def values(self, data: dict[str, Any]) -> dict[str, Any]:
        """Read everything; the values are usable only when there are no problems."""
        values: dict[str, Any] = {}
        for key in self.top_keys.values():
            values[key.name] = self.key(key.name, key, data)
        for table in self.tables.values():
            if table.name in data:
                values[table.name] = self.table(table, data[table.name])
            elif table.required:
                self.refuse("", f"the table {table.header} is missing: {_lower(table.help)}")
            elif not table.absent and not table.repeated:
                values[table.name] = self.keys(table, table.name, {})
        known = [*self.top_keys, *self.tables, *self.apart]
        for name in data:
            if name not in known:
                table_like = isinstance(data[name], (dict, list))
                self.refuse(name, self.unknown(name, known, top=True, table=table_like))
        return values

    def table(self, table: KeyTable, given: Any) -> Any:
        """Read one table, or all of a repeated one."""
        if table.repeated:
            if not isinstance(given, list) or not all(isinstance(row, dict) for row in given):
                self.refuse(table.name, f"write {table.header}, with two brackets, once for each")
                return ()
            rows = [self.keys(table, f"{table.name}[{i}]", row) for i, row in enumerate(given)]
            return tuple(row for row in rows if row is not None)
        if not isinstance(given, dict):
            what = "with one bracket, and only once" if isinstance(given, list) else "then its keys"
            self.refuse(table.name, f"this is a table: write {table.header}, {what}")
            return None
        return self.keys(table, table.name, given)

    def keys(self, table: KeyTable, path: str, given: dict[str, Any]) -> Any:
        """Read the keys of one table and build its dataclass, or None after a problem."""
        before = len(self.problems)
        for name in given:
            if name not in table.keys:
                self.refuse(f"{path}.{name}", self.unknown(name, list(table.keys)))
        values = {
            key.name: self.key(f"{path}.{key.name}", key, given) for key in table.keys.values()
        }
        return table.kind(**values) if len(self.problems) == before else None

    def key(self, path: str, key: Key, given: dict[str, Any]) -> Any:
        """Read one key, or take its default."""
        if key.name not in given:
            if key.required:
                spec = key.spec
                self.refuse(path, f"missing: {spec.help}, such as {_typed(key)}")
                return None
            self.provenance[path] = consistency.default_provenance(path, key)
            if isinstance(key.spec, Number) and key.default is not None:
                self.scatters(path, default_spread(key.default, key.spec))
            return key.default
        return self.typed(path, key.spec, given[key.name])

    def typed(self, path: str, spec: Spec, raw: Any) -> Any:
        """Read a value that stands in the file."""
        self.provenance[path] = self.origin(path, _as_typed(raw))
        if isinstance(spec, Number):
            return self.number(path, spec, raw)
        if isinstance(spec, Count):
            return self.whole(path, spec, raw)
        return self.words(path, spec, raw)

    def origin(self, path: str, text: str, source: str = "") -> Provenance:
        """Return where a typed value stands: in this file, or in the rocket's."""
        if path not in self.taken:
            return Provenance(text=text, origin="case", line=self.line(path), source=source)
        place = f"{Path(self.shared.file).name}, line {self.shared.lines[path]}"
        where = f"{place}; {source}" if source else place
        return Provenance(text=text, origin="rocket", source=where)

    def number(self, path: str, spec: Number, raw: Any) -> float | None:
        """Read a number with a unit, alone or in a table with its spread."""
        if isinstance(raw, list):
            self.refuse(path, f'one value is wanted, such as "{spec.example}", not a list')
            return None
        try:
            if not isinstance(raw, dict):
                return self.in_range(path, spec, units.parse(raw, spec.dimension), raw)
            for name in raw:
                if name not in FORM_KEYS:
                    self.refuse(f"{path}.{name}", self.unknown(name, list(FORM_KEYS)))
            value, spread = read_spread(raw, spec)
        except UnitError as error:
            self.refuse(path, str(error))
            return None
        self.provenance[path] = self.origin(
            path,
            _as_typed(raw.get("value", raw.get("sample", ""))),
            str(raw.get("source", "")),
        )
        self.scatters(path, spread)
        return self.in_range(path, spec, value, raw.get("value", raw.get("sample")))

    def scatters(self, path: str, spread: Spread | None) -> None:
        """Note how a value scatters, if it does."""
        if spread is not None:
            self.spreads[path] = spread

    def in_range(self, path: str, spec: Number, value: float, raw: Any) -> float | None:
        """Refuse a value outside the allowed range."""
        if 0.0 == spec.low < value < TINY * spec.high:
            self.refuse(path, f"given {_text_of(raw)}, too little to reckon with; write 0 for none")
            return None
        if spec.low <= value <= spec.high:
            return value
        allowed = quantities.within(spec.low, spec.high, spec.dimension, spec.example)
        self.refuse(path, f"given {_text_of(raw)}, allowed {allowed}")
        return None

    def whole(self, path: str, spec: Count, raw: Any) -> int | None:
        """Read a whole number."""
        if isinstance(raw, bool) or not isinstance(raw, int):
            self.refuse(
                path,
                f"given {_text_of(raw)}; a whole number is wanted, without quotes, "
                f"such as {spec.example}",
            )
            return None
        if not spec.low <= raw <= spec.high:
            self.refuse(path, f"given {_text_of(raw)}, allowed {spec.low} to {spec.high}")
            return None
        return raw

    def words(self, path: str, spec: Choice | Text, raw: Any) -> str | None:
        """Read text, or one word of a list."""
        if not isinstance(raw, str):
            example = spec.example or "some words"
            self.refuse(path, f'given {_text_of(raw)}; text is wanted, such as "{example}"')
            return None
        if isinstance(spec, Text):
            hidden = sorted({c for c in raw if unseen(c)})
            if hidden:
                codes = ", ".join(f"U+{ord(c):04X}" for c in hidden)
                self.refuse(path, f"characters that nobody sees ({codes}) are not taken; leave "
                            "them out")  # fmt: skip
                return None
            return raw
        allowed = options(spec)
        if raw in allowed:
            return raw
        own = library.own_name(spec.table, raw) if spec.table in library.GENERIC else ""
        if own:
            return own
        close = library_table.meant(raw[:60], allowed, spec.table)
        hint = f' did you mean "{close}"?' if close else ""
        listed = ", ".join(f'"{word}"' for word in allowed)
        self.refuse(path, f'"{raw[:60]}" is not known;{hint} allowed: {listed}')
        return None

    def unknown(
        self, name: str, known: list[str], *, top: bool = False, table: bool = False
    ) -> str:
        """Say that a key or table is unknown, and which one may have been meant."""
        new = renamed(name, known)
        if new:
            return f"is now called {new}; write that"
        shown = name if len(name) <= 40 else f"{name[:37]}..."
        what = "key or table" if top else "key"
        homes = [home.header for home in self.tables.values() if name in home.keys]
        if homes and not table:
            return f'unknown {what} "{shown}" here; it belongs in {" or ".join(homes)}'
        close = near(name, known) if len(name) <= 40 else ""
        if close:
            return f'unknown {what} "{shown}"; did you mean "{close}"?'
        return f'unknown {what} "{shown}"; known here: {", ".join(known)}'


def _typed(key: Key) -> str:
    """Return the example of a key as it would stand in a file."""
    return key.spec.example if isinstance(key.spec, Count) else f'"{key.spec.example}"'


def _as_typed(raw: Any) -> str:
    """Return a value for the provenance: text in full and without its quotes."""
    return raw if isinstance(raw, str) else _text_of(raw)


def _text_of(raw: Any) -> str:
    """Return a value as it was typed, shortened."""
    if isinstance(raw, bool):
        return "true" if raw else "false"
    if isinstance(raw, str):
        return f'"{raw}"' if len(raw) <= 60 else f'"{raw[:57]}..."'
    if isinstance(raw, int) and abs(raw) > 10**18:
        return "a very large number"
    if isinstance(raw, list) and all(isinstance(item, str) for item in raw) and len(raw) <= 12:
        return ", ".join(raw)
    if isinstance(raw, (list, dict)):
        return "a list" if isinstance(raw, list) else "a table"
    return str(raw)


def _lower(sentence: str) -> str:
    """Return a sentence as the end of another one."""
    return sentence[:1].lower() + sentence[1:].rstrip(".")


def _printable(text: str) -> str:
    """Return text with its control characters written out."""
    return "".join(c if c.isprintable() else c.encode("unicode_escape").decode() for c in text)
