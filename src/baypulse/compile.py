"""Compile the physics beforehand: ``python -m baypulse.compile``.

The first command that needs it compiles it by itself; this is for whoever installs Baypulse for
others, or wants the first run to be as quick as the second. What is made lies in one folder, which
``NUMBA_CACHE_DIR`` moves and equal machines may share: code of another core, processor or version
is never used.
"""

from __future__ import annotations

import argparse
import sys
from typing import TYPE_CHECKING

from baypulse.terminal import compiling_notice, say

if TYPE_CHECKING:
    from baypulse.case.model import Case

MINUTE = 60.0
"""How long the closed bay is followed [s]."""


def one_run() -> None:
    """Make the code of a single run."""
    from baypulse.run.simulation import simulate

    _ = simulate(_case()).breakdown


def members() -> None:
    """Make the code of the air of a closed bay, and what more many runs at once take."""
    import numpy as np

    from baypulse.case.params import slow_network
    from baypulse.engine.slow import follow
    from baypulse.members.ensemble import Ensemble

    case = _case()
    Ensemble(case, 1)(0)
    network = slow_network(case)
    outside = np.ones(2)
    follow(np.array([0.0, MINUTE]), 1e5 * outside, 290.0 * outside, network)


def _case() -> Case:
    """Return a case of typical values; all cases are run by the same code."""
    from baypulse.case.casefile import reads
    from baypulse.case.new_case import NewCase

    return reads(NewCase(None).text(), "typical")


def main() -> int:
    """Make all code of the core."""
    parser = argparse.ArgumentParser(prog="python -m baypulse.compile", description=__doc__)
    parser.parse_args()
    with compiling_notice():
        one_run()
        members()
    from baypulse.physics.compiled import FOLDER

    say(f"the physics is compiled, in {FOLDER}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
