"""What one run costs, as ratios within this very run; times are printed for orientation only.

    python benchmarks/single.py            # print
    python benchmarks/single.py --check    # exit 1 when a ratio says that the core is slow code

Compares, on the shipped bench case and at matched accuracy, the compiled stepper with scipy's
DOP853 driving the same compiled right-hand side.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[1]
sys.path.insert(0, str(ROOT / "tests"))

from timing import best  # noqa: E402

import baypulse  # noqa: E402
import tools  # noqa: E402
from baypulse.case import params  # noqa: E402
from baypulse.engine import run  # noqa: E402
from baypulse.physics.plain import compile_core  # noqa: E402

SLOWEST_SHARE = 0.2
"""Greatest allowed cost of the compiled stepper, in runs by scipy: about 0.02 when compiled and
above 1 when numba has fallen back to Python."""


def main() -> int:
    compile_core()
    case = baypulse.load(ROOT / "cases" / "bench-76.toml")
    P = params.parameters(case)
    end = case.run.end_time
    steps = run.integrate(P, end, 1e-6).steps  # loads or compiles it
    run.integrate(P, end, 1e-6, advance=tools.scipy_advance)

    compiled = best(lambda: run.integrate(P, end, 1e-6), 20)
    scipy = best(lambda: run.integrate(P, end, 1e-6, advance=tools.scipy_advance), 3)
    whole = best(lambda: baypulse.simulate(case), 20)
    plain = best(lambda: subprocess.run([sys.executable, "-c", "pass"], check=True), 5)
    imported = best(
        lambda: subprocess.run([sys.executable, "-c", "import baypulse"], check=True), 5
    )
    share = compiled / scipy
    print(f"compiled stepper      {compiled * 1e3:8.2f} ms, {steps} steps")
    print(f"scipy DOP853          {scipy * 1e3:8.2f} ms")
    print(f"simulate, with curves {whole * 1e3:8.2f} ms")
    print(f"import baypulse       {(imported - plain) * 1e3:8.2f} ms beyond starting Python")
    print(f"compiled over scipy   {share:8.4f} (allowed {SLOWEST_SHARE})")
    return int("--check" in sys.argv and share > SLOWEST_SHARE)


if __name__ == "__main__":
    sys.exit(main())
