"""The first quarter of an hour: ``new`` by options and by questions, and ``keys``."""

from __future__ import annotations

import io
from pathlib import Path

import pytest

from baypulse.case.casefile import read, reads
from baypulse.case.casefile.keys import tables
from baypulse.case.casefile.rocket_reader import read_rocket
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


def test_a_rocket_is_one_file_with_a_case_for_each_bay(capsys):
    words = ["--bore", "3 in", "--charge", "1.4 g", "--charge", "1.2 g", "--wall", "G10"]
    assert main(["new", "r.toml", "--rocket", *words]) == 0
    assert capsys.readouterr().out.startswith("wrote r-drogue.toml, r-main.toml, r.toml; ")
    bays = read_rocket("r.toml").bays
    assert [bay.name for bay in bays] == ["drogue", "main"]
    assert [bay.case.powder.mass for bay in bays] == pytest.approx([1.4e-3, 1.2e-3])
    for bay in bays:
        assert bay.case.bay.bore == pytest.approx(0.0762) and bay.case.bay.wall == "fibre glass"
        assert bay.case.provenance["bay.bore"].origin == "rocket"
    files = {
        name: Path(name).read_text("utf-8") for name in ("r.toml", "r-drogue.toml", "r-main.toml")
    }
    assert [name for name, text in files.items() if "\nbore = " in text] == ["r.toml"]
    assert all(" ".join(CAUTION.split()) in " ".join(text.replace("\n#", " ").split())
               for name, text in files.items() if name != "r.toml")  # fmt: skip


def test_more_than_two_bays_have_names_of_their_own():
    assert main(["new", "r.toml", "--rocket", "--bays", "drogue", "main", "payload"]) == 0
    cases = [bay.case for bay in read_rocket("r.toml").bays]
    # the bay that fires last lies nearest the tip, and all weigh the same rocket
    assert cases[0].nose.mass > cases[1].nose.mass > cases[2].nose.mass
    whole = [case.nose.mass + case.airframe.mass + case.contents.mass for case in cases]
    assert whole == pytest.approx([whole[0]] * 3, rel=0.05)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--bore", "3 in", "--bore", "4 in", "--bore", "5 in"],
         "--bore: given 3 times; give it once, or once for each of the 2 bays as they fire"),
        (["--bays", "main", "Main"], 'the bay "Main" is named twice'),
        (["--bays", "main"], "1 bay given, allowed 2 to 5"),
        (["--bays", "a/b", "c"], '"a/b" cannot be part of a folder\'s name'),
        (["--bore", "3 mn"], '--bore: unknown unit "mn"'),
        (["--nose-mass", "2 kg", "--nose-mass", "1 kg", "--airframe-mass", "1 kg"],
         "the whole rocket weighs"),
    ],
)  # fmt: skip
def test_bays_that_cannot_be_a_rocket_write_nothing(words, said, tmp_path, capsys):
    assert main(["new", "r.toml", "--rocket", *words]) == 2
    err = capsys.readouterr().err
    assert said in err and "Traceback" not in err and str(tmp_path) not in err
    assert list(tmp_path.iterdir()) == []


def test_a_rocket_does_not_replace_a_bays_file(tmp_path, capsys):
    (tmp_path / "r-main.toml").write_text("mine")
    assert main(["new", "r.toml", "--rocket"]) == 2
    assert "r-main.toml exists and is not overwritten" in capsys.readouterr().err
    assert [each.name for each in tmp_path.iterdir()] == ["r-main.toml"]


def test_an_option_given_twice_is_not_for_one_bay(capsys):
    assert main(["new", "b.toml", "--bore", "3 in", "--bore", "4 in"]) == 2
    assert "--bore: given 2 times; give it once\n" in capsys.readouterr().err


def test_names_of_bays_are_for_a_rocket(capsys):
    assert main(["new", "b.toml", "--bays", "a", "b"]) == 2
    assert "--bays: names are for the bays of a rocket; add --rocket" in capsys.readouterr().err


def test_questions_of_a_rocket_ask_once_for_what_is_shared(monkeypatch, capsys):
    # bore, tube, then Enter to the end of the drogue bay; tube, then Enter to the end of the main's
    at_a_terminal(monkeypatch, "3 in", "9 in", *[""] * 11, "12 in", *[""] * 9)
    assert main(["new", "r.toml", "--rocket"]) == 0
    out = capsys.readouterr().out
    assert out.count("Inside diameter of the tube") == 1 and out.count("Tube, open lip") == 2
    assert out.index("Bay drogue") < out.index("Bay main")
    assert [bay.case.bay.tube_length for bay in read_rocket("r.toml").bays] == pytest.approx(
        [9 * 0.0254, 12 * 0.0254]
    )


def test_masses_of_two_rockets_are_asked_again(monkeypatch, capsys):
    light, heavy = ["1 kg", "1 kg"], ["0.5 kg", "9 kg"]
    again = ["100 g", "2 kg", "3 kg", "100 g", "1 kg", "4 kg"]
    drogue = ["3 in", "12 in", *[""] * 4, "100 g", *light, *[""] * 4]
    main_bay = ["12 in", *[""] * 4, "100 g", *heavy, *[""] * 2]
    at_a_terminal(monkeypatch, *drogue, *main_bay, *again)
    assert main(["new", "r.toml", "--rocket"]) == 0
    assert "the whole rocket weighs" in capsys.readouterr().out
    assert [bay.case.nose.mass for bay in read_rocket("r.toml").bays] == [2.0, 1.0]
