import dataclasses
import html
import io
import json
import os
import re
import signal
import subprocess
import sys
import threading
import warnings
from pathlib import Path

import numba
import pytest

import baypulse
from baypulse import terminal
from baypulse.caution import CAUTION
from baypulse.cli import main
from baypulse.engine.status import Status
from baypulse.observed.least_charges import least_charges
from baypulse.run.result import Verdict
from case.whole_case import starter_text
from quick_bays import QUICK
from report_cases import BENCH

pytestmark = pytest.mark.usefixtures("unsaved_figures")


@pytest.fixture
def few_bays(monkeypatch):
    """Have ``check`` rank by so few bays that it takes a moment; the words are what is tested."""
    monkeypatch.setitem(least_charges.__kwdefaults__, "members", 64)


@pytest.fixture
def case(tmp_path, monkeypatch):
    """Write a case and go where it is."""
    monkeypatch.chdir(tmp_path)
    place = tmp_path / "my bay.toml"
    place.write_text(starter_text(), "utf-8")
    return place


def test_run_prints_the_answer_and_writes_the_report(case, capsys, tmp_path):
    assert main(["run", case.name]) == 0
    out, err = capsys.readouterr()
    assert " ".join(CAUTION.split()) in " ".join(out.split())
    assert "Separation velocity when clear" in out and "psi" in out and "lbf" in out
    assert "MARGINS" not in out
    assert "report: " in out.splitlines()[-1]
    assert err == ""
    assert (tmp_path / "reports" / "my bay" / "index.html").exists()


def test_a_report_is_replaced_by_the_next(case, capsys, tmp_path):
    assert main(["run", case.name, "--out", "r"]) == 0
    first = (tmp_path / "r" / "my bay" / "numbers.json").read_bytes()
    assert main(["run", case.name, "--out", "r"]) == 0
    assert (tmp_path / "r" / "my bay" / "numbers.json").read_bytes() == first
    assert [p.name for p in (tmp_path / "r").iterdir()] == ["my bay"]


def test_a_path_with_spaces_and_other_letters(case, capsys, tmp_path):
    other = tmp_path / "Fächer 孔 x" / "Grün & co.toml"
    other.parent.mkdir()
    other.write_bytes(case.read_bytes())
    assert main(["run", str(other), "--out", str(tmp_path / "Möbel 孔")]) == 0
    assert (tmp_path / "Möbel 孔" / "Grün & co" / "curves.csv").exists()


def test_json_alone_on_stdout_and_no_report_unless_asked(case, capsys, tmp_path):
    assert main(["run", case.name, "--json"]) == 0
    out, _ = capsys.readouterr()
    found = json.loads(out)
    assert found["name"] == "my bay" and found["findings"]["numbers"]["peak_pressure_psi"] > 0.0
    assert not (tmp_path / "reports").exists()
    assert main(["run", "--json", "--out", "r", case.name]) == 0
    again, _ = capsys.readouterr()
    assert again == out
    assert json.loads((tmp_path / "r" / "my bay" / "numbers.json").read_text("utf-8")) == found


def test_several_cases_each_in_turn(case, capsys, tmp_path):
    (tmp_path / "gas.toml").write_text(starter_text("cold gas"), "utf-8")
    assert main(["run", case.name, "gas.toml"]) == 0
    out, _ = capsys.readouterr()
    assert re.findall(r"^report: (.*)$", out, re.MULTILINE) == [
        os.path.join("reports", name, "index.html")  # noqa: PTH118
        for name in ("my bay", "gas")
    ]
    assert main(["run", case.name, "gas.toml", "--json"]) == 0
    assert [each["name"] for each in json.loads(capsys.readouterr().out)] == ["my bay", "gas"]


def test_two_cases_of_one_name_are_refused_before_anything_is_run(case, capsys, tmp_path):
    (tmp_path / "b").mkdir()
    (tmp_path / "b" / case.name).write_bytes(case.read_bytes())
    assert main(["run", case.name, f"b/{case.name}"]) == 2
    assert "would both be reported" in capsys.readouterr().err
    assert not (tmp_path / "reports").exists()


