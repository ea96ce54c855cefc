"""From nothing to the first answer, for three kinds of use, as somebody at a bench would type it.

python benchmarks/first_answers.py          # about two minutes on two cores, warm

A single 98 mm bay, a rocket with two bays, and six bays in one afternoon. Every command is run as
typed, its time and its first lines are printed; what a person needs beside it is reckoned from what
is asked: a minute for each thing that is measured, fifteen seconds for each value typed (both
estimates, no source). It fails where a command fails, or where a use takes longer than it should.
"""

from __future__ import annotations

import argparse
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import NamedTuple

ROOT = Path(__file__).parents[1]

MEASURING, TYPING = 60.0, 15.0
"""Time for one thing measured and for one value typed [s]; estimates."""


class Use(NamedTuple):
    """A kind of use.

    Attributes
    ----------
    name : str
        What it is.
    measured : int
        Things that are measured.
    commands : tuple of str
        As typed.
    allowed : float
        Time from nothing to the answer [s].
    """

    name: str
    measured: int
    commands: tuple[str, ...]
    allowed: float


def six() -> tuple[str, ...]:
    """Return the commands that write six bays of a club."""
    bores = ("54 mm", "2.56 in", "75 mm", "3.9 in", "98 mm", "152 mm")
    return tuple(
        f'new bay-{k}.toml --bore "{bore}" --tube-length "{220 + 60 * k} mm" '
        f'--packed-length "{90 + 25 * k} mm" --extraction-force "{8 + 3 * k} N" '
        f'--nose-mass "{0.4 + 0.3 * k:.1f} kg" --airframe-mass "{1.2 + 0.9 * k:.1f} kg"'
        for k, bore in enumerate(bores)
    )


USES = (
    Use(
        "one bay built in a garage", 9,
        (
            'new my-bay.toml --bore "3.9 in" --tube-length "14 1/2 in" --shoulder-length "4 in" '
            '--packed-length "6 in" --pull-off "5 lb" --extraction-force "4 lb" '
            '--packed-mass "14 oz" --nose-mass "2 lb 3 oz" --airframe-mass "9 lb"',
            "check my-bay.toml", "run my-bay.toml", "window my-bay.toml", "plan my-bay.toml",
        ),
        15 * 60.0,
    ),
    Use(
        "a rocket with two bays", 15,
        (
            'new my-rocket.toml --rocket --bore "6 in" --tube-length "14 in" --tube-length "20 in" '
            '--packed-length "4 in" --packed-length "8 in" --packed-mass "0.7 kg" '
            '--packed-mass "1.6 kg" --extraction-force "15 N" --extraction-force "30 N" '
            '--nose-mass "9.6 kg" --nose-mass "3.1 kg" --airframe-mass "9.7 kg" '
            '--airframe-mass "15.3 kg" --charge "2.4 g" --charge "4 g"',
            "check my-rocket.toml", "window my-rocket.toml", "joints my-rocket.toml",
            "review my-rocket.toml",
        ),
        25 * 60.0,
    ),
    Use(
        "six bays in one afternoon", 36,
        (*six(), f"window {' '.join(f'bay-{k}.toml' for k in range(6))}"),
        60 * 60.0,
    ),
)  # fmt: skip


def main() -> int:
    """Go through the uses."""
    argparse.ArgumentParser(description=__doc__).parse_args()
    late = 0
    for use in USES:
        print(f"== {use.name}")
        with tempfile.TemporaryDirectory() as folder:
            computing, typed = 0.0, 0
            for command in use.commands:
                began = time.perf_counter()
                done = subprocess.run(
                    f"{sys.executable} -m baypulse {command}", shell=True, cwd=folder, check=False,
                    capture_output=True, text=True,
                )  # fmt: skip
                took = time.perf_counter() - began
                computing, typed = computing + took, typed + 1 + command.count(" --")
                lines = [line for line in done.stdout.splitlines() if line.strip()]
                print(f"{took:5.1f} s  {command.split(' --')[0]}  ({len(lines)} lines)")
                print("\n".join(f"           {line}" for line in lines[:6]))
                if done.returncode:
                    print(done.stderr)
                    return 1
        whole = computing + MEASURING * use.measured + TYPING * typed
        late += whole > use.allowed
        print(
            f"{use.name}: {computing:.0f} s of computing, {use.measured} things measured, "
            f"{typed} values typed: {whole / 60.0:.0f} min, allowed {use.allowed / 60.0:.0f}\n"
        )
    return 1 if late else 0


if __name__ == "__main__":
    sys.exit(main())
