"""The code stays a place where a stranger can find a thing: what a tool of style does not hold."""

import ast
from collections import defaultdict
from pathlib import Path

PACKAGE = Path(__file__).parents[2] / "src" / "baypulse"

MODULES = sorted(PACKAGE.rglob("*.py"))

LONGEST = 500
"""Lines of a module."""


def test_no_module_is_longer_than_it_may_be():
    long = [path.name for path in MODULES if len(path.read_text("utf-8").splitlines()) > LONGEST]
    assert long == []


def test_every_folder_says_what_it_is_for():
    for folder in {path.parent for path in MODULES}:
        text = (folder / "__init__.py").read_text("utf-8")
        assert ast.get_docstring(ast.parse(text)), folder


def test_a_name_of_a_class_has_one_meaning():
    places = defaultdict(list)
    for path in MODULES:
        for node in ast.parse(path.read_text("utf-8")).body:
            if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
                places[node.name].append(path.relative_to(PACKAGE).as_posix())
    assert {name: held for name, held in places.items() if len(held) > 1} == {}


def test_the_contributors_page_fits_two_screens():
    assert len((PACKAGE.parents[1] / "DEVELOPERS.md").read_text("utf-8").splitlines()) <= 100


def test_no_benchmark_puts_another_copy_of_the_package_first():
    # tests import some of them, and a cluster's processes take the path over from theirs: from
    # another place all of the core is compiled again, in each of them
    for path in (PACKAGE.parents[1] / "benchmarks").glob("*.py"):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.Call | ast.Subscript) and "sys.path" in ast.unparse(node):
                assert "src" not in ast.unparse(node), path.name