def test_every_problem_on_its_line_and_nothing_written(case, capsys, tmp_path):
    text = case.read_text("utf-8")
    bad = text.replace('bore = "75 mm"', 'bore = "75 mn"').replace("[nose]\n", "[nose]\nfoo = 1\n")
    assert bad != text
    case.write_text(bad, "utf-8")
    assert main(["run", case.name]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    lines = err.splitlines()
    bore = bad.splitlines().index('bore = "75 mn"') + 1
    assert any(line.startswith(f"my bay.toml:{bore}: bay.bore: ") for line in lines)
    assert any(": nose.foo: " in line for line in lines)
    assert list(tmp_path.iterdir()) == [case]


def test_a_bad_case_stops_the_good_ones_beside_it(case, capsys, tmp_path):
    (tmp_path / "bad.toml").write_text("title = 1\n")
    assert main(["run", case.name, "bad.toml", "none.toml"]) == 2
    err = capsys.readouterr().err
    assert "bad.toml:1: title" in err and "none.toml: there is no such file" in err
    assert not (tmp_path / "reports").exists()


@pytest.mark.parametrize("command", ["run", "check"])
@pytest.mark.parametrize(
    ("name", "words"), [("none.toml", "no such file"), (".", "folder"), ("blob.toml", "text")]
)
def test_a_file_that_cannot_be_read_is_one_sentence(command, name, words, case, capsys, tmp_path):
    (tmp_path / "blob.toml").write_bytes(b"\x00\xff\xfe\x01" * 50)
    assert main([command, name]) == 2
    out, err = capsys.readouterr()
    assert out == "" and len(err.splitlines()) == 1 and words in err
    assert "Traceback" not in err


def test_check_shows_what_was_read(case, few_bays, capsys, tmp_path):
    assert main(["check", case.name]) == 0
    out, _ = capsys.readouterr()
    assert "bore = 75 mm" in out and "free volume" in out
    assert list(tmp_path.iterdir()) == [case]
    # the screen has what was typed; the library and the defaults stand behind an option
    assert "(library" not in out and "(default" not in out and "--full" in out
    assert "What to measure next" in out
    assert main(["check", case.name, "--full"]) == 0
    full, _ = capsys.readouterr()
    assert "(library" in full and "(default" in full
    typed = [line for line in out.splitlines() if "(line " in line]
    assert typed and set(typed) <= set(full.splitlines())


def test_new_writes_a_case_that_runs_and_never_overwrites(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    assert main(["new"]) == 0
    assert main(["new", "gas.toml", "--cold-gas"]) == 0
    assert "baypulse run" in capsys.readouterr().out
    assert main(["run", "my-bay.toml", "gas.toml", "--full"]) == 0
    assert "nitrogen" in capsys.readouterr().out
    (tmp_path / "gas.toml").write_text("mine")
    assert main(["new", "gas.toml"]) == 2
    assert "not overwritten" in capsys.readouterr().err
    assert (tmp_path / "gas.toml").read_text() == "mine"


def test_new_where_it_cannot_write(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    assert main(["new", "."]) == 2
    assert "is a folder" in capsys.readouterr().err
    assert main(["new", "none/a.toml"]) == 2
    assert "there is no folder none" in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        (["rnu", "x.toml"], 'did you mean "run"?'),
        (["chekc"], 'did you mean "check"?'),
        (["zzzz"], "there are: new, check, keys, run"),
        (["case.toml"], 'baypulse run "case.toml"'),
        (["run"], "CASE"),
        (["run", "--jsn", "a.toml"], "--jsn"),
        (["--nothing"], "--nothing"),
        (["new", "a.toml", "b.toml"], "b.toml"),
    ],
)
def test_a_wrong_command_line_is_one_sentence(typed, words, capsys):
    assert main(typed) == 2
    out, err = capsys.readouterr()
    assert out == "" and words in err
    assert len(err.splitlines()) == 1 and err.startswith("baypulse: ")


def test_help_and_version(capsys):
    assert main(["--version"]) == 0
    assert capsys.readouterr().out == f"baypulse {baypulse.__version__}\n"
    assert main(["--help"]) == 0
    assert "Begin with: baypulse new" in capsys.readouterr().out
    for command in ("run", "check", "new", "keys"):
        assert main([command, "--help"]) == 0
        assert f"Example: baypulse {command}" in capsys.readouterr().out
    assert main([]) == 2
    assert "commands" in capsys.readouterr().out


def test_a_report_is_not_written_over_something_else(case, capsys, tmp_path):
    (tmp_path / "r" / "my bay").mkdir(parents=True)
    (tmp_path / "r" / "my bay" / "letter.txt").write_text("mine")
    assert main(["run", case.name, "--out", "r"]) == 2
    out, err = capsys.readouterr()
    assert out == "" and "nothing is replaced" in err
    (tmp_path / "file").write_text("mine")
    assert main(["run", case.name, "--out", "file"]) == 2
    assert "is a file" in capsys.readouterr().err
    assert (tmp_path / "file").read_text() == "mine"


@pytest.mark.skipif(
    os.name == "nt" or os.geteuid() == 0, reason="the superuser and Windows write anywhere"
)
def test_a_folder_that_cannot_be_written(case, capsys, tmp_path):
    (tmp_path / "r").mkdir()
    (tmp_path / "r").chmod(0o500)
    assert main(["run", case.name, "--out", "r"]) == 2
    assert "cannot be written" in capsys.readouterr().err
    (tmp_path / "r").chmod(0o700)
    assert list((tmp_path / "r").iterdir()) == []


def test_a_full_disk_is_one_sentence(case, capsys, monkeypatch, tmp_path):
    def full(self, data):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("pathlib.Path.write_bytes", full)
    assert main(["run", case.name, "--out", "r"]) == 2
    _, err = capsys.readouterr()
    assert "No space left on device" in err and len(err.splitlines()) == 1
    assert list((tmp_path / "r").iterdir()) == []


def test_a_solver_that_stops_early_still_reports(case, capsys, monkeypatch, tmp_path):
    from baypulse.run import simulation as engine

    plain = engine.simulate

    def early(case):
        return dataclasses.replace(
            plain(case), status=Status.STALLED, message="The solver had to stop early.",
            verdict=Verdict.UNDECIDED, reasons=["The solver had to stop early."],
        )  # fmt: skip

    monkeypatch.setattr(engine, "simulate", early)
    assert main(["run", case.name]) == 3
    out, err = capsys.readouterr()
    assert "Undecided" in out and err == "my bay: The solver had to stop early.\n"
    assert (tmp_path / "reports" / "my bay" / "index.html").exists()


def test_a_stop_by_the_user_leaves_nothing(case, capsys, monkeypatch, tmp_path):
    def stop(*_):
        raise KeyboardInterrupt

    monkeypatch.setattr("baypulse.show.as_html.page", stop)
    assert main(["run", case.name]) == 130
    assert capsys.readouterr().err == "baypulse: stopped\n"
    assert list(tmp_path.iterdir()) == [case]


@pytest.mark.skipif(os.name == "nt", reason="a signal to one process")
def test_ctrl_c_while_figures_are_drawn_keeps_the_answer_and_the_old_report(case, tmp_path, start):
    assert main(["run", case.name, "--out", "r"]) == 0
    before = {p: p.read_bytes() for p in (tmp_path / "r").rglob("*") if p.is_file()}
    case.write_text(case.read_text("utf-8") + "# written anew\n", "utf-8")
    started = start("-m", "baypulse", "run", case.name, "--out", "r")
    answer = ""
    while not flat(answer).endswith(flat(CAUTION)):
        line = started.stdout.readline()
        assert line, "it ended before its caution"
        answer += line
    os.killpg(started.pid, signal.SIGINT)  # as in a terminal, where it is for both processes
    rest, told = started.communicate(timeout=60)
    assert started.returncode == 130
    assert (rest, told) == ("", "baypulse: stopped\n")
    assert "Separation velocity when clear" in answer
    assert {p: p.read_bytes() for p in (tmp_path / "r").rglob("*") if p.is_file()} == before
    assert [p.name for p in (tmp_path / "r").iterdir()] == ["my bay"]


@pytest.mark.skipif(os.name == "nt", reason="a signal to one process")
@pytest.mark.skipif(numba.config.DISABLE_JIT, reason="nothing is compiled")
@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_who_stops_a_first_study_does_not_wait_for_the_compiler(number, case, tmp_path, start):
    code = tmp_path / "code"
    environment = {**os.environ, "NUMBA_CACHE_DIR": str(code)}
    started = start("-m", "baypulse", "window", case.name, env=environment)
    assert started.stderr.readline() == f"{terminal.COMPILING}\n"
    started.send_signal(number)
    assert started.communicate(timeout=60) == ("", "baypulse: stopped\n")
    assert started.returncode == 128 + number
    # it ended before what it waited for was made
    assert not list(code.rglob("*.integrate_*"))


def flat(text):
    return " ".join(text.split())


def test_doubts_are_one_line_each(case, few_bays, capsys):
    text = case.read_text("utf-8") + '\n[surroundings]\naltitude = "3 km"\npressure = "1 bar abs"\n'
    case.write_text(text, "utf-8")
    assert main(["check", case.name]) == 0
    (line,) = capsys.readouterr().err.splitlines()
    assert line.startswith("warning: ") and "surroundings.pressure" in line


def test_other_warnings_keep_their_filter():
    with pytest.raises(DeprecationWarning), terminal.one_line_warnings():
        warnings.warn("old", DeprecationWarning, stacklevel=1)


def test_waiting_is_explained_only_while_the_physics_is_being_compiled(capsys, monkeypatch):
    from baypulse.physics import compiled

    monkeypatch.setattr(terminal, "PATIENCE", 0.0)
    monkeypatch.setattr(terminal, "GLANCE", 0.01)
    monkeypatch.setattr(compiled, "compiling", lambda: (3, 130))
    with terminal.compiling_notice():
        threading_join()
    assert capsys.readouterr().err == f"{terminal.COMPILING}\n"
    monkeypatch.setattr(compiled, "compiling", lambda: None)
    with terminal.compiling_notice():
        threading_join()
    assert capsys.readouterr().err == ""


def test_on_a_terminal_a_bar_says_how_far_the_compiler_is(capsys, monkeypatch):
    from baypulse.physics import compiled

    monkeypatch.setattr(terminal, "PATIENCE", 0.0)
    monkeypatch.setattr(terminal, "GLANCE", 0.01)
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True)
    looked = threading.Event()

    def compiling():
        looked.set()
        return 3, 130

    monkeypatch.setattr(compiled, "compiling", compiling)
    with terminal.compiling_notice():
        assert looked.wait(5.0)
    told = capsys.readouterr().err
    assert terminal.COMPILING in told and "3/130 parts" in told


