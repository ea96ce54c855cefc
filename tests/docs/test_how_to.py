"""The how-to pages keep their word: commands run, print what is quoted, and write their files."""

from __future__ import annotations

import re
import shlex
import shutil
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest

from baypulse.caution import CAUTION
from baypulse.cli import main
from baypulse.members.kept_rows import FILE, KeptRows
from baypulse.observed.build_weights import learn
from baypulse.observed.least_charges import least_charges

pytestmark = pytest.mark.usefixtures("unsaved_figures")

ROOT = Path(__file__).parents[2]
FOLDER = ROOT / "docs" / "how-to"
PAGES = ["first-bay", "ground-test", "it-failed", "two-bays", "the-ascent"]
LIVE = "live-page"
"""A page about what runs until it is closed; tests/live looks at it in a browser."""
FLAT_CAUTION = " ".join(CAUTION.split())

MEMBERS = {
    "window": 128, "plan": 128, "vents": 128, "why": 32, "joints": 32, "shots": 256, "aloft": 100,
}  # fmt: skip
"""As few as a command takes for the chance it looks for: here nobody looks at the chances."""

FEWER = {
    "why.compute.MOST_FURTHER": 0,
    "why.next_tests.SHOTS": 64,
    "shots.compute.BUILDS": 16,
    "shots.compute.CURVE_MEMBERS": 32,
    "fit.compute.MEMBERS": 64,
    "fit.posterior.FOLLOWED": 1,
    "fit.posterior.ROUNDS": 1,
    "fit.profile_likelihood.TURNS": 1,
    "fit.profile_likelihood.ELSEWHERE": np.array([0.0]),
    "altimeter.compute.MEMBERS": 64,
    "altimeter.compute.FOLLOWED": 32,
    "window.compute.CHECK_MEMBERS": 32,
    "window.compute.SIDE_MEMBERS": 32,
    "window.remedies.PILOT": 32,
    "window.survey.PILOT": 32,
    "vents.compute.CURVE_MEMBERS": 32,
    "vents.compute.SHOT_MEMBERS": 32,
    "plan.compute.SIDE_MEMBERS": 32,
    "aloft.compute.LEAST_MEMBERS": 32,
    "aloft.compute.POINTS": 3,
}
"""Numbers of shots, and of searches, inside the studies that no option of theirs sets."""

FEWER_BUILDS = ((least_charges, {"members": 64}), (learn, {"members": 1024, "most": 2048}))
"""The same of what studies ask for, by what answers it."""

ONE_UNKNOWN = ["--unknown", "rate"]
"""What a fit is asked for here: each further unknown takes seconds. Readers ask for all."""

WITHOUT_CHARGE = {"new", "--add", "--list"}
"""What marks a command that gives no charge, and so prints no caution."""

SHELL = re.compile(r"&&|\|\||\$|`|<|>|;|\\$|'")
"""What one shell or another reads in its own way."""


@dataclass
class Block:
    """One fenced block of a page, with the language behind its fence."""

    language: str
    lines: list[str]


def read(page: str) -> str:
    return (FOLDER / f"{page}.md").read_text(encoding="utf-8")


def blocks(text: str) -> list[Block]:
    found = re.findall(r"^```(\w*)\n(.*?)^```$", text, re.MULTILINE | re.DOTALL)
    return [Block(language, body.splitlines()) for language, body in found]


def commands(text: str) -> list[str]:
    return [line for each in blocks(text) if each.language == "console" for line in each.lines]


def awake(line: str) -> str:
    """Return a line of a case without the mark that lets it sleep."""
    return line.removeprefix("#").strip()


def put(lines: list[str], into: list[str], name: str) -> list[str]:
    """Return the lines of a case with some put in their places, as the pages tell readers to."""
    found, start = list(into), 0
    for line in filter(None, lines):
        if awake(line).startswith("["):
            rows = [i for i, each in enumerate(found) if awake(each) == awake(line)]
            assert rows, f"{name} has no table {line}"
            # of several bays or openings the next one
            at = start = next((i for i in rows if i > start), rows[0])
        else:
            key = f"{awake(line).partition('=')[0].strip()} ="
            # a heading of the case stands alone on its line; prose in brackets does not
            ends = (
                i for i in range(start + 1, len(found))
                if re.fullmatch(r"\[+[a-z_]+\]+", awake(found[i]))
            )  # fmt: skip
            end = next(ends, len(found))
            rows = [i for i in range(start, end) if awake(found[i]).startswith(key)]
            assert rows, f"{name} has no {key} there"
            at = rows[0]
        found[at] = line
    return found


