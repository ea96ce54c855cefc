"""The reference of all keys, and the explanation of a case that was read."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from itertools import islice

from baypulse.case import geometry, library, quantities, units
from baypulse.case.casefile.consistency import LITTLE_CUT, percent
from baypulse.case.casefile.keys import LIBRARY, Key, options, tables, value_at
from baypulse.case.casefile.library_table import header
from baypulse.case.casefile.spreads import shares_cut
from baypulse.case.library import parts_of
from baypulse.case.model import Case, Provenance
from baypulse.case.spec import Choice, Count, Number

_WIDTH = 88


def reference(word: str = "") -> str:
    """Return every key with its help, allowed range, default and example, by table.

    Parameters
    ----------
    word : str
        Of which only the keys are wanted, and the tables, that hold it in name or help; in any
        case, and all of them when empty.

    Returns
    -------
    str
        Lines of a case file; empty where nothing holds the word.
    """
    wanted = word.casefold()
    lines: list[str] = []
    for table in tables().values():
        whole = wanted in f"{table.name} {table.help}".casefold()
        rows = [
            line
            for key in table.keys.values()
            if whole or wanted in f"{key.name} {key.spec.help}".casefold()
            for line in _key_lines(key)
        ]
        if rows:
            lines += [*comment(table.help), table.header, *rows, ""]
    return "\n".join(lines)


def explain(case: Case, *, typed: bool = False) -> str:
    """Return every value of a case with its origin, and what follows from it without a run.

    Parameters
    ----------
    case : Case
        As read by :func:`baypulse.case.casefile.read`.
    typed : bool
        With the values that were typed only, and not the library's and the defaults.

    Returns
    -------
    str
        Plain text, a line for each value: as typed, in people's units, in SI, where from.
    """
    lines = [f"{case.name}: {case.title}"]
    if case.note:
        lines += textwrap.wrap(case.note, _WIDTH, initial_indent="  ", subsequent_indent="  ")
    for table in tables().values():
        held = getattr(case, table.name)
        rows = held if table.repeated else () if held is None else (held,)
        for index, row in enumerate(rows):
            path = f"{table.name}[{index}]" if table.repeated else table.name
            told: list[str] = []
            for key in table.keys.values():
                name = f"{path}.{key.name}"
                own = _explained(case, name, key, getattr(row, key.name))
                told += _of_typed(case, name, own) if typed else own
            lines += ["", f"[{path}]", *told] if told or not typed else []
    lines += [*_replaced(case), "", "What follows without a run", *_derived(case)]
    return "\n".join(lines) + "\n"


def comment(text: str) -> list[str]:
    """Return a text as lines of comment."""
    return textwrap.wrap(text, _WIDTH, initial_indent="# ", subsequent_indent="# ")


def _key_lines(key: Key) -> list[str]:
    """Return the comment and the line of one key; one that may be left out sleeps."""
    spec = key.spec
    text = spec.help
    if isinstance(spec, Choice):
        text += ": " + ", ".join(f'"{word}"' for word in options(spec))
    if isinstance(spec, Number):
        text += f" [{quantities.within(spec.low, spec.high, spec.dimension, spec.example)}]"
        # a zero says that something is not there
        if key.default:
            text += f", default {quantities.show(key.default, spec.dimension)}"
    value = spec.example
    if not key.required and not isinstance(spec, Number) and key.default is not None:
        value = str(key.default)
    shown = value if isinstance(spec, Count) else f'"{value}"'
    return [*comment(text), f"{'' if key.required else '# '}{key.name} = {shown}"]


def _explained(case: Case, path: str, key: Key, value: object) -> Iterator[str]:
    """Yield the lines of one value."""
    origin = case.provenance.get(path, Provenance(text="", origin="default"))
    where = {
        "case": f"line {origin.line}" if origin.line is not None else "typed",
        "default": "default",
        "library": "library",
        "rocket": "rocket file",
        "drawn": "drawn",
    }[origin.origin]
    source = f"; {origin.source}" if origin.source else ""
    name = path.rpartition(".")[2]
    if value is None:
        yield f"  {name} = {origin.text} ({where}{source})"
        if path == "contents.tightness":
            yield from _library_lines(case, "packs", geometry.tightness(case))
        return
    if isinstance(key.spec, Number) and isinstance(value, float):
        spec = key.spec
        si_unit = units.SI_UNITS[spec.dimension]
        shown = quantities.show(value, spec.dimension)
        if origin.origin == "case" and path not in case.spreads:
            shown = quantities.beside(origin.text, spec.dimension)
        force = units.scale_reading(origin.text, spec.dimension) if origin.origin == "case" else ""
        where += f", the reading of a scale, taken as {force}" * bool(force)
        in_si = f"{value:.6g} {si_unit}".strip()
        also = "" if in_si == origin.text or not si_unit else f" = {in_si}"
        yield f"  {name} = {shown}{also} ({where}{source})"
        if path in case.spreads:
            also = "" if origin.origin == "case" else f" ({where}{source})"
            yield f"    {_scatter(case, path, spec.dimension)}{also}"
        return
    other = origin.origin == "case" and origin.text != str(value)
    called = f', typed as "{origin.text}"' if other and isinstance(key.spec, Choice) else ""
    yield f"  {name} = {value} ({where}{called}{source})"
    if isinstance(key.spec, Choice) and key.spec.table:
        yield from _library_lines(case, key.spec.table, str(value))


def _of_typed(case: Case, path: str, lines: Iterator[str]) -> list[str]:
    """Return the line of a typed value and how it scatters, without the library behind it."""
    origin = case.provenance.get(path)
    if origin is None or not origin.typed:
        return []
    return list(islice(lines, 2 if path in case.spreads else 1))


def _library_lines(case: Case, table: str, name: str) -> Iterator[str]:
    """Yield the numbers that a word stands for."""
    for field, fact in library.facts(table, name).items():
        if library.address(table, name, field) in case.materials:
            yield f"    {field}: replaced, see {header(table, name)}"
            continue
        text = quantities.beside(fact.text, fact.dimension)
        yield f"    {field} = {text}, spread {fact.spread_text} (library; {fact.source})"


def _replaced(case: Case) -> Iterator[str]:
    """Yield the numbers of the library that the case replaces, with what they replace."""
    opened = ""
    for place, value in sorted(case.materials.items(), key=lambda each: parts_of(each[0])[:2]):
        table, name, number = parts_of(place)
        fact, path = library.fact(place), LIBRARY + place
        if header(table, name) != opened:
            opened = header(table, name)
            yield ""
            yield opened
        origin = case.provenance.get(path, Provenance(text="", origin="default"))
        where = f"line {origin.line}" if origin.line is not None else "replaced"
        source = f"; {origin.source}" if origin.source else ""
        yield (
            f"  {number} = {quantities.show(value, fact.dimension)}, typed as {origin.text} "
            f"({where}{source}) in place of the library's "
            f"{quantities.beside(fact.text, fact.dimension)}, spread {fact.spread_text}"
        )
        if path in case.spreads:
            yield f"    {_scatter(case, path, fact.dimension)}"
        else:
            yield "    does not scatter: without a spread it is taken as known"


def _scatter(case: Case, path: str, dimension: str) -> str:
    """Say how one value scatters."""
    spread = case.spreads[path]
    parts = [f"scatters: {spread.distribution}"]
    if spread.deviation is not None:
        unit = units.SI_UNITS[dimension]
        parts.append(f"standard deviation {spread.deviation:.4g} {unit}".rstrip())
    if spread.low is not None and spread.high is not None:
        low, high = quantities.show(spread.low, dimension), quantities.show(spread.high, dimension)
        parts.append(f"between {low} and {high}")
    shares = shares_cut(value_at(case, path), spread)
    parts += [
        f"{percent(share)} cut off {side}"
        for share, side in zip(shares, ("below", "above"), strict=True)
        if share > LITTLE_CUT
    ]
    if spread.sample:
        parts.append(f"{len(spread.sample)} measured values")
    if spread.group:
        closely = "" if spread.correlation == 1.0 else f" (correlation {spread.correlation:g})"
        parts.append(f"together with group {spread.group}{closely}")
    return ", ".join(parts)


def _derived(case: Case) -> Iterator[str]:
    """Yield free volume and static hold with their parts."""
    free = geometry.free_volume(case)
    yield f"  free volume = {quantities.show(free.total, 'volume')}"
    for name, part in free.parts.items():
        yield f"    {name}: {'+' if part >= 0.0 else '-'} {quantities.show(abs(part), 'volume')}"
    hold = geometry.static_hold(case)
    yield f"  static hold (in a slow pull) = {quantities.show(hold.total, 'force')}"
    yield f"    friction: {quantities.show(hold.friction, 'force')}"
    yield f"    seal: {quantities.show(hold.seal, 'force')}"
    if case.pins is not None:
        one = quantities.show(geometry.pin_strength(case), "force")
        yield f"    pins: {quantities.show(hold.pins, 'force')}, {case.pins.count} of {one} each"
    yield (
        f"  pressure whose force on the bore equals the hold = "
        f"{quantities.show(hold.pressure, 'gauge pressure')} gauge"
    )
    if case.pins is not None:
        shot = quantities.show(geometry.shot_hold(case).pressure, "gauge pressure")
        gain = 100.0 * (float(geometry.rate_gain(case)) - 1.0)
        yield (
            f"    in a shot: {shot} gauge, since pins that are loaded in milliseconds are about "
            f"{gain:.0f} % stronger"
        )
    if case.contents is not None:
        pull, length = geometry.extraction_force(case), geometry.packed_length(case)
        yield (
            f"  force that pulls the pack out = {quantities.show(pull, 'force')}, over "
            f"{quantities.show(length, 'length')} of tube"
        )
    pressure, temperature = geometry.air(case)
    yield (
        f"  air outside = {quantities.show(pressure, 'absolute pressure')}, "
        f"{quantities.show(temperature, 'temperature')}"
    )
