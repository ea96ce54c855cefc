"""What is compiled beforehand is all that runs and members ask for."""

from __future__ import annotations

import subprocess
import sys

import numba
import pytest

from baypulse import compile as beforehand
from baypulse.engine import at_once, stepper

AFTER = """
from baypulse import compile as beforehand
from baypulse.physics.compiled import _FUNCTIONS

beforehand.first()
beforehand.whole()
print(len(_FUNCTIONS), sum(bool(within.signatures) for _, within in _FUNCTIONS))
"""


def told(*arguments: str) -> str:
    done = subprocess.run(
        [sys.executable, *arguments], capture_output=True, text=True, check=False, timeout=900
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


@pytest.mark.skipif(numba.config.DISABLE_JIT, reason="nothing is compiled")
def test_after_it_nothing_is_compiled_any_more() -> None:
    assert told("-m", "baypulse.compile").startswith("the physics is compiled, in ")
    functions, compiled = map(int, told("-c", AFTER).splitlines()[0].split())
    assert functions > 100
    assert compiled == 0


@pytest.mark.skipif(numba.config.DISABLE_JIT, reason="nothing is compiled")
def test_a_run_from_the_cache_loads_neither_compiler_nor_statistics() -> None:
    told("-m", "baypulse.compile")
    program = (
        "import sys; from baypulse.compile import first; first(); "
        "print([name for name in sys.argv[1:] if name in sys.modules])"
    )
    dear = ("scipy.linalg", "scipy.special", "scipy.stats", "numba.np.arraymath", "matplotlib")
    assert told("-c", program, *dear) == "[]\n"


@pytest.mark.skipif(numba.config.DISABLE_JIT, reason="nothing is compiled")
def test_machine_code_is_made_once_for_a_run_and_for_members() -> None:
    beforehand.first()
    beforehand.whole()
    assert len(at_once.integrate_members.signatures) == 1
    assert not stepper.advance.overloads


def test_stopped_by_its_user_it_says_so_and_no_more(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def stop() -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(beforehand, "first", stop)
    monkeypatch.setattr(sys, "argv", ["compile"])
    assert beforehand.main() == 130
    assert capsys.readouterr() == ("", "baypulse: stopped\n")