def edit(lines: list[str]) -> None:
    """Do to a file what the first line of a block of TOML says."""
    told = re.fullmatch(r"# (my-[\w.-]+): (change these lines|add at the end|a new file)", lines[0])
    assert told, f"no file and no verb in {lines[0]!r}"
    name, verb = told.groups()
    place = Path(name)
    if verb == "a new file":
        assert not place.exists()
        changed = lines[1:]
    else:
        old = place.read_text("utf-8").splitlines()
        changed = put(lines[1:], old, name) if verb.startswith("change") else old + lines[1:]
    place.write_text("\n".join(changed) + "\n", "utf-8")


def typed(command: str) -> list[str]:
    """Return the words of a command behind the program's name, with few members."""
    program, *words = shlex.split(command)
    assert program == "baypulse", command
    if words[0] == "fit":
        return [*words, *ONE_UNKNOWN]
    members = MEMBERS.get(words[0])
    plain = members is None or {"--add", "--list"} & set(words)
    return words if plain else [*words, "--simulated-shots", str(members)]


def said(quoted: list[str], printed: str) -> None:
    """Hold quoted lines, ``...`` for what varies, against what was printed, in order."""
    rows = [" ".join(line.split()) for line in printed.splitlines()]
    start = 0
    for line in quoted:
        pattern = ".*".join(map(re.escape, re.split(r"\s*\.\.\.\s*", " ".join(line.split()))))
        hit = next((i for i in range(start, len(rows)) if re.fullmatch(pattern, rows[i])), None)
        assert hit is not None, f"not printed, or not in this place: {line!r}"
        start = hit + 1


def work_through(page: str, capsys: pytest.CaptureFixture[str]) -> None:
    """Do what a page says from its first block to its last, here."""
    printed = ""
    for block in blocks(read(page)):
        if block.language == "toml":
            edit(block.lines)
        elif block.language == "text":
            assert printed, "a quotation comes right after its commands"
            said(block.lines, printed)
            printed = ""
        else:
            assert block.language == "console", block
            printed = ""
            for command in block.lines:
                words = typed(command)
                code = main(words)
                out, error = capsys.readouterr()
                assert code == 0, f"{command}\n{error}"
                if not WITHOUT_CHARGE & set(words):
                    assert FLAT_CAUTION in " ".join(out.split()), command
                printed += out


@pytest.mark.parametrize("page", PAGES)
def test_a_page_works_as_written(
    page: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    shutil.copytree(ROOT / "cases", tmp_path / "cases")
    monkeypatch.chdir(tmp_path)
    # as programs do that one reader starts one after another
    kept = KeptRows(tmp_path / "rows" / FILE)
    monkeypatch.setattr("baypulse.members.ensemble.kept_rows", lambda: kept)
    for name, number in FEWER.items():
        monkeypatch.setattr(f"baypulse.studies.{name}", number)
    for answers, numbers in FEWER_BUILDS:
        for name, number in numbers.items():
            monkeypatch.setitem(answers.__kwdefaults__, name, number)
    shipped = contents(Path("cases"))
    work_through(page, capsys)
    for name in made(page) | set(re.findall(r"`((?:cases|reports)/[\w./-]+)`", read(page))):
        assert Path(name).exists(), name
    # what is shipped is only read: a page leaves its own files beside the folder
    assert contents(Path("cases")) == shipped


def contents(folder: Path) -> dict[Path, bytes]:
    return {each: each.read_bytes() for each in folder.rglob("*") if each.is_file()}


def made(page: str) -> set[str]:
    """Return the files that the commands and blocks of a page make in the reader's folder."""
    text = read(page)
    lines = "\n".join(commands(text))
    new = re.findall(r"^# ([\w.-]+): a new file$", text, re.MULTILINE)
    return {*new, *re.findall(r"(?:^baypulse new|--write|--shots) (my-\S+)", lines, re.MULTILINE)}


def test_pages_work_one_after_another() -> None:
    """Each makes files of its own, so that none stands in the way of another page's."""
    names = [name for page in PAGES for name in made(page)]
    assert len(names) == len(set(names)) >= len(PAGES)


@pytest.mark.parametrize("page", [*PAGES, LIVE, "README"])
def test_a_page_is_sound(page: str) -> None:
    text = read(page)
    caution = " ".join(line.lstrip("> ") for line in text.splitlines() if line.startswith(">"))
    assert caution.replace("**", "") == FLAT_CAUTION
    for target in re.findall(r"\]\(([^)#]+)\)", text):
        assert (FOLDER / target).exists(), target
    for command in commands(text):
        assert not SHELL.search(command), command


def test_every_page_is_listed() -> None:
    listed = re.findall(r"\]\(([\w-]+)\.md\)", read("README"))
    assert listed == [*PAGES, LIVE]
    assert {each.stem for each in FOLDER.glob("*.md")} == {*listed, "README"}
