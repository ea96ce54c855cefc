"""The README keeps its word: its commands, its Python, its picture, its cases."""

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")


def blocks(language: str) -> list[str]:
    return re.findall(rf"^```{language}\n(.*?)^```", README, re.MULTILINE | re.DOTALL)


def test_python_block_runs(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture) -> None:
    monkeypatch.chdir(ROOT)
    for name in ("CHECK_MEMBERS", "SIDE_MEMBERS"):  # nobody looks at these chances here
        monkeypatch.setattr(f"baypulse.studies.window.compute.{name}", 32)
    (code,) = blocks("python")
    names: dict = {}
    exec(compile(code, "README.md", "exec"), names)
    assert capsys.readouterr().out.startswith("separates ")
    assert names["result"].gauge_pressure.shape == names["result"].time.shape


def test_ci_calls_the_same_test_command() -> None:
    commands = [line for block in blocks("") for line in block.splitlines() if "pytest" in line]
    assert len(commands) == 1
    assert commands[0] in (ROOT / ".ci" / "run").read_text(encoding="utf-8").splitlines()


def test_pictures_and_links_exist() -> None:
    for target in re.findall(r"\]\(([^)#]+)\)", README):
        assert (ROOT / target).exists(), target


def test_every_shipped_case_is_told() -> None:
    for case in (ROOT / "cases").glob("*.toml"):
        assert f"`{case.stem}`" in README
        assert (ROOT / "reports" / case.stem / "index.html").exists()


def test_caution_is_the_one_that_is_printed() -> None:
    from baypulse.caution import CAUTION

    told = " ".join(line.lstrip("> ") for line in README.splitlines() if line.startswith(">"))
    assert told.replace("**", "") == " ".join(CAUTION.split())


def test_toml_blocks_are_read(tmp_path: Path) -> None:
    from baypulse.case.casefile import reads
    from baypulse.case.casefile.rocket_reader import read_rocket

    contents, brakes, rocket, ascent, library = blocks("toml")
    bench = (ROOT / "cases" / "bench-76.toml").read_text("utf-8")
    before, rest = bench.split("[contents]")
    after = rest[rest.index("\n[nose]") :]
    packed = reads(f"{before}{contents}{after}", "packed").contents
    assert packed is not None and packed.packed_length == 0.12 and packed.extraction_force == 35.0
    assert reads(f"{bench}\n{brakes}", "braked").brakes[0].count == 4
    assert reads(f"{bench}\n{ascent}", "climbing").ascent is not None
    replaced = reads(f"{bench}\n{library}", "replaced")
    assert set(replaced.materials) == {
        "powders.3F.bed_time", "pin materials.nylon 6/6.shear_strength",
    }  # fmt: skip
    assert "library.powders.3F.bed_time" in replaced.spreads
    for name, shipped in (("drogue", "rockets/plover-drogue-98.toml"), ("main", "main-98.toml")):
        (tmp_path / f"{name}.toml").write_bytes((ROOT / "cases" / shipped).read_bytes())
    (tmp_path / "rocket.toml").write_text(rocket, "utf-8")
    assert len(read_rocket(tmp_path / "rocket.toml").bays) == 2
