"""The table of wrong lines fits the source, and a line that no test catches is reported."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT / "benchmarks"))

import mutants  # noqa: E402
from mutants import FILES, MUTANTS, TESTS, Mutant  # noqa: E402

from docs.test_closures import MODULES  # noqa: E402


@pytest.mark.parametrize("mutant", MUTANTS, ids=lambda mutant: mutant.name)
def test_a_wrong_line_stands_once_in_its_file(mutant: Mutant) -> None:
    text = mutants.wrong(mutant)
    assert mutant.after in text and mutant.before not in text.replace(mutant.after, "")
    for test in mutant.tests:
        assert (ROOT / TESTS[test].partition("::")[0]).is_file()


def test_every_closure_module_has_a_wrong_line() -> None:
    assert set(MODULES) == set(FILES) == {mutant.file for mutant in MUTANTS}


def test_a_text_that_does_not_stand_once_is_refused() -> None:
    gone = Mutant("gone", "cord", "a line that never stood there", "x", ("cord",))
    with pytest.raises(SystemExit, match="stands 0 times, not once, in src/baypulse/physics/cord"):
        mutants.wrong(gone)
    twice = Mutant("twice", "powder", mutants.POWER_OF_PRESSURE, "x", ("burning",))
    with pytest.raises(SystemExit, match="stands 2 times"):
        mutants.wrong(twice)


def test_a_wrong_line_that_no_test_catches_survives(capsys: pytest.CaptureFixture[str]) -> None:
    source = ROOT / FILES["piston"]
    before = source.read_bytes()
    harmless = Mutant("harmless", "piston", "1.0 + 0.5 * z", "1.0 + z / 2.0", ("column",))
    wrong = Mutant("wrong", "piston", "1.0 + 0.5 * z", "1.0", ("column",))
    assert mutants.survivors((harmless, wrong)) == ["harmless"]
    said = capsys.readouterr().out.splitlines()
    assert [line.split()[0] for line in said] == ["SURVIVED", "killed"]
    assert source.read_bytes() == before
