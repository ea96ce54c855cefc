"""The first quarter of an hour: ``new`` by options and by questions, and ``keys``."""

from __future__ import annotations

import io
from pathlib import Path

import pytest

from baypulse.case.casefile import read, reads
from baypulse.case.casefile.keys import tables
from baypulse.caution import CAUTION
from baypulse.cli import main


class Terminal(io.StringIO):
    """Somebody at a terminal, who types these lines."""

    def isatty(self) -> bool:
        return True


@pytest.fixture(autouse=True)
def _here(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)


def at_a_terminal(monkeypatch, *lines: str) -> None:
    monkeypatch.setattr("sys.stdin", Terminal("".join(f"{line}\n" for line in lines)))


def test_options_make_the_case_without_a_question(capsys):
    assert main(["new", "b.toml", "--bore", "3 in", "--extraction-force", "3 lb"]) == 0
    assert capsys.readouterr().out == (
        'wrote b.toml; change it, then: baypulse check "b.toml", baypulse run "b.toml"\n'
    )
    assert read("b.toml").contents.extraction_force == pytest.approx(13.3447, rel=1e-5)


def test_questions_take_answers_and_enter(monkeypatch, capsys):
    at_a_terminal(
        monkeypatch, "", "3 mn", "3 in", '12"', "", "4 1/2 in", "snugg", "5 lb", *[""] * 8
    )
    assert main(["new", "b.toml", "--wall", "card"]) == 0
    out = capsys.readouterr().out
    assert " ".join(CAUTION.split()) in " ".join(out.split())
    assert "nothing is typical here; measure it" in out
    assert 'unknown unit "mn"; did you mean "mm"?' in out
    assert "or one of these words: loose, snug, firm, tight" in out
    assert "Force that pulls the pack out (luggage scale; loose 0.80 lbf, " in out
    assert "Tube material" not in out
    case = read("b.toml")
    assert case.provenance["bay.tube_length"].text == '12"'
    assert case.joint.pull_off == pytest.approx(5 * 4.4482216)
    assert case.contents.extraction_force is None and case.bay.wall == "card"


def test_answers_that_cannot_be_together_are_asked_again(monkeypatch, capsys):
    at_a_terminal(monkeypatch, "75 mm", "300 mm", "", "400 mm", *[""] * 9, "100 mm")
    assert main(["new", "b.toml"]) == 0
    assert "contents.packed_length: 400 mm" in capsys.readouterr().out
    assert read("b.toml").contents.packed_length == 0.1


def test_no_more_answers_write_nothing(monkeypatch, capsys):
    at_a_terminal(monkeypatch, "3 in")
    assert main(["new", "b.toml"]) == 2
    assert "nothing is written" in capsys.readouterr().err
    assert not Path("b.toml").exists()


def test_everything_wrong_with_the_options_comes_out_together(capsys):
    assert main(["new", "b.toml", "--bore", "3 mn", "--pins", "99", "--cold-gas",
                 "--charge", "1 g"]) == 2  # fmt: skip
    assert capsys.readouterr().err.splitlines() == [
        'baypulse: --bore: unknown unit "mn"; did you mean "mm"?',
        "baypulse: --pins: given 99, allowed 1 to 24",
        "baypulse: --charge: a reservoir takes the place of the powder; give one of the two",
    ]
    assert main(["new", "b.toml", "--packed-length", "500 mm"]) == 2
    assert "baypulse: contents.packed_length: 500 mm" in capsys.readouterr().err
    assert not Path("b.toml").exists()


def test_keys_lists_every_key_as_lines_of_a_case(capsys):
    assert main(["keys"]) == 0
    out = capsys.readouterr().out
    for table in tables().values():
        assert f"\n{table.header}\n" in f"\n{out}"
        assert all(f"{name} = " in out for name in table.keys)
    assert "[0.1 to 1], default 0.65 (65 %)" in " ".join(out.replace("\n#", "").split())


def test_keys_of_a_word_are_those_that_hold_it(capsys):
    assert main(["keys", "Luggage"]) == 0
    out = capsys.readouterr().out
    assert " ".join(CAUTION.split()) in " ".join(out.split())
    assert "pull_off = " in out and "# extraction_force = " in out and "bore = " not in out
    assert main(["keys", "vnets"]) == 2
    assert 'no key holds "vnets"' in capsys.readouterr().err


def test_lines_of_the_reference_can_be_pasted(capsys):
    assert main(["new", "b.toml"]) == 0
    capsys.readouterr()
    assert main(["keys", "diameter"]) == 0
    pasted = capsys.readouterr().out.partition("[[openings]]")[2].partition("\n\n")[0]
    pasted = "[[openings]]" + pasted.replace("# diameter =", "diameter =") + '\nname = "vent"'
    case = reads(Path("b.toml").read_text("utf-8") + "\n" + pasted)
    assert [each.diameter for each in case.openings] == [0.0032]
