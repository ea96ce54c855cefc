"""What an ensemble costs, as ratios within this very run; times are printed for orientation only.

    python benchmarks/ensemble.py            # print
    python benchmarks/ensemble.py --check    # exit 1 when a ratio says that the core is slow code

Compares, on the shipped bench case and at matched accuracy: scipy's solve_ivp (RK45, one terminal
event) driving the right-hand side as plain Python and as compiled code; the compiled single run;
and members with all their scatter, on one and on two threads, whose cost is told for 10,000.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import warnings
from pathlib import Path
from typing import Any

import numpy as np
from scipy.integrate import solve_ivp
from timing import best

import baypulse
from baypulse.case import params
from baypulse.engine import ensemble, run
from baypulse.engine.at_once import FEW
from baypulse.engine.events import event_functions
from baypulse.engine.parameters import unpacked
from baypulse.engine.rates import rates
from baypulse.engine.stepper import Outcome
from baypulse.engine.workspace import Workspace
from baypulse.members import draws
from baypulse.members.ensemble import Ensemble
from baypulse.members.outcomes import TOLERANCE
from baypulse.members.pool import pool_of
from baypulse.physics.plain import compile_core
from baypulse.physics.whole_code import compile_whole

ROOT = Path(__file__).parents[1]

MEMBERS = 4_096
"""Four blocks: what 10,000 cost is in proportion, since a block's own cost is in each."""

RTOL = 1e-5
"""Of solve_ivp; its times of events then err about as much as those of the worst member."""

DEAREST = 4.0
"""Allowed price of 10,000 members on two threads, in plain solve_ivp runs."""

BESIDE = 0.85
"""Allowed price of a member whose steps are taken side by side with those of others, over that of
one that runs alone: about 0.6, and 1 when nothing is computed at once."""

ALONE = 48
"""Members that are run alone for that."""

SLOWEST_SHARE = 0.1
"""Allowed price of one member, in runs of solve_ivp with the compiled right-hand side: about 0.01
when compiled, and above 1 when numba has fallen back to Python."""


def ivp_advance(
    t: float, t_end: float, h: float, tolerance: float, P: Any, w: Workspace
) -> tuple[int, int, float, float, int, int]:
    """Advance one phase with solve_ivp, as somebody would who has no stepper of their own."""
    y, dy, g = w.state, np.empty_like(w.state), np.empty_like(w.before)

    def slope(time: float, state: np.ndarray) -> np.ndarray:
        rates(time, state, w.modes, w.memory, P, w.work, w.force, dy)
        return dy.copy()

    def due(time: float, state: np.ndarray) -> float:
        rates(time, state, w.modes, w.memory, P, w.work, w.force, dy)
        event_functions(time, state, w.modes, w.memory, P, w.work, w.force, g)
        return float(g.max())

    due.terminal, due.direction = True, 1  # type: ignore[attr-defined]
    if due(t, y) > 0.0:
        return Outcome.EVENT, int(np.argmax(g > 0.0)), t, h, 0, 0
    size = np.where(np.isfinite(w.scale), w.scale, 1e3)
    path = solve_ivp(
        slope, (t, t_end), y.copy(), method="RK45", rtol=tolerance, atol=tolerance * size,
        events=due, dense_output=True, first_step=min(1e-6, 0.5 * (t_end - t)),
    )  # fmt: skip
    if path.status != 1:
        y[:] = path.y[:, -1]
        return Outcome.DONE, -1, t_end, h, 0, path.t.size
    reached, gap = path.t_events[0][-1], 1e-14
    # just past the root, so that the event has happened
    while not due(reached + gap, path.sol(reached + gap)) > 0.0:
        gap *= 4.0
    y[:] = path.sol(reached + gap)
    return Outcome.EVENT, int(np.argmax(g > 0.0)), reached + gap, h, 0, path.t.size


def one_ivp(P: params.Parameters, end: float) -> run.Track:
    return run.integrate(P, end, RTOL, advance=ivp_advance)


def unpacked_ivp(P: params.Parameters, end: float) -> run.Track:
    """Run one shot from numbers that plain Python reads faster than those of a record."""

    def advance(
        t: float, t_end: float, h: float, tolerance: float, record: Any, w: Workspace
    ) -> tuple[int, int, float, float, int, int]:
        return ivp_advance(t, t_end, h, tolerance, unpacked(record), w)

    return run.integrate(P, end, RTOL, advance=advance)


