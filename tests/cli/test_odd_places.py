"""The command line where it is started oddly: closed streams, pipes, odd names, an early end.

Each is somebody's terminal, script or file system; none may end in a traceback.
"""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from baypulse.cli import main
from report_cases import BENCH

SYSTEM = pytest.mark.skipif(os.name == "nt", reason="Windows has no such thing")


@pytest.fixture
def case(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    found = tmp_path / "my bay.toml"
    found.write_text(BENCH, "utf-8")
    return found


@SYSTEM
@pytest.mark.parametrize("command", ["check", "run"])
def test_a_pipe_is_refused_and_not_waited_for(
    command: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    os.mkfifo(tmp_path / "pipe.toml")
    assert main([command, str(tmp_path / "pipe.toml")]) == 2
    assert "this is a pipe or a device, not a file" in capsys.readouterr().err


def test_closed_streams_are_no_reason_to_fail(
    case: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setattr(sys, "stdout", None)
    monkeypatch.setattr(sys, "stderr", None)
    assert main(["run", case.name]) == 0
    assert (tmp_path / "reports" / "my bay" / "index.html").exists()


@SYSTEM
def test_a_name_that_is_no_utf8_is_read_and_written(case: Path) -> None:
    odd = os.fsdecode(b"n\xff.toml")
    try:
        Path(odd).write_text(BENCH, "utf-8")
    except OSError:
        pytest.skip("this file system takes only names in UTF-8")
    assert main(["run", odd]) == 0
    assert (Path("reports") / "n_" / "numbers.json").exists()


@pytest.mark.parametrize("letter", ["\\u0007", "\\u001b[31m", "\\u202e"])
def test_characters_that_nobody_sees_are_refused(
    letter: str, case: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    case.write_text(BENCH.replace('title = "', f'title = "{letter}'), "utf-8")
    assert main(["check", case.name]) == 2
    said = capsys.readouterr().err
    assert "my bay.toml:2: title: characters that nobody sees (U+" in said
    assert said.replace("\n", "").isprintable()


@SYSTEM
def test_nothing_that_steers_a_terminal_reaches_it(
    case: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    odd = Path("a\x1b[31m.toml")
    odd.write_text(BENCH, "utf-8")
    assert main(["run", str(odd)]) == 0
    assert main(["run", "none\x1b[31m.toml"]) == 2
    told = capsys.readouterr()
    assert "\x1b" not in told.out + told.err


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('bore = "76 mm"', 'bore = { value = "76 mm", spread = "1e300 mm", distribution = '
         '"log-normal" }', "the spread is more than 100 times the value itself"),
        ('seal_drag = "0 N"', 'seal_drag = "1e-308 N"', "too little to reckon with"),
    ],
)  # fmt: skip
def test_absurd_numbers_are_refused(
    old: str, new: str, said: str, case: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = BENCH.replace("[joint]\n", '[joint]\nseal_drag = "0 N"\n')
    assert old in text
    case.write_text(text.replace(old, new), "utf-8")
    assert main(["check", case.name]) == 2
    assert said in capsys.readouterr().err


@SYSTEM
def test_an_end_by_the_system_leaves_nothing(case: Path, tmp_path: Path) -> None:
    typed = [sys.executable, "-m", "baypulse", "window", case.name, "--simulated-shots", "100000"]
    running = subprocess.Popen(typed, cwd=tmp_path, stderr=subprocess.PIPE, text=True,
                               stdout=subprocess.DEVNULL)  # fmt: skip
    time.sleep(6.0)
    running.send_signal(signal.SIGTERM)
    _, said = running.communicate(timeout=60.0)
    assert running.returncode == 143
    assert said.splitlines()[-1] == "baypulse: stopped"
    assert list(tmp_path.iterdir()) == [case]
