"""``scatter`` as somebody at a terminal meets it."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from html import unescape
from pathlib import Path

import pyarrow.dataset
import pytest

from baypulse.caution import CAUTION
from baypulse.cli import main
from baypulse.terminal import COMPILING
from quick_bays import QUICK, strand_text
from report_cases import TEXTS

pytestmark = pytest.mark.usefixtures("unsaved_figures")

BARE = strand_text(TEXTS["bare"])
"""The bay whose members cost least, for the test that needs many."""

FLAT_CAUTION = " ".join(CAUTION.split())


def flat(text: str) -> str:
    return " ".join(text.split())


@pytest.fixture
def bench(tmp_path_factory: pytest.TempPathFactory) -> Path:
    place = tmp_path_factory.mktemp("case") / "bench.toml"
    weighed = 'mass = { value = "1.00 g", spread = "2 %" }'
    place.write_text(QUICK.replace('mass = "1.00 g"', weighed), "utf-8")
    return place


def scatter(case: Path, out: Path, *more: str) -> int:
    return main(["scatter", str(case), "--out", str(out), "--simulated-shots", "96", *more])


def test_scatter_writes_a_report_and_members_that_open(
    bench: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert scatter(bench, tmp_path) == 0
    told = capsys.readouterr()
    assert FLAT_CAUTION in flat(told.out)
    # somebody who runs this test alone may see that the core is being compiled
    assert told.err.replace(f"{COMPILING}\n", "") == ""
    folder = tmp_path / "bench-scatter"
    # the chances first; what to measure takes as long again
    places = [told.out.index(text) for text in ("Energetic", "\n  Next\n", f"report: {folder}")]
    assert places == sorted(places) and told.out.count("  Next\n") == 1
    assert f"report: {folder / 'index.html'}" in told.out
    assert {p.name for p in folder.iterdir()} == {
        "index.html",
        "figures",
        "numbers.json",
        "simulated-shots",
    }
    assert FLAT_CAUTION in flat(unescape((folder / "index.html").read_text("utf-8")))
    table = pyarrow.dataset.dataset(folder / "simulated-shots", format="parquet").to_table()
    assert table.num_rows == 96
    assert {"verdict", "peak_pressure", "powder.mass", "bay.entrainment"} <= set(table.column_names)
    numbers = json.loads((folder / "numbers.json").read_text("utf-8"))
    assert numbers["caution"] == CAUTION


def test_scatter_as_json_is_json_and_nothing_else(
    bench: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert scatter(bench, tmp_path, "--json") == 0
    found = json.loads(capsys.readouterr().out)
    assert found["findings"]["simulated_shots"] == 96
    assert sum(each["chance_count"] for each in found["tables"]["chances"][:5]) == 96


def test_scatter_as_json_keeps_nothing_unless_asked(
    bench: Path,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.chdir(tmp_path)
    command = ["scatter", str(bench), "--simulated-shots", "64", "--json"]
    assert main(command) == 0
    assert json.loads(capsys.readouterr().out)["findings"]["simulated_shots"] == 64
    assert list(tmp_path.iterdir()) == []
    assert main([*command, "--resume"]) == 2
    assert "nothing is kept to go on with" in capsys.readouterr().err


def bits(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in sorted(folder.iterdir())}


def test_the_same_question_is_answered_from_disk_and_another_seed_afresh(
    bench: Path, tmp_path: Path
) -> None:
    members = tmp_path / "bench-scatter" / "simulated-shots"
    assert scatter(bench, tmp_path) == 0
    first, made = bits(members), members.stat().st_ino
    part = next(members.glob("*.parquet"))
    stamp = part.stat().st_mtime_ns
    assert scatter(bench, tmp_path) == 0
    assert part.stat().st_mtime_ns == stamp
    assert scatter(bench, tmp_path, "--workers", "1", "--seed", "2") == 0
    assert members.stat().st_ino != made or bits(members) != first
    assert scatter(bench, tmp_path, "--workers", "3") == 0
    assert bits(members) == first


@pytest.mark.skipif(os.name == "nt", reason="a signal to one process")
def test_stopped_by_ctrl_c_and_resumed_it_is_as_if_it_had_never_been_stopped(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    case = tmp_path / "quick.toml"
    case.write_text(BARE, "utf-8")
    size, members = "65536", tmp_path / "quick-scatter" / "simulated-shots"
    command = [sys.executable, "-m", "baypulse", "scatter", str(case), "--out", str(tmp_path)]
    started = subprocess.Popen(
        [*command, "--simulated-shots", size], stderr=subprocess.PIPE, text=True
    )
    until = time.monotonic() + 120.0
    while not list(members.glob("part-*.parquet")) and time.monotonic() < until:
        time.sleep(0.05)
    started.send_signal(signal.SIGINT)
    _, told = started.communicate(timeout=60)
    assert started.returncode == 130
    assert "what is finished is kept" in told and "--resume" in told
    assert len(list(members.glob("part-*.parquet"))) == 1
    opened = pyarrow.dataset.dataset(members, format="parquet").to_table()
    assert opened.num_rows == 32768

    # without --resume nothing of it is touched
    assert main(["scatter", str(case), "--out", str(tmp_path), "--simulated-shots", size]) == 2
    assert "--resume" in capsys.readouterr().err
    assert len(list(members.glob("part-*.parquet"))) == 1
    # with other members it is another run
    more = ["--resume", "--simulated-shots", "70000"]
    assert main(["scatter", str(case), "--out", str(tmp_path), *more]) == 2
    assert "70000" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("more", "sentence"),
    [
        (["--simulated-shots", "0"], '"0" is no whole number from 1 to 10000000000'),
        (["--simulated-shots", "many"], '"many" is no whole number'),
        (["--simulated-shots", "1.5"], '"1.5" is no whole number'),
        (["--simulated-shots", "nan"], '"nan" is no whole number'),
        (["--workers", "0"], '"0" is no whole number from 1 to 1024'),
        (["--seed", "-1"], '"-1" is no whole number from 0'),
        (["--sampling", "dice"], "invalid choice: 'dice'"),
        (["--rare", "never"], "invalid choice: 'never'"),
        (["--dask", "tcp://127.0.0.1:9"], "127.0.0.1:9"),
        (["--dask", "nowhere"], "nowhere"),
    ],
)
def test_misuse_of_scatter_gets_a_sentence(
    bench: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch, more: list[str], sentence: str,
) -> None:  # fmt: skip
    monkeypatch.setattr("baypulse.members.cluster._PATIENCE", 1.0)  # of a cluster that is not there
    assert main(["scatter", str(bench), "--out", str(tmp_path), *more]) == 2
    told = capsys.readouterr()
    assert sentence in told.err
    assert "Traceback" not in told.err
    assert told.out == ""


def test_a_folder_with_something_else_is_left_alone(
    bench: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = tmp_path / "bench-scatter"
    (folder / "simulated-shots").mkdir(parents=True)
    (folder / "simulated-shots" / "thesis.txt").write_text("years of work")
    assert scatter(bench, tmp_path) == 2
    assert "simulated-shots" in capsys.readouterr().err
    assert [p.name for p in folder.rglob("*.*")] == ["thesis.txt"]