def threading_join():
    """Wait for the watcher to have spoken."""
    for thread in threading.enumerate():
        if thread is not threading.current_thread() and thread.daemon and "watch" in thread.name:
            thread.join(0.5)


def test_a_terminal_with_few_letters_gets_plain_ones(monkeypatch):
    raw = io.BytesIO()
    stream = io.TextIOWrapper(raw, encoding="cp1252")
    terminal.say("3 × 孔 − 2 m³ ≤ Ω", stream)
    stream.flush()
    assert raw.getvalue().decode("cp1252").rstrip() == "3 × ? - 2 m³ <= ?"
    raw = io.BytesIO()
    stream = io.TextIOWrapper(raw, encoding="ascii")
    terminal.say("3 × 2 m³", stream)
    stream.flush()
    assert raw.getvalue().decode("ascii").rstrip() == "3 x 2 m^3"


HOME = str(Path(baypulse.__file__).parents[1])
ELSEWHERE = os.environ | {"PYTHONPATH": HOME}
"""So that a process in another folder finds the package that is being tested."""


def test_the_module_runs_and_reading_takes_no_physics(case):
    spoken = subprocess.run(
        [sys.executable, "-m", "baypulse", "--version"], capture_output=True, env=ELSEWHERE
    )
    assert spoken.stdout.split() == [b"baypulse", baypulse.__version__.encode()]
    code = (
        "import sys; from baypulse.cli import main; main(['--version']); "
        "assert not {'numpy', 'numba', 'matplotlib', 'pint'} & set(sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", code], env=ELSEWHERE).returncode == 0


