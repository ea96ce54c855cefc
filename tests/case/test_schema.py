"""The JSON Schema: equal to the shipped file, accepts the shipped cases, refuses broken ones."""

from __future__ import annotations

import json
import re
import tomllib
from importlib import resources
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from baypulse.case import library, units
from baypulse.case.casefile.keys import options, tables, top_keys
from baypulse.case.schema import case_schema, schema_text
from baypulse.case.spec import Choice, Number
from baypulse.errors import UnitError
from case.whole_case import KINDS, starter_text

CASES = sorted((Path(__file__).parents[2] / "cases").glob("*.toml"))
BROKEN = Path(__file__).parents[1] / "cases" / "broken"
VALIDATOR = jsonschema.Draft202012Validator(case_schema())


def parsed(path: Path) -> dict[str, Any]:
    """Return the plain tables of a file."""
    return tomllib.loads(path.read_text(encoding="utf-8"))


def test_shipped_schema_is_the_generated_one() -> None:
    place = resources.files("baypulse") / "case" / "data" / "case.schema.json"
    shipped = place.read_text("utf-8")
    assert shipped == schema_text()
    assert json.loads(shipped) == case_schema()


def test_schema_is_valid() -> None:
    jsonschema.Draft202012Validator.check_schema(case_schema())


@pytest.mark.parametrize("path", CASES, ids=lambda path: path.stem)
def test_shipped_cases_fit(path: Path) -> None:
    VALIDATOR.validate(parsed(path))


@pytest.mark.parametrize("kind", KINDS)
def test_starter_cases_fit(kind: str) -> None:
    VALIDATOR.validate(tomllib.loads(starter_text(kind)))


@pytest.mark.parametrize("correlation", [0.5, 1, "50 %"])
def test_a_correlation_fits(correlation: object) -> None:
    case = parsed(CASES[0])
    case["joint"]["pull_off"] |= {"group": "pulls", "correlation": correlation}
    VALIDATOR.validate(case)


def test_the_scatter_of_a_default_is_described() -> None:
    row = case_schema()["properties"]["bay"]["properties"]["entrainment"]
    assert row["description"].endswith("default: 0.5 (50 %) (log-normal, spread 80 %)")
    # by default there is none: the law of entrainment mixes the air in
    row = case_schema()["properties"]["bay"]["properties"]["mixing_time"]
    assert "default" not in row["description"]


@pytest.mark.parametrize(
    "pattern",
    [
        "*-power-tower", "*-unit-typo", "*-no-unit", "*-bare-number", "*-decimal-comma", "*-gr",
        "*-wrong-dimension", "*-scale-reading", "*-pressure-unstated", "*-absolute-for-gauge",
        "*-gauge-for-absolute", "*-nan-text", "*-true-for-ratio", "*-celsius", "*-unknown-key",
        "*-unknown-table", "*-missing-keys", "*-missing-tables", "*-missing-title", "*-no-source",
        "*-two-sources", "*-holder-without-powder", "*-unknown-grade", "*-unknown-thread",
        "*-count-as-text", "*-count-zero", "*-list-for-value", "*-opening-single",
        "*-spread-unknown-word", "*-distribution-unknown", "*-sample-of-one", "*-many-at-once",
        "*-correlation-of-zero",
    ],
)  # fmt: skip
def test_broken_cases_do_not_fit(pattern: str) -> None:
    (path,) = BROKEN.glob(f"{pattern}.toml")
    assert list(VALIDATOR.iter_errors(parsed(path)))


def test_every_key_is_described_with_an_example() -> None:
    schema = case_schema()
    for table in tables().values():
        body = schema["properties"][table.name]
        assert body["description"] == table.help
        body = body.get("items", body)
        assert list(body["properties"]) == list(table.keys)
        assert body["additionalProperties"] is False
        for key in table.keys.values():
            row = body["properties"][key.name]
            assert row["description"].startswith(key.spec.help)
            assert [str(example) for example in row["examples"]] == [key.spec.example]
            if isinstance(key.spec, Choice):
                others = library.other_names(key.spec.table) if key.spec.table else {}
                assert row["enum"] == [*options(key.spec), *others]
    assert set(schema["properties"]) == {*tables(), *top_keys(), "library"}


NUMBERS = [
    (table, name, number)
    for table in library.TABLES
    for name in library.names(table)
    for number in library.facts(table, name)
]


def test_every_number_of_the_library_can_be_given() -> None:
    case = parsed(CASES[0])
    case["library"] = {}
    for table, name, number in NUMBERS:
        text = library.fact(library.address(table, name, number)).text
        value = text if len(number) % 2 else {"value": text, "spread": "12 %"}
        case["library"].setdefault(table, {}).setdefault(name, {})[number] = value
    VALIDATOR.validate(case)


@pytest.mark.parametrize(
    "given",
    [
        {"powder": {"3F": {"rate": "10 mm/s"}}},
        {"powders": {"3 F": {"rate": "10 mm/s"}}},
        {"powders": {"3F": {"rates": "10 mm/s"}}},
        {"powders": {"3F": {"rate": "10 mm per second"}}},
        {"powders": {"3F": {"rate": 0.01}}},
        {"powders": {"3F": "10 mm/s"}},
    ],
)
def test_what_the_library_has_not_does_not_fit(given: dict[str, Any]) -> None:
    assert list(VALIDATOR.iter_errors(parsed(CASES[0]) | {"library": given}))


@pytest.mark.parametrize("key", [k for t in tables().values() for k in t.keys.values()])
def test_examples_are_readable_and_in_range(key: Any) -> None:
    spec = key.spec
    if isinstance(spec, Number):
        value = units.parse(spec.example, spec.dimension)
        assert spec.low <= value <= spec.high
        assert re.search(units.pattern(spec.dimension), spec.example)
        assert key.default is None or spec.low <= key.default <= spec.high
    elif isinstance(spec, Choice):
        assert spec.example in options(spec)
        assert key.default is None or key.default in options(spec)
    else:
        assert spec.help


TEXTS = ["75 mm", "12 psig", "12 psi", "1 bar abs", "98 kPa gauge", "98 kPaa", "15 degC", "15 C",
         "0.3", "12 %", "3 kg", "5 lbf", "3,5 mm", "60 ft/s", "10 cm^2", "10 cm2", "4 L", "30 deg",
         "3 grain", "3 gr", "0.35 g/cm^3", "2 psia", "12 ksi", ".5 in", "5. mm", "1e-3 m",
         "5"]  # fmt: skip


@pytest.mark.parametrize("text", TEXTS)
@pytest.mark.parametrize(
    "dimension",
    ["length", "mass", "time", "force", "angle", "gauge pressure", "absolute pressure", "ratio",
     "temperature"],
)  # fmt: skip
def test_pattern_and_parser_agree(text: str, dimension: str) -> None:
    try:
        units.parse(text, dimension)
        readable = True
    except UnitError:
        readable = False
    assert bool(re.search(units.pattern(dimension), text)) == readable
