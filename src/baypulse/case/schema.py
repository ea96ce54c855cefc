"""The JSON Schema of a case file, made from the model's field metadata.

An editor that knows JSON Schema completes keys and words from it and shows the help of each
key. The reader is the stricter of the two: it also converts units, checks ranges of dimensional
values and compares keys with each other.
"""

from __future__ import annotations

import json
from typing import Any

from baypulse.case import library, quantities, units
from baypulse.case.casefile.keys import Key, KeyTable, library_range, options, tables, top_keys
from baypulse.case.casefile.library_table import TABLE
from baypulse.case.casefile.spreads import DISTRIBUTIONS
from baypulse.case.spec import Choice, Count, Number

DIALECT = "https://json-schema.org/draft/2020-12/schema"
"""The dialect of JSON Schema."""


def case_schema() -> dict[str, Any]:
    """Return the JSON Schema of a case file.

    Returns
    -------
    dict
        Ready for :func:`json.dumps`; draft 2020-12.
    """
    properties: dict[str, Any] = {key.name: _key(key) for key in top_keys().values()}
    properties.update({table.name: _table(table) for table in tables().values()})
    properties[TABLE] = _library()
    required = [key.name for key in top_keys().values() if key.required]
    required += [table.name for table in tables().values() if table.required]
    dimensions = dict.fromkeys(
        key.spec.dimension
        for table in tables().values()
        for key in table.keys.values()
        if isinstance(key.spec, Number)
    )
    kinds = {table: _library_entry(table) for table in library.TABLES}
    dimensions |= dict.fromkeys(
        fact.dimension for table in library.TABLES for fact in _first(table).values()
    )
    return {
        "$schema": DIALECT,
        "title": "Baypulse case",
        "description": "One shot of a recovery bay. A dimensional value is text with its unit; "
        "a pressure says gauge or absolute.",
        "type": "object",
        "additionalProperties": False,
        "required": required,
        "properties": properties,
        "oneOf": [{"required": ["powder"]}, {"required": ["cold_gas"]}],
        "dependentRequired": {"holder": ["powder"], "brakes": ["cord"], "other_joints": ["cord"]},
        "$defs": {
            **{_name(dimension): _value(dimension) for dimension in dimensions},
            **{_entry_name(table): kind for table, kind in kinds.items()},
        },
    }


def schema_text() -> str:
    """Return the JSON Schema as the text that is shipped."""
    return json.dumps(case_schema(), indent=2, ensure_ascii=False) + "\n"


def _table(table: KeyTable) -> dict[str, Any]:
    """Describe one table."""
    body: dict[str, Any] = {
        "type": "object",
        "additionalProperties": False,
        "properties": {key.name: _key(key) for key in table.keys.values()},
    }
    required = [key.name for key in table.keys.values() if key.required]
    if required:
        body["required"] = required
    if table.repeated:
        return {"description": table.help, "type": "array", "items": body}
    return {"description": table.help, **body}


def _library() -> dict[str, Any]:
    """Describe the numbers of the library that a case replaces, by table and entry."""
    return {
        "description": "Numbers of the library that this case replaces by its own.",
        "type": "object",
        "additionalProperties": False,
        "properties": {
            table: {
                "type": "object",
                "additionalProperties": False,
                "properties": {
                    name: {"$ref": f"#/$defs/{_entry_name(table)}"} for name in library.names(table)
                },
            }
            for table in library.TABLES
        },
    }


def _library_entry(table: str) -> dict[str, Any]:
    """Describe the numbers of an entry of one table of the library."""
    properties = {}
    for number, fact in _first(table).items():
        low, high = library_range(table, number)
        span = quantities.within(low, high, fact.dimension, fact.text)
        properties[number] = {
            "description": f"in place of the library's; allowed: {span}",
            "$ref": f"#/$defs/{_name(fact.dimension)}",
            "examples": [fact.text],
        }
    return {"type": "object", "additionalProperties": False, "properties": properties}


def _first(table: str) -> dict[str, library.LibraryValue]:
    """Return the numbers of a table's first entry, which has the same as all."""
    return library.facts(table, library.names(table)[0])


def _entry_name(table: str) -> str:
    return f"library_{_name(table)}"


def _key(key: Key) -> dict[str, Any]:
    """Describe one key."""
    spec = key.spec
    body: dict[str, Any] = {"description": _sentence(key)}
    if isinstance(spec, Number):
        body["$ref"] = f"#/$defs/{_name(spec.dimension)}"
        body["examples"] = [spec.example]
    elif isinstance(spec, Count):
        body |= {"type": "integer", "minimum": spec.low, "maximum": spec.high}
        body["examples"] = [int(spec.example)]
    elif isinstance(spec, Choice):
        others = library.other_names(spec.table) if spec.table else {}
        body |= {"enum": [*options(spec), *others], "examples": [spec.example]}
    else:
        body["type"] = "string"
        if spec.example:
            body["examples"] = [spec.example]
    if not isinstance(spec, Number) and key.default is not None:
        body["default"] = key.default
    return body


def _sentence(key: Key) -> str:
    """Return the help of a key with its range and default."""
    spec = key.spec
    parts = [spec.help]
    if isinstance(spec, Number):
        span = quantities.within(spec.low, spec.high, spec.dimension, spec.example)
        parts.append(f"allowed: {span}")
        if key.default is not None:
            parts.append(f"default: {quantities.show(key.default, spec.dimension)}{_scatter(spec)}")
    return "; ".join(parts)


def _scatter(spec: Number) -> str:
    """Say how a default scatters, as the end of a sentence."""
    scatter = spec.scatter
    if scatter is None:
        return ""
    ends = ""
    if scatter.low is not None and scatter.high is not None:
        ends = f", {quantities.within(scatter.low, scatter.high, spec.dimension, spec.example)}"
    return f" ({scatter.distribution}, spread {100.0 * scatter.share:.3g} %{ends})"


def _value(dimension: str) -> dict[str, Any]:
    """Describe a number: text with a unit, or a table with the spread."""
    plain: dict[str, Any] = {"type": "string", "pattern": units.pattern(dimension)}
    if dimension == "ratio":
        plain = {"anyOf": [plain, {"type": "number"}]}
    deviation = {"type": ["string", "number"], "maxLength": units.LONGEST_TEXT}
    scattering = {
        "type": "object",
        "additionalProperties": False,
        "anyOf": [{"required": ["value"]}, {"required": ["sample"]}],
        "properties": {
            "value": plain,
            "spread": {
                "description": "standard deviation, as a share or with a unit",
                **deviation,
            },
            "distribution": {"enum": list(DISTRIBUTIONS)},
            "low": plain,
            "high": plain,
            "sample": {"type": "array", "minItems": 2, "items": plain},
            "group": {"description": "values of one group scatter together", "type": "string"},
            "correlation": {
                "description": "how closely the value goes with its group, above 0 and up to 1",
                "anyOf": [
                    {"type": "string", "pattern": units.pattern("ratio")},
                    {"type": "number", "exclusiveMinimum": 0, "maximum": 1},
                ],
                "default": 1,
            },
            "source": {"description": "where the value comes from", "type": "string"},
        },
    }
    return {"anyOf": [plain, scattering]}


def _name(dimension: str) -> str:
    return dimension.replace(" ", "_")


if __name__ == "__main__":
    print(schema_text(), end="")