@pytest.mark.skipif(os.name == "nt", reason="closed pipes look different there")
def test_a_reader_that_goes_away_is_no_error(case):
    case.write_text(QUICK, "utf-8")
    process = subprocess.Popen(
        [sys.executable, "-m", "baypulse", "check", case.name],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE,
        env=ELSEWHERE,
    )  # fmt: skip
    process.stdout.close()
    err = process.stderr.read()
    process.stderr.close()
    assert process.wait(60) == 141
    assert err == b""


@pytest.mark.parametrize(
    "arguments", [["run", "CASE"], ["run", "CASE", "--json"], ["check", "CASE"], ["new", "NEW"]]
)
def test_every_output_that_gives_a_charge_carries_the_caution(
    arguments, few_bays, tmp_path, capsys, monkeypatch
):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "case.toml").write_text(BENCH, encoding="utf-8")
    names = {"CASE": "case.toml", "NEW": "new.toml"}
    assert main([names.get(word, word) for word in arguments]) == 0
    written = [
        p for p in tmp_path.rglob("*") if p.suffix in (".html", ".json") or p.name == "new.toml"
    ]
    texts = [p.read_text(encoding="utf-8") for p in written]
    if arguments[0] != "new":
        texts.append(capsys.readouterr().out)
    for text in texts:
        flat = " ".join(html.unescape(text).replace("\n#", " ").split())
        assert CAUTION in flat


