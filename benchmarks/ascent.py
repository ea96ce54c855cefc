"""What it costs to follow a bay along a logged flight; times are printed for orientation.

python benchmarks/ascent.py            # print
python benchmarks/ascent.py --check    # exit 1 when the ratio to scipy's solver is too small
"""

from __future__ import annotations

import sys
import tempfile
from dataclasses import replace
from pathlib import Path

import numpy as np
from scipy.integrate import solve_ivp
from timing import best

import baypulse
from baypulse.case.logs import read_flight
from baypulse.engine import slow
from baypulse.observed.climb import pad_network
from baypulse.observed.flight_profile import profile
from baypulse.studies.ascent.compute import ascent

ROOT = Path(__file__).parents[1]

LEAST_RATIO = 200.0
"""Allowed ratio of scipy's time to ours, on the same compiled rates at the same tolerance."""

PIECES = ("time", "altitude", "speed", "pressure", "temperature")
"""What is cut out of a flight to follow a piece of it."""


def hour(folder: Path) -> Path:
    """Write an invented flight of one hour at 100 Hz: pad, 20 s up, a slow way down, the ground."""
    t = np.arange(0.0, 3600.0, 0.01)
    up = 2000.0 * np.sin(np.clip((t - 60.0) / 20.0, 0.0, 1.0) * np.pi / 2.0)
    height = np.where(t < 80.0, up, np.maximum(2000.0 - 5.0 * (t - 80.0), 0.0))
    height += np.random.default_rng(1).normal(0.0, 0.3, t.size)
    path = folder / "hour.csv"
    np.savetxt(path, np.column_stack([t, height]), fmt="%.3f,%.2f", header="time (s),altitude (m)",
               comments="")  # fmt: skip
    return path


def by_scipy(flight, network) -> np.ndarray:
    """Follow the bay with scipy's implicit solver, from one reading to the next."""
    room = slow._work(2)
    state = np.zeros(5)
    first = slow.follow(flight.time[:2], flight.pressure[:2], flight.temperature[:2], network)
    state[0], state[1] = first.mass[0, 0], first.energy[0, 0]

    def rates(t, y):
        room[slow.Y0] = y
        p = np.interp(t, flight.time, flight.pressure)
        T = np.interp(t, flight.time, flight.temperature)
        slow.still_rates(room, slow.Y0, p, T, *network, slow.F0)
        return room[slow.F0].copy()

    for k in range(1, flight.time.size):
        span = flight.time[k - 1], flight.time[k]
        state = solve_ivp(rates, span, state, method="Radau", rtol=slow.TOLERANCE,
                          atol=1e-12).y[:, -1]  # fmt: skip
    return state


def main() -> int:
    """Print what a logged hour costs, and compare a short piece of it with scipy."""
    case = baypulse.load(ROOT / "cases" / "main-98.toml")
    with tempfile.TemporaryDirectory() as folder:
        path = hour(Path(folder))
        flight = read_flight(path, pad_altitude=366.0)
        reading = best(lambda: read_flight(path, pad_altitude=366.0), 3)
    way = profile(case, flight)
    followed = best(lambda: ascent(case, profile(case, flight)), 3)
    print(f"one hour at 100 Hz: read in {reading:.2f} s, followed and judged in {followed:.2f} s")
    network = pad_network(case)
    start = int(np.searchsorted(way.time, 0.0))
    piece = slice(start, start + 200)
    cut = {name: getattr(way, name)[piece] for name in PIECES}
    short = replace(way, **cut)
    ours = best(lambda: slow.follow(short.time, short.pressure, short.temperature, network), 5)
    scipy = best(lambda: by_scipy(short, network), 1)
    found = slow.follow(short.time, short.pressure, short.temperature, network)
    state = by_scipy(short, network)
    miss = abs(found.mass[-1, 0] / state[0] - 1.0)
    print(f"10 s of it: {1e3 * ours:.1f} ms, scipy Radau {1e3 * scipy:.0f} ms: 1 : "
          f"{scipy / ours:.0f} (at least {LEAST_RATIO:g}); they differ by {miss:.0e}")  # fmt: skip
    return int("--check" in sys.argv and scipy / ours < LEAST_RATIO)


if __name__ == "__main__":
    sys.exit(main())