def plain_python() -> tuple[float, float]:
    """Return the times of solve_ivp with the right-hand side as plain Python [s].

    Of the record that the core reads, which is what the price has been in since the first
    benchmark, and of the same numbers unpacked.
    """
    environment = {**os.environ, "NUMBA_DISABLE_JIT": "1"}
    done = subprocess.run(
        [sys.executable, __file__, "--plain"], env=environment, capture_output=True, text=True,
        check=True,
    )  # fmt: skip
    record, quicker = json.loads(done.stdout)
    return record, quicker


def cold_start() -> float:
    """Return the time of a fresh Python that runs one cached block, beyond starting it [s]."""
    program = (
        "import baypulse\nfrom baypulse.members.ensemble import Ensemble\n"
        f"Ensemble(baypulse.load({str(ROOT / 'cases' / 'bench-76.toml')!r}), 16)(0)"
    )
    whole = best(lambda: subprocess.run([sys.executable, "-c", program], check=True), 3)
    return whole - best(lambda: subprocess.run([sys.executable, "-c", "pass"], check=True), 3)


def main() -> int:
    warnings.simplefilter("ignore")
    compile_core()
    compile_whole()
    case = baypulse.load(ROOT / "cases" / "bench-76.toml")
    P = params.parameters(case)
    end = case.run.end_time
    if "--plain" in sys.argv:
        print([best(lambda: one_ivp(P, end), 3), best(lambda: unpacked_ivp(P, end), 3)])
        return 0
    plan = Ensemble(case, MEMBERS)
    values = draws.values(case, plan.factors, plan.points(0))
    records, _ = draws.records(case, values)
    fine = [t for t, _ in run.integrate(P, end, 1e-10).events]
    ivp = [t for t, _ in one_ivp(P, end).events]
    ensemble.run_members(records[:1], end, TOLERANCE)

    def every_block(threads: int) -> None:
        with pool_of(threads) as pool:
            list(pool.map(plan, range(MEMBERS // draws.BLOCK)))

    core = best(lambda: ensemble.run_members(records, end, TOLERANCE), 3) / draws.BLOCK
    # as many in one call as take their steps one after the other
    few = [records[k : k + FEW] for k in range(0, ALONE, FEW)]
    one = best(lambda: [ensemble.run_members(part, end, TOLERANCE) for part in few], 3) / ALONE
    alone, both = (best(lambda n=n: every_block(n), 2) for n in (1, 2))
    single = best(lambda: run.integrate(P, end, 1e-6), 10)
    scipy, (plain, unpacked_plain) = best(lambda: one_ivp(P, end), 5), plain_python()
    price = 10_000 / MEMBERS * both
    print(f"solve_ivp, plain Python     {plain * 1e3:9.2f} ms a run")
    print(f"the same, unpacked record   {unpacked_plain * 1e3:9.2f} ms")
    print(f"solve_ivp, compiled rates   {scipy * 1e3:9.2f} ms a run, events to "
          f"{np.max(np.abs(np.array(ivp) / fine - 1.0)):.0e}")  # fmt: skip
    print(f"compiled single run         {single * 1e3:9.2f} ms")
    print(f"member, in the core         {core * 1e3:9.3f} ms")
    print(f"the same over one alone     {core / one:9.2f} (allowed {BESIDE:g})")
    print(f"member, all in, 1 thread    {alone / MEMBERS * 1e3:9.3f} ms")
    print(f"member, all in, 2 threads   {both / MEMBERS * 1e3:9.3f} ms")
    print(f"cold start, cached          {cold_start() * 1e3:9.0f} ms beyond starting Python")
    print(f"parallel efficiency         {alone / (2.0 * both):9.2f}")
    print(f"10,000 members on 2 threads {price / plain:9.1f} plain solve_ivp runs "
          f"(allowed {DEAREST:g})")  # fmt: skip
    print(f"                            {price / unpacked_plain:9.1f} of an unpacked record")
    print(f"                            {price / scipy:9.1f} solve_ivp runs with compiled rates")
    print(f"one member over solve_ivp   {core / scipy:9.4f} (allowed {SLOWEST_SHARE})")
    slow = price / plain > DEAREST or core / scipy > SLOWEST_SHARE or core / one > BESIDE
    return int("--check" in sys.argv and slow)


if __name__ == "__main__":
    sys.exit(main())