BROKEN = sorted((Path(__file__).parents[1] / "cases" / "broken").iterdir())


@pytest.mark.parametrize("file", BROKEN, ids=lambda file: file.name)
def test_a_broken_case_ends_with_code_2_and_nothing_written(file, tmp_path, capsys, monkeypatch):
    monkeypatch.chdir(tmp_path)
    assert main(["run", str(file)]) == 2
    told = capsys.readouterr()
    assert told.out == ""
    assert all(line.startswith(str(file)) for line in told.err.splitlines()) and told.err
    assert list(tmp_path.iterdir()) == []


def test_a_pattern_that_the_shell_left_alone_is_expanded(few_bays, tmp_path, capsys, monkeypatch):
    monkeypatch.chdir(tmp_path)
    for name in ("b.toml", "a.toml", "[c].toml"):
        Path(name).write_text(BENCH, encoding="utf-8")
    assert main(["check", "?.toml", "[c].toml"]) == 0
    out = capsys.readouterr().out
    assert out.index("  a  ") < out.index("  b  ") < out.index("  [c]  ")
    assert main(["check", "*.tml"]) == 2
    assert capsys.readouterr().err == "*.tml: there is no such file\n"


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        (["window", "--wanted", "99 %"], "--wanted is now called --reliability; write that"),
        (["plan", "--wanted=0.9"], "--wanted is now called --reliability; write that"),
        (["scatter", "--members", "64"], "--members is now called --simulated-shots; write that"),
        (["cord", "--members", "64"], "unrecognized arguments: --members 64; see baypulse --help"),
        (
            ["sweep", "--over", "contents.drag_out=1 N..2 N"],
            "contents.drag_out is now called contents.extraction_force; write that",
        ),
        (
            ["fit", "--shot", "velocity 9 m/s", "--unknown", "powder.burnt_ceiling"],
            "powder.burnt_ceiling: is now called powder.burnable_fraction; write that",
        ),
    ],
)
def test_an_old_name_is_answered_with_the_new_one(typed, said, tmp_path, capsys):
    place = tmp_path / "bay.toml"
    spread = 'burnable_fraction = { value = "90 %", spread = "5 %" }'
    place.write_text(BENCH.replace('grade = "3F"', f'grade = "3F"\n{spread}'), "utf-8")
    assert main([typed[0], str(place), *typed[1:]]) == 2
    assert said in capsys.readouterr().err
