"""How quick the live page is: from a slider to the painted curve, to a usable page, and its memory.

    python benchmarks/live.py [--minutes 10] [--check]

Drives an installed Chromium. A time runs from the slider's event to the moment after the frame in
which the answer was drawn. The soak moves random sliders, and reads the program's memory from the
system. ``--check`` fails where the median exceeds 80 ms, the 95th percentile 150 ms, the start
2.5 s or the memory 400 MB.
"""

from __future__ import annotations

import argparse
import random
import sys
import time
from pathlib import Path
from tempfile import TemporaryDirectory

ROOT = Path(__file__).parents[1]
sys.path[:0] = [str(ROOT / "tests")]

from live.served import BENCH, FLAGS, NO_BROWSER, browser_program, served  # noqa: E402

MOVES = 200
"""Slider moves that are timed."""

MOST = {"median": 80.0, "95 %": 150.0, "start": 2.5, "memory": 400.0}
"""Milliseconds, milliseconds, seconds, MB that may not be exceeded."""

MOVE = """async ([name, to]) => {
  const slider = document.getElementById(name), was = document.body.dataset.drawn;
  const span = slider.max - slider.min;
  const wanted = String(Math.round(Number(slider.min) + to * span));
  slider.value = wanted === slider.value ? String(Number(slider.min)) : wanted;
  const begin = performance.now();
  slider.dispatchEvent(new Event("input", { bubbles: true }));
  while (document.body.dataset.drawn === was) {
    if (performance.now() - begin > 5000) return null;
    await new Promise((next) => { setTimeout(next, 1); });
  }
  await new Promise((next) => requestAnimationFrame(() => {
    const line = new MessageChannel();
    line.port1.onmessage = next;
    line.port2.postMessage(0);
  }));
  return performance.now() - begin;
}"""
"""Moves a slider to a share of its span and waits until what follows is painted."""

SLIDERS = ("charge", "slider-pins", "slider-vent", "slider-force", "slider-air", "slider-quickness")


def memory(process: int) -> float:
    """Return what a process holds [MB]."""
    rows = Path(f"/proc/{process}/status").read_text("utf-8").splitlines()
    return next(int(row.split()[1]) for row in rows if row.startswith("VmRSS")) / 1024.0


def moved(tab, name: str, chance: random.Random) -> float | None:
    return tab.evaluate(MOVE, [name, chance.random()])


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--minutes", type=float, default=0.5, help="of random use")
    parser.add_argument("--check", action="store_true", help="fail where it is too slow or large")
    chosen = parser.parse_args()
    program = browser_program()
    if program is None:
        print(NO_BROWSER)
        return 0
    from playwright.sync_api import sync_playwright

    chance, found = random.Random(1), {}
    with TemporaryDirectory() as folder, sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=program, args=FLAGS)
        tab = browser.new_page(viewport={"width": 1200, "height": 900})
        begin = time.perf_counter()
        with served(Path(folder), BENCH) as running:
            tab.goto(running.address)
            tab.wait_for_selector("body[data-drawn]", state="attached")
            found["start"] = time.perf_counter() - begin
            tab.wait_for_selector("body[data-banded]", state="attached", timeout=60_000)
            began = memory(running.process.pid)
            times = sorted(
                each for k in range(MOVES)
                if (each := moved(tab, SLIDERS[k % len(SLIDERS)], chance)) is not None
            )  # fmt: skip
            found["median"], found["95 %"] = times[len(times) // 2], times[int(0.95 * len(times))]
            held, end = [memory(running.process.pid)], time.monotonic() + 60.0 * chosen.minutes
            while time.monotonic() < end:
                moved(tab, chance.choice(SLIDERS), chance)
                # sometimes the hand rests, and strip and band are computed too
                if chance.random() < 0.1:
                    time.sleep(1.5)
                held.append(memory(running.process.pid))
            found["memory"] = max(held)
            tab.close()
            running.process.wait(30)
        browser.close()
    print(f"start to usable page: {found['start']:.2f} s")
    print(f"slider to painted curve, {len(times)} moves: median {found['median']:.0f} ms, "
          f"95 % below {found['95 %']:.0f} ms")  # fmt: skip
    half = len(held) // 2
    print(f"memory: {began:.0f} MB at first; of {chosen.minutes:g} minutes at most "
          f"{max(held[: half + 1]):.0f} MB in the first half, {max(held[half:]):.0f} MB in the "
          "second")  # fmt: skip
    slow = [f"{name} {found[name]:.2f} > {most:g}" for name, most in MOST.items()
            if found[name] > most]  # fmt: skip
    if chosen.check and slow:
        print("too slow or too large:", "; ".join(slow))
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main())
