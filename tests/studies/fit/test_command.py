"""``baypulse fit`` as somebody at a terminal meets it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

import baypulse
from baypulse.caution import CAUTION
from baypulse.cli import main
from baypulse.studies.fit.command import WORDS
from baypulse.studies.fit.unknowns import CHOICES
from fit_records import FIRED, TEXT, TRUTH, case, csv, logged, trace

pytestmark = pytest.mark.usefixtures("unsaved_figures")

RATE = ["--unknown", "rate"]
"""What a fit is asked for where its numbers are not looked at: each further unknown takes time."""


@pytest.fixture
def bench(tmp_path: Path) -> Path:
    path = tmp_path / "bench.toml"
    path.write_text(TEXT, "utf-8")
    return path


@pytest.fixture
def gauge(tmp_path: Path) -> Path:
    path = tmp_path / "gauge.csv"
    path.write_text(csv(*trace(200)), "utf-8")
    return path


def logger(folder: Path) -> Path:
    """Write a logger's record of the nose, in g, with a barometer."""
    time, values, leak = logged(case(), TRUTH, "nose", 3200.0)
    rows = [f"{t + FIRED:.6f},{a / 9.80665:.4f},{(1e5 + p) / 100.0:.4f}"
            for t, a, p in zip(time, values, leak, strict=True)]  # fmt: skip
    path = folder / "logger.csv"
    path.write_text("\n".join(["time (s),accel (g),pressure (hPa)", *rows]) + "\n", "utf-8")
    return path


def told(capsys: pytest.CaptureFixture[str]) -> str:
    return " ".join(capsys.readouterr().out.split())


