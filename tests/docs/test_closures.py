"""The page of closures names functions that exist, every module of a shot, and every variant."""

import ast
import importlib
import re
import runpy
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
PAGE = (ROOT / "docs" / "closures.md").read_text(encoding="utf-8")
PHYSICS = ROOT / "src" / "baypulse" / "physics"

NO_CLOSURE = {
    "__init__", "choice", "compiled", "core_folder", "core_passes", "first_work", "kept_code",
    "lane_powers", "lane_tables", "lanes", "late_code", "plain", "powers", "whole_code",
}  # fmt: skip
MODULES = sorted({path.stem for path in PHYSICS.glob("*.py")} - NO_CLOSURE)

TEXT, _, TABLES = PAGE.partition("## The tables")


def public_functions(module: str) -> set[str]:
    tree = ast.parse((PHYSICS / f"{module}.py").read_text(encoding="utf-8"))
    names = (node.name for node in tree.body if isinstance(node, ast.FunctionDef))
    return {name for name in names if not name.startswith("_")}


@pytest.mark.parametrize("module", MODULES)
def test_every_module_of_a_shot_is_named(module: str) -> None:
    assert f"`physics.{module}`" in TEXT or f"`physics.{module}." in TEXT


@pytest.mark.parametrize("module", MODULES)
def test_every_public_function_is_named(module: str) -> None:
    for name in public_functions(module):
        assert re.search(rf"`(physics\.{module}\.)?{name}`", TEXT), name


@pytest.mark.parametrize("module", MODULES)
def test_every_public_function_is_called_by_a_test(module: str) -> None:
    """Closed forms, published tables and reference libraries stand in these folders."""
    folders = [ROOT / "tests" / name for name in ("physics", "engine", "validation")]
    held = "\n".join(path.read_text("utf-8") for each in folders for path in each.glob("*.py"))
    for name in public_functions(module):
        imported = rf"from baypulse\.physics\.{module} import [\w, ]*{name}\b"
        assert re.search(rf"\b{module}\.{name}\b|{imported}", held), name


def test_named_functions_exist() -> None:
    """What stands in backticks under a heading is a function of a module that the section names."""
    for section in TEXT.split("\n### ")[1:]:
        heading = section.splitlines()[0]
        owners = set(
            re.findall(r"`((?:physics|case\.geometry|case\.params|engine)[\w.]*)", section)
        )
        assert owners, heading
        found: set[str] = set()
        for owner in owners:
            *parts, last = owner.split(".")
            try:
                held = importlib.import_module(f"baypulse.{owner}")
            except ModuleNotFoundError:
                held = importlib.import_module(".".join(["baypulse", *parts]))
                assert hasattr(held, last), owner
            found |= set(vars(held))
        for name in re.findall(r"`([a-z]+_[a-z_]+)`", section):
            assert name in found, f"{heading}: {name}"


def test_tables_are_of_the_program() -> None:
    variants = runpy.run_path(str(ROOT / "benchmarks" / "closures.py"))["VARIANTS"]
    rows = re.findall(r"^\| ([^|]+?) \| +[\d.]+ \|", TABLES, re.MULTILINE)
    assert rows == ["as shipped", *variants] * 2


def test_text_and_tables_agree() -> None:
    """The figures told of the shipped bench bay stand in its table."""
    first = next(line for line in TABLES.splitlines() if line.startswith("| as shipped"))
    held, peak, _, _, load, least = (cell.strip() for cell in first.split("|")[2:8])
    assert f'("held"), {held} kPa' in TEXT
    assert f"its peak is {peak} kPa" in TEXT
    assert f"{least} g. That one is not a charge to" in TEXT
    assert f"the default, {load} N" in TEXT


@pytest.mark.parametrize("module", MODULES)
def test_every_module_of_a_shot_is_on_the_theory_page(module: str) -> None:
    index = (ROOT / "docs" / "theory" / "index.rst").read_text(encoding="utf-8")
    assert f".. automodule:: baypulse.physics.{module}\n" in index
