"""A first study does without the code for members side by side, and gets the same numbers."""

from __future__ import annotations

from pathlib import Path

import numba
import numpy as np
import pytest

from baypulse.case.casefile import read
from baypulse.engine import ensemble
from baypulse.members.ensemble import Ensemble
from baypulse.physics import first_work, whole_code

pytestmark = pytest.mark.skipif(numba.config.DISABLE_JIT, reason="nothing is compiled")

CASE = Path(__file__).parents[2] / "cases" / "bench-76.toml"

begun: list[bool] = []


@pytest.fixture
def first_study(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let nothing but the code of a first study be kept."""
    begun.clear()
    monkeypatch.setattr(whole_code, "_whole", False)
    monkeypatch.setattr(whole_code, "_alone", 0)
    monkeypatch.setattr(whole_code, "is_kept", lambda driver: False)
    monkeypatch.setattr(first_work, "_action", lambda: begun.append(True))


def ran_by(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Return the names of the drivers that are called from now on."""
    names: list[str] = []
    for name in ("integrate_alone", "integrate_members"):
        held = getattr(ensemble, name)

        def noted(*given: object, name: str = name, held: object = held) -> None:
            names.append(name)
            held(*given)  # type: ignore[operator]

        monkeypatch.setattr(ensemble, name, noted)
    return names


@pytest.mark.usefixtures("first_study")
def test_members_get_the_same_numbers_to_the_bit(monkeypatch: pytest.MonkeyPatch) -> None:
    case, called = read(CASE), ran_by(monkeypatch)
    first = Ensemble(case, 32)(0)
    assert set(called) == {"integrate_alone"} and begun == [True]
    called.clear()
    monkeypatch.setattr(whole_code, "is_kept", lambda driver: driver == "integrate_members")
    second = Ensemble(case, 32)(0)
    assert set(called) == {"integrate_members"}
    assert first.dtype.names and first.dtype.names == second.dtype.names
    for name in first.dtype.names:
        np.testing.assert_array_equal(first[name], second[name], err_msg=name)


@pytest.mark.usefixtures("first_study")
def test_who_runs_many_compiles_the_whole_by_itself() -> None:
    assert not whole_code.takes_whole(0) and not begun  # a single run asks for nothing
    assert not whole_code.takes_whole(whole_code.WORTH_COMPILING)
    assert not whole_code.takes_whole(1)
    assert whole_code.takes_whole(1)
    assert begun == [True]


def test_without_a_compiler_members_run_one_after_the_other(
    first_study: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(numba.config, "DISABLE_JIT", 1)
    whole_code.compile_whole()
    assert not whole_code.takes_whole(1000) and not begun