def test_report_and_new_case_from_a_record(
    bench: Path, gauge: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    new = tmp_path / "fitted.toml"
    out = ["--out", str(tmp_path / "out")]
    assert main(["fit", str(bench), "--trace", str(gauge), "--write", str(new), *RATE, *out]) == 0
    text = told(capsys)
    folder = tmp_path / "out" / "bench-fit"
    assert {path.name for path in folder.iterdir()} == {
        "index.html", "figures", "numbers.json", "fit.csv",
    }  # fmt: skip
    assert CAUTION in text
    assert "Learnt: factor of the burning rate 1." in text and "opens the bay with a chance" in text
    assert (folder / "figures" / "record.png").exists()
    case = baypulse.load(new)
    assert "powder.rate_factor" in case.spreads
    assert bench.read_text("utf-8") == TEXT
    assert not [path for path in tmp_path.iterdir() if "writing" in path.name]


def test_numbers_of_shots_as_json(
    bench: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    typed = ["--shot", "peak 15 psi, velocity 12 m/s", "--shot", "charge 0.4 g, peak 11 psi"]
    typed += [*RATE, "--unknown", "mixing"]
    assert main(["fit", str(bench), *typed, "--json", "--out", str(tmp_path / "out")]) == 0
    found = json.loads(capsys.readouterr().out)
    assert found["caution"] == CAUTION
    found = found["tables"]
    assert [n["shot"] for n in found["numbers"]] == ["shot 1", "shot 1", "shot 2"]
    for each in found["unknowns"]:
        unit = next(k for k in each if k.startswith("after_low_")).removeprefix("after_low_")
        assert each[f"after_low_{unit}"] < each[f"after_{unit}"] < each[f"after_high_{unit}"]
    written = {each["path"]: each["value"] for each in found.get("case_file", [])}
    learnt = {each["path"] for each in found["values"] if each["left_ratio"] <= 0.9}
    assert set(written) == learnt
    assert all(value.startswith("{ value = ") for value in written.values())
    assert not (tmp_path / "out" / "bench-fit" / "figures" / "record.png").exists()


def test_report_from_a_logger_in_one_section(
    bench: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = str(logger(tmp_path))
    typed = ["--acceleration", file, "--section", "nose", "--barometer", file, *RATE]
    assert main(["fit", str(bench), *typed, "--out", str(tmp_path / "out")]) == 0
    text = told(capsys)
    assert CAUTION in text
    assert "the sections part with" in text
    folder = tmp_path / "out" / "bench-fit"
    found = json.loads((folder / "numbers.json").read_text("utf-8"))["tables"]
    assert {r["kind"] for r in found["records"]} == {"acceleration", "barometer"}
    told_by = {
        each["what"]: each["measured_Pa"] for each in found["loggers"] if "measured_Pa" in each
    }
    assert told_by["Greatest overpressure"] > told_by["Overpressure when clear"] > 0.0
    assert (folder / "figures" / "record-2.png").exists()


def test_samples(bench: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str],
                 monkeypatch: pytest.MonkeyPatch) -> None:  # fmt: skip
    pytest.importorskip("emcee")
    from baypulse.studies.fit import sampling

    monkeypatch.setattr(sampling.sample, "__defaults__", (sampling.sample.__defaults__[0], 12))
    typed = ["--shot", "peak 15 psi", "--sample", "--json", "--out", str(tmp_path / "out")]
    assert main(["fit", str(bench), *typed, *RATE]) == 0
    how = json.loads(capsys.readouterr().out)["findings"]["sampling"]
    assert how["steps"] == 12 and 0.05 < how["acceptance_ratio"] < 0.95


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ([], "nothing was measured"),
        (["--shot", "peek 11 psi"], 'did you mean "peak"'),
        (["--column", "p"], "give the record with --trace"),
        (["--motion-column", "x"], "give the record with --motion"),
        (["--shot", "peak 15 psi", "--fired", "0 ms"], "belongs to a record"),
        (["--shot", "peak 15 psi", "--unknown", "mixng"], 'did you mean "mixing"'),
        (["--shot", "peak 15 psi", "--unknown", "powder.mass"], "no spread"),
        (["--trace", "GAUGE", "--lag", "3"], "has no unit"),
        (["--trace", "GAUGE", "--lag", "3 h"], "no time constant"),
        (["--trace", "GAUGE", "--between", "2 s", "1 s"], "is not before"),
        (["--trace", "GAUGE", "--between", "8 s", "9 s"], "the record goes from"),
        (["--trace", "GAUGE", "--column", "volts"], "no column"),
        (["--trace", "nowhere.csv"], "nowhere.csv"),
        (["--acceleration", "LOGGER", "--section", "airframe"], "the case clamps it"),
        (["--acceleration", "GAUGE"], "say of every --acceleration where its logger sat"),
        (["--section", "nose"], "--section"),
        (["--shot", "peak 15 psi", "--range", "16 g"], "give the record with --acceleration"),
        (["--shot", "peak 15 psi", "--barometer-column", "p"], "give the record with --barometer"),
        (["--acceleration", "GAUGE", "--section", "nose"], "no header names an acceleration"),
        (["--acceleration", "LOGGER", "--section", "nose", "--range", "16 in"], '--range "16 g"'),
        (
            ["--acceleration", "LOGGER", "--section", "nose", "--acceleration-column", "acel"],
            'did you mean "accel (g)"',
        ),
        (
            ["--acceleration", "LOGGER", "--section", "nose", "--between", "0.45 s", "0.47 s"],
            "no push stands out",
        ),
        (
            [
                "--acceleration",
                "LOGGER",
                "--section",
                "nose",
                "--acceleration",
                "LOGGER",
                "--section",
                "nose",
            ],
            "each section once",
        ),
        (["--motion", "GAUGE"], "no header names a position"),
        (["--trace", "GAUGE", "--write", "CASE"], "not replaced"),
        (["--trace", "GAUGE", "--write", "new.txt"], "let it end in .toml"),
        (["--trace", "GAUGE", "--write", "no/such/folder/new.toml"], "there is no folder"),
    ],
)
def test_one_clear_sentence_and_nothing_written(
    typed: list[str], said: str, bench: Path, gauge: Path, tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    places = {"GAUGE": str(gauge), "CASE": str(bench), "LOGGER": str(logger(tmp_path))}
    before = {path: path.read_bytes() for path in tmp_path.iterdir()}
    words = [places.get(word, word) for word in typed]
    assert main(["fit", str(bench), *words, "--out", str(tmp_path / "out")]) == 2
    sentence = capsys.readouterr().err
    assert said in sentence and "Traceback" not in sentence
    assert {path: path.read_bytes() for path in tmp_path.iterdir()} == before


def test_words_of_the_help_are_those_of_the_study() -> None:
    assert WORDS.split(", ") == list(CHOICES)


def test_nothing_is_written_where_nothing_was_learnt(
    bench: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    new = tmp_path / "new.toml"
    typed = ["--shot", "peak 15 psi +/- 9000 psi", "--write", str(new)]
    assert main(["fit", str(bench), *typed, "--out", str(tmp_path / "out")]) == 2
    assert "nothing was learnt" in capsys.readouterr().err
    assert not new.exists()
