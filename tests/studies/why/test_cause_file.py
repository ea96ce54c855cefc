"""The list of causes: what is shipped, and sentences for what is wrong in an edited copy."""

from __future__ import annotations

from importlib import resources
from pathlib import Path

import pytest

from baypulse.observed.causes import CauseChange, pairs
from baypulse.observed.sightings import kinds
from baypulse.studies.why.cause_file import CauseError, read, shipped

HEAD = '["none of these"]\nwhat = "else"\nshare = 0.05\nsource = "estimate"\n'
CAUSE = '["x"]\nwhat = "something"\nodds = 0.1\nsource = "estimate"\n'


def test_every_shipped_cause_says_where_its_odds_are_from() -> None:
    listed = shipped()
    assert 0.0 < listed.none_share < 0.2
    names = [cause.name for cause in listed.causes]
    assert len(names) == len(set(names)) > 20
    for cause in listed.causes:
        assert cause.what and cause.source
        assert 0.0 < cause.odds <= 1.0
        assert cause.changes or cause.name == "as designed"


def test_a_copy_reads_as_the_shipped_list(tmp_path: Path) -> None:
    text = (resources.files("baypulse") / "studies" / "why" / "causes.toml").read_text(
        encoding="utf-8"
    )
    copy = tmp_path / "mine.toml"
    copy.write_text(text.replace("odds = 0.10", "odds = 0.5"), encoding="utf-8")
    assert {c.name for c in read(copy).causes} == {c.name for c in shipped().causes}
    assert {c.odds for c in read(copy).causes if c.name == "more friction"} == {0.5}


def test_pairs_do_not_move_the_same_number() -> None:
    found = pairs(shipped().causes)
    names = {frozenset((a.name, b.name)) for a, b in found}
    assert frozenset(("less powder", "motor end open")) in names
    assert frozenset(("less powder", "more powder")) not in names
    assert not any("as designed" in pair or "igniter dead" in pair for pair in names)


def test_signs_of_burning_rule_out_what_lit_nothing() -> None:
    """Every sound but none, every place of smoke and a scorch; a bay may be sooty anyway."""
    by = {cause.name: set(cause.ruled_out_by) for cause in shipped().causes if cause.ruled_out_by}
    sound, smoke = (set(kinds()[name].answers) for name in ("sound", "smoke"))
    burnt = (sound - {"no sound"}) | (smoke - {"no smoke"}) | {"scorched"}
    assert by == {"igniter dead": burnt, "valve stayed closed": sound - {"no sound"}}


def test_a_change_goes_evenly_in_its_logarithm() -> None:
    """Half way between 1/4 and 1 is 1/2."""
    import numpy as np

    change = CauseChange("powder.mass", "factor", 1.0, 0.25)
    assert change.at(np.array([0.0, 0.5, 1.0])) == pytest.approx([1.0, 0.5, 0.25])


@pytest.mark.parametrize(
    ("text", "parts"),
    [
        (CAUSE, ['["none of these"] is missing', "share = 0.05"]),
        (HEAD, ["holds no cause"]),
        (HEAD.replace("0.05", "1.5") + CAUSE, ["share is 1.5", "between 0 and 1"]),
        (HEAD + CAUSE.replace("odds = 0.1", "odds = -1"), ["x: odds are -1", "above 0"]),
        (HEAD + CAUSE.replace("odds = 0.1", 'odds = "few"'), ["odds is missing or no number"]),
        (HEAD + CAUSE.replace("odds", "ods"), ['there is no "ods"', 'did you mean "odds"?']),
        (HEAD + CAUSE + 'needs = ["pin"]\n', ['needs "pin"', 'did you mean "pins"?']),
        (
            HEAD + CAUSE + 'changes = [{ path = "powder.mas", factor = "0.5" }]\n',
            ['path "powder.mas"', 'did you mean "powder.mass"?'],
        ),
        (
            HEAD + CAUSE + 'changes = [{ path = "powder.mass" }]\n',
            ["a change has a path, or a place, and one of factor, add"],
        ),
        (
            HEAD + CAUSE + 'changes = [{ path = "powder.mass", add = "3" }]\n',
            ["powder.mass: add", "has no unit"],
        ),
        (
            HEAD + CAUSE + 'changes = [{ path = "powder.mass", factor = "0..2" }]\n',
            ['factor is "0..2"', "above 0"],
        ),
        (
            HEAD + CAUSE + 'changes = [{ place = "side", diameter = "5 mm" }]\n',
            ['place "side"', "motor end, wires"],
        ),
        (
            HEAD + CAUSE + 'changes = [{ path = "pins.count", factor = "2" }]\n',
            ["pins.count goes with add"],
        ),
        (
            HEAD + CAUSE + 'changes = [{ path = "contents.drag_out", factor = "2..4" }]\n',
            ["path contents.drag_out is now called contents.extraction_force; write that"],
        ),
        (HEAD + CAUSE + 'ruled_out_by = "pop"\n', ["x: ruled_out_by is a list"]),
        (
            HEAD + CAUSE + 'ruled_out_by = ["pops"]\n',
            ['x: ruled_out_by: "pops" is no answer; did you mean "pop"?'],
        ),
        ("[x\n", ["no TOML file"]),
        ("x = 3\n", ['write ["x"] above']),
    ],
)
def test_what_is_wrong_gets_a_sentence(text: str, parts: list[str], tmp_path: Path) -> None:
    file = tmp_path / "mine.toml"
    file.write_text(text, encoding="utf-8")
    with pytest.raises(CauseError) as caught:
        read(file)
    for part in ["mine.toml", *parts]:
        assert part in str(caught.value)


def test_a_file_that_is_not_there_gets_a_sentence(tmp_path: Path) -> None:
    with pytest.raises(CauseError, match="there is no such file"):
        read(tmp_path / "none.toml")
