"""What commands take, a process each: with ever more bays, and the peak of memory of them all.

Parts of benchmarks/growth.py, which prints them.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

from growth_tools import BENCH, ROOT, exponent, spent, table

BAYS = (1, 2, 4)
"""Bays of a rocket."""

BAY_SHOTS = "256"
"""Simulated shots of each command on a rocket, as typed."""

MANY = 100_000
"""Simulated shots of a command whose memory is looked at."""

BOUND = 400e6
"""Peak memory that a command may have [bytes]."""

CHEAP = ROOT / "cases" / "cold-gas-98.toml"
"""The shipped case whose members cost least; without contents they cost a quarter of that."""

MORE = """
[[openings]]
name = "vent"
diameter = "3 mm"

[ascent]
burnout_height = "700 m"
burnout_speed = "210 m/s"
drag_area = "60 cm^2"
fore_drag_area = "10 cm^2"
"""
"""What the studies of the ascent ask for."""

ELECTRONICS = """
[electronics]
volume = "0.6 L"

[[openings]]
name = "wire hole"
between = "bay"
to = "electronics"
diameter = "2 mm"

[[openings]]
name = "static ports"
between = "electronics"
to = "outside"
diameter = "3 mm"
count = 3
"""

WITH_MEMBERS: dict[str, tuple[str, ...]] = {
    "scatter": ("bay.toml",),
    "sweep": ("bay.toml", "--over", "cold_gas.pressure=260 psig,300 psig"),
    "window": ("bay.toml",),
    "plan": ("bay.toml",),
    "joints": ("rocket-2.toml",),
    "pins": ("bay.toml", "--counts", "2", "--threads", "M2"),
    "vents": ("bay.toml",),
    "aloft": ("bay.toml", "--altitude", "3 km"),
    "shots": ("bay.toml", "--shots", "fired.toml"),
    "review": ("rocket-2.toml",),
}
"""Commands that take any number of simulated shots, as typed."""

WITHOUT: dict[str, tuple[str, ...]] = {
    "new": ("another.toml",),
    "check": ("bay.toml",),
    "keys": (),
    "run": ("bay.toml",),
    "cord": ("bay.toml",),
    "ascent": ("bay.toml",),
    "altimeter": ("electronics.toml",),
    "leakdown": ("bay.toml", "--from", "3 psig", "--to", "1.5 psig", "--time", "2.4 s"),
    "why": ("bay.toml", "--saw", "no separation", "--simulated-shots", "1024"),
    "fit": ("bay.toml", "--shot", "peak 11 psi, velocity 9 m/s"),
    "live": ("bay.toml", "--save", "page.html"),
}
"""Commands that take none, or ``why`` no more than 1,024; ``live`` as it writes a page and ends."""


def with_mass(case: str, section: str, kilograms: float) -> str:
    """Return the text of a case with another mass as the first line of one of its tables."""
    before, head, after = case.partition(f"[{section}]\n")
    _, _, rest = after.partition("\n")
    return f'{before}{head}mass = "{kilograms:.1f} kg"\n{rest}'


def rocket(folder: Path, case: str, bays: int) -> str:
    """Write a rocket of the same bay under several names; return the file to name.

    What is ahead of a joint must differ from bay to bay, and one bay is no rocket.
    """
    text = 'title = "invented: one bay under several names"\n'
    for k in range(bays):
        ahead = 0.5 + 0.3 * k
        bay = with_mass(with_mass(case, "nose", ahead), "airframe", 3.0 - ahead)
        (folder / f"bay-{k}.toml").write_text(bay, encoding="utf-8")
        text += f'\n[[bays]]\nname = "bay {k}"\ncase = "bay-{k}.toml"\n'
        text += f'fore_drag_area = "{4 + 2 * k} cm^2"\n'
    if bays == 1:
        return "bay-0.toml"
    text += '\n[coast]\nspeed = "210 m/s"\naltitude = "900 m"\ndrag_area = "46 cm^2"\n'
    (folder / f"rocket-{bays}.toml").write_text(text, encoding="utf-8")
    return f"rocket-{bays}.toml"


def bays() -> None:
    """Print the cost of commands on rockets of ever more bays."""
    print(f"bays of a rocket, all like {BENCH.stem}, {BAY_SHOTS} simulated shots: processor s")
    case = BENCH.read_text(encoding="utf-8")
    rows = []
    with tempfile.TemporaryDirectory() as folder:
        for name, counts in (("scatter", BAYS), ("joints", BAYS[1:])):
            costs = []
            for count in counts:
                file = rocket(Path(folder), case, count)
                words = ("-m", "baypulse", name, file, "--simulated-shots", BAY_SHOTS)
                costs.append(spent(words, folder).processor)
            cells = [""] * (len(BAYS) - len(counts)) + [f"{cost:.1f}" for cost in costs]
            rows.append((name, *cells, f"{exponent(counts, costs)[0]:.2f}"))
    table(("", *map(str, BAYS), "power"), rows)
    print()


def memory(longest: int) -> None:
    """Print the peak memory of every command."""
    print(f"peak memory of every command, MB (bound {BOUND / 1e6:.0f}): {CHEAP.stem} without")
    print(f"contents; at most {longest} s of the processor with {MANY:.0e} simulated shots")
    text = CHEAP.read_text(encoding="utf-8")
    before, _, after = text.partition("[contents]\n")
    text = before + after.partition("\n\n")[2] + MORE
    rows = []
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder)
        for name, more in (("bay", ""), ("electronics", ELECTRONICS)):
            (place / f"{name}.toml").write_text(text + more, encoding="utf-8")
        rocket(place, text, 2)
        for saw in ("separated", "no separation"):
            spent(("-m", "baypulse", "shots", "bay.toml", "--shots", "fired.toml", "--add",
                   "--charge", "200 psig", "--saw", saw), folder)  # fmt: skip
        for name, words in (WITHOUT | WITH_MEMBERS).items():
            command = ("-m", "baypulse", name, *words)
            plain = spent(command, folder)
            row = [name, f"{plain.memory / 1e6:.0f}", "", "", "", ""]
            peak = plain.memory
            if name in WITH_MEMBERS:
                many = spent((*command, "--simulated-shots", str(MANY)), folder, longest)
                row[2:5] = [f"{many.memory / 1e6:.0f}", f"{many.processor:.0f}",
                            "stopped: at least" if many.stopped else "whole"]  # fmt: skip
                peak = max(peak, many.memory)
            row[5] = "ABOVE" if peak > BOUND else ""
            rows.append(row)
            print(f"  {' '.join(row)}", file=sys.stderr, flush=True)
    table(("", "by default", f"{MANY:.0e}", "processor s", "", ""), rows)
    print()
