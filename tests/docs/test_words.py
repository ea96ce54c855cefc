"""No user meets a word that has gone: texts, keys, options, names of JSON, data and pages."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from baypulse.case.casefile.keys import tables, top_keys
from baypulse.cli import _parsers

ROOT = Path(__file__).parents[2]
SOURCE = ROOT / "src" / "baypulse"

GONE = {
    "exceeds a "
    "limit": r"\bpass(es|ed|ing)? (a|the|any|its|one|every|each|your)( \w+)? (limit|strength)s?\b"
    r"|\blimits?( of yours)?( \w+)? (is|are|was|were|be) passed\b|limits?_(is_)?passed|passes_a_",
    "no separation": r"\bstay(s|ed|ing)?[ _]shut\b",
    "partial separation": r"\b(hangs?|hung)\b(?! (together|on|from)\b)",
    "separates too hard": r"\bopen(s|ed|ing)?[ _]hard\b",
    "separates": r"^[Oo]pens$",
    "parachute comes out, stays "
    "in": r"\bcontents[ _](come|comes|came|stay|stays|stayed)[ _](out|in)\b",
    "extraction force": r"\bdrag[-_]out",
    "ground-test charge": r"\bcharge to prove\b|\bprove \d|\bone to prove\b|^prove$",
    "reliability": r"\bwanted[ _]chance\b|\bchance (that is )?wanted\b|--wanted\b|\bwanted_ratio\b",
    "simulated shots": r"\bmembers?\b(?!=)|_members?\b|\bmembers_|\bbuilds?\b(?!/theory)|_builds\b"
    r"|\bmade-up (logs|shots|reports)\b|\blogs made up\b",
    "unburnt powder": r"\bthrown( out)? unburnt\b|\bburnt[ _]ceiling\b",
    "ascent": r"\bway[- _]up\b",
}
"""What stands in place of each word that has gone, and what is looked for."""

ALIASES = {
    ("case/casefile/keys.py", "drag_out"),
    ("case/casefile/keys.py", "burnt_ceiling"),
    ("commands/options.py", "--wanted"),
    ("commands/options.py", "--members"),
}
"""Old names that are there to be answered with the new ones."""

INSIDE = {
    ("engine/ensemble.py", "a cord acts before the moment at which its member was paused"),
    ("engine/ensemble.py", "follow_members"),
    ("engine/ensemble.py", "run_members"),
    ("members/ensemble.py", "members"),
    ("members/parts.py", "members"),
    ("studies/scatter/compute.py", "members"),
    ("members/store.py", "members"),
    ("studies/window/figures.py", "opens"),
    ("physics/core_folder.py", "integrate_members"),
}
"""Names of attributes, of entries of a run's own description, and a developer's error."""

TYPED = re.compile(r'^(?:("[^"]+") = \[.*|    (?:"[^"]+",? ?)+)$')
"""Line of ``sightings.toml`` with the words that people may type, old ones too; and the answer that
they stand for, where it is the first of its lines."""


def found(text: str) -> list[str]:
    """Return what should stand in place of the words in a text that have gone."""
    return [new for new, gone in GONE.items() if re.search(gone, text, re.IGNORECASE)]


def strings(source: str) -> Iterator[tuple[int, str]]:
    """Yield line and text of every string of a module that is no docstring."""
    tree = ast.parse(source)
    told = {
        id(node.value)
        for node in ast.walk(tree)
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)
    }
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in told:
            yield node.lineno, node.value


def in_source() -> Iterator[str]:
    for path in sorted(SOURCE.rglob("*.py")):
        name = path.relative_to(SOURCE).as_posix()
        for line, text in strings(path.read_text("utf-8")):
            if (name, text) not in ALIASES | INSIDE:
                for new in found(text):
                    yield f"{name}:{line}: {text!r}: {new}"


def in_pages() -> Iterator[str]:
    docs = [page for end in ("md", "rst") for page in sorted((ROOT / "docs").rglob(f"*.{end}"))]
    held = [page for end in ("toml", "json", "j2") for page in sorted(SOURCE.rglob(f"*.{end}"))]
    pages = [ROOT / "README.md", *docs, *sorted((ROOT / "cases").rglob("*.toml")), *held]
    # for those who change the code, whose words for it these are
    pages.remove(ROOT / "docs" / "decisions.md")
    for page in pages:
        for line, text in enumerate(page.read_text("utf-8").splitlines(), 1):
            typed = TYPED.match(text) if page.name == "sightings.toml" else None
            for new in found((typed[1] or "") if typed else text):
                yield f"{page.relative_to(ROOT)}:{line}: {text.strip()}: {new}"


def test_no_text_of_the_source_has_a_word_that_has_gone() -> None:
    assert list(in_source()) == []


def test_no_page_no_case_and_no_data_has_a_word_that_has_gone() -> None:
    assert list(in_pages()) == []


def test_no_key_of_a_case_has_a_word_that_has_gone() -> None:
    keys = [*top_keys(), *(key for table in tables().values() for key in table.keys)]
    assert [key for key in keys if found(key)] == []


def test_no_option_and_no_help_has_a_word_that_has_gone() -> None:
    _, commands = _parsers()
    for name, command in commands.items():
        assert (name, found(command.format_help())) == (name, [])
        for action in command._actions:
            assert (name, [each for each in action.option_strings if found(each)]) == (name, [])


@pytest.mark.parametrize(
    "text",
    [
        "a limit is passed", "limits_passed", "it stays shut", "it moved and hangs", "opens hard",
        "opens", "the contents come out", "drag_out", "the charge to prove", "prove 0.4 g",
        "--wanted", "wanted_ratio", "2048 members", "effective_builds", "made-up logs",
        "powder thrown unburnt", "burnt_ceiling", "on the way up",
    ],
)  # fmt: skip
def test_a_word_that_comes_back_is_found(text: str) -> None:
    source = f'def said():\n    """Say {text}."""\n    return {text!r}\n'
    assert [found(each) for _, each in strings(source)] == [found(text)] != [[]]
