"""Compile the physics beforehand: ``python -m baypulse.compile``.

A first run begins without, and lets this be done beside it; a study that needs it compiles it by
itself. This is for whoever installs Baypulse for others, or begins with a study. What is made lies
in one folder, which ``NUMBA_CACHE_DIR`` moves and equal machines may share: code of another core,
processor or version is never used.
"""

from __future__ import annotations

import argparse
import os
import sys
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

from baypulse.terminal import STOPPED, compiling_notice, say

if TYPE_CHECKING:
    from subprocess import Popen

    from baypulse.case.model import Case

MINUTE = 60.0
"""How long the closed bay is followed [s]."""

BESIDE = (
    "the physics is compiled beside this, once for this machine, in less than a minute; from then "
    "on commands are quicker"
)
"""What is said where another process compiles."""

GENTLY = 10
"""How much the process that compiles gives way to others."""


def first() -> None:
    """Make the code that a first study waits for: of runs one after the other, and of slow air."""
    import numpy as np

    from baypulse.case.params import slow_network
    from baypulse.engine.slow import follow
    from baypulse.run.simulation import simulate

    case = _case()
    _ = simulate(case).breakdown
    network = slow_network(case)
    outside = np.ones(2)
    follow(np.array([0.0, MINUTE]), 1e5 * outside, 290.0 * outside, network)


def whole() -> None:
    """Make the code of all runs, of many side by side too."""
    from baypulse.members.ensemble import Ensemble
    from baypulse.physics.whole_code import compile_whole

    compile_whole()
    Ensemble(_case(), 1)(0)


def _case() -> Case:
    """Return a case of typical values; all cases are run by the same code."""
    from baypulse.case.casefile import reads
    from baypulse.case.new_case import NewCase

    return reads(NewCase(None).text(), "typical")


class Beside:
    """Another process that compiles the core, and goes on when this one has ended."""

    _process: Popen[bytes] | None = None

    def begin(self) -> None:
        """Begin, unless all is kept already or soon will be, or what is compiled could not be."""
        from baypulse.physics.core_folder import FOLDER, WHOLE, is_being_compiled, is_kept

        if is_kept(WHOLE):
            return
        import subprocess

        quiet = subprocess.DEVNULL
        how = getattr(subprocess, "CREATE_NO_WINDOW", 0)
        how |= getattr(subprocess, "BELOW_NORMAL_PRIORITY_CLASS", 0)
        with suppress(OSError):  # then the first command that needs it compiles by itself
            Path(FOLDER).mkdir(parents=True, exist_ok=True)
            if not os.access(FOLDER, os.W_OK) or is_being_compiled():
                return
            self._process = subprocess.Popen(
                [sys.executable, "-m", "baypulse.compile"], stdin=quiet, stdout=quiet,
                stderr=quiet, creationflags=how,
            )  # fmt: skip
            if hasattr(os, "setpriority"):
                os.setpriority(os.PRIO_PROCESS, self._process.pid, GENTLY)

    def leave(self) -> bool:
        """Leave it alone; say whether it is still at work."""
        at_work = self._process is not None and self._process.poll() is None
        if at_work and self._process is not None:
            self._process.returncode = 0  # nobody waits for it
        return at_work


def main() -> int:
    """Make all code of the core."""
    parser = argparse.ArgumentParser(prog="python -m baypulse.compile", description=__doc__)
    parser.parse_args()
    from baypulse.physics import plain
    from baypulse.physics.core_folder import FOLDER, LONG_LOCK, alone

    plain.never()
    try:
        with compiling_notice(), alone(LONG_LOCK):
            with alone():  # nobody waits for more
                first()
            whole()
    except KeyboardInterrupt:
        say("baypulse: stopped", sys.stderr)
        return STOPPED
    say(f"the physics is compiled, in {FOLDER}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
