"""Make the reports that the repository shows, or compare them with fresh ones.

``python benchmarks/reports.py`` makes every shipped study anew and keeps of each what a visitor
wants to see. ``--check`` makes them elsewhere, compares, and holds the sizes. ``--only window``
takes those whose command holds a word, ``--quick`` leaves out those that take minutes.
"""

from __future__ import annotations

import argparse
import csv
import json
import math
import re
import shlex
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from baypulse.caution import CAUTION

ROOT = Path(__file__).resolve().parents[1]

KEPT = ROOT / "reports"
"""What the repository shows."""

LARGEST = 200_000
"""Size of a table [bytes] above which the repository does not keep it."""

ALL = 6_000_000
"""Size of everything that is kept [bytes]."""

STUDIES = (
    *(f"run {case.relative_to(ROOT)}" for case in sorted((ROOT / "cases").glob("*.toml"))),
    "scatter cases/main-98.toml",
    "window cases/main-98.toml",
    "cord cases/main-98.toml",
    "ascent cases/main-98.toml --log cases/logs/saffron-plover.csv",
    "leakdown cases/main-98.toml --from 3psig --to 1.5psig --time 2.4s",
    "plan cases/main-98.toml",
    "joints cases/rockets/saffron-plover.toml",
    "vents cases/high-76.toml",
    "altimeter cases/many-152.toml",
    "aloft cases/thin-54.toml --altitude 9km",
    "sweep cases/main-98.toml --over powder.mass=1g..4g --over pins.count=1..8 "
    "--simulated-shots 256",
    "why cases/bench-76.toml --saw 'no separation' --saw 'pins whole' --saw pop",
    "shots cases/bench-76.toml --shots cases/logs/bench-76.shots.toml",
    "fit cases/bench-76.toml --trace cases/logs/bench-76-gauge.csv",
    "fit cases/main-98.toml --acceleration cases/logs/main-98-nose.csv --section nose",
)
"""The arguments of every study that is shown; the page of ``pins`` alone weighs 750 kB."""

SLOW = ("scatter", "aloft", "sweep")
"""Studies that take a minute or more each."""

FIGURES = (
    "bench-76/figures/course.png", "main-98-window/figures/window.png",
    "high-76-vents/figures/window.png", "bench-76-why/figures/odds.png",
    "main-98-fit/figures/record.png",
)  # fmt: skip
"""Figures that the README shows; all others stand in the pages."""

MADE_ON = ("versions", "sha256")
"""Parts of the numbers that tell what made them."""

NEAR = 1e-6
"""Relative difference of two numbers that another processor's last digits may make."""

DIGITS = re.compile(r"\d[\d.,e+-]*")
"""A number within a sentence: the same number may be rounded to another last digit."""


def make(studies: list[str], place: Path) -> None:
    """Run studies, and leave in a folder what the repository keeps of their reports."""
    with tempfile.TemporaryDirectory() as whole:
        for study in studies:
            done = subprocess.run(
                [sys.executable, "-m", "baypulse", *shlex.split(study), "--out", whole], cwd=ROOT,
                capture_output=True, text=True, check=False,
            )  # fmt: skip
            print(f"{study}: {'done' if done.returncode == 0 else done.stderr.strip()}", flush=True)
            if done.returncode:
                raise SystemExit(1)
            if " ".join(CAUTION.split()) not in " ".join(done.stdout.split()):
                raise SystemExit(f"{study}: the caution is missing")
        for file in sorted(Path(whole).rglob("*")):
            name = file.relative_to(whole).as_posix()
            if file.is_file() and keeps(name, file.stat().st_size):
                (place / name).parent.mkdir(parents=True, exist_ok=True)
                shutil.copyfile(file, place / name)


def keeps(name: str, size: int) -> bool:
    """Say whether the repository keeps a file: pages, small tables, the README's figures."""
    if "/figures/" in name or "/simulated-shots/" in name:
        return name in FIGURES
    return name.endswith((".html", ".pdf")) or (
        name.endswith((".json", ".csv")) and size <= LARGEST
    )


def differences(old: Any, new: Any, path: str = "") -> Iterator[str]:
    """Yield where two JSON values differ, up to what depends on the machine."""
    if isinstance(old, dict) and isinstance(new, dict):
        for key in [*old, *(key for key in new if key not in old)]:
            if key not in MADE_ON:
                yield from differences(old.get(key), new.get(key), f"{path}/{key}")
    elif isinstance(old, list) and isinstance(new, list) and len(old) == len(new):
        for k, (one, other) in enumerate(zip(old, new, strict=True)):
            yield from differences(one, other, f"{path}/{k}")
    elif isinstance(old, float) and isinstance(new, float):
        if not math.isclose(old, new, rel_tol=NEAR):
            yield f"{path}: {old} was kept, {new} was made"
    elif isinstance(old, str) and isinstance(new, str):
        if DIGITS.sub("#", old) != DIGITS.sub("#", new):
            yield f"{path}: {old!r} was kept, {new!r} was made"
    elif old != new:
        yield f"{path}: {old} was kept, {new} was made"


def table(path: Path) -> list[list[float | str]]:
    """Return the cells of a table, as numbers where they are."""

    def cell(text: str) -> float | str:
        try:
            return float(text)
        except ValueError:
            return text

    with path.open(encoding="utf-8", newline="") as stream:
        return [[cell(text) for text in row] for row in csv.reader(stream)]


def compare(place: Path, *, whole: bool) -> list[str]:
    """Return what is wrong with the kept reports, beside those that were made in a folder."""
    found = []
    names = {path.relative_to(place).as_posix() for path in place.rglob("*") if path.is_file()}
    kept = {path.relative_to(KEPT).as_posix() for path in KEPT.rglob("*") if path.is_file()}
    # the page of recorded shots is made, and checked, by validation.py
    kept = {name for name in kept if not name.startswith("validation/")}
    found += [f"{name}: is made, and not kept" for name in sorted(names - kept)]
    if whole:
        found += [f"{name}: is kept, and not made" for name in sorted(kept - names)]
        size = sum(path.stat().st_size for path in KEPT.rglob("*") if path.is_file())
        found += [f"{KEPT.name}: {size} bytes, more than {ALL}"] * (size > ALL)
    for name in sorted(names & kept):
        if name.endswith(".json"):
            old, new = (json.loads((at / name).read_text("utf-8")) for at in (KEPT, place))
            found += [f"{name}{each}" for each in differences(old, new)]
        elif name.endswith(".csv"):
            old, new = (table(at / name) for at in (KEPT, place))
            found += [f"{name}{each}" for each in differences(old, new)]
    return found


def main() -> int:
    """Make or compare."""
    parser = argparse.ArgumentParser(description=__doc__, allow_abbrev=False)
    parser.add_argument("--check", action="store_true", help="compare, and change nothing")
    parser.add_argument("--only", default="", metavar="WORD", help="studies whose command holds it")
    parser.add_argument("--quick", action="store_true", help="without those that take minutes")
    chosen = parser.parse_args()
    studies = [
        study for study in STUDIES
        if chosen.only in study and not (chosen.quick and study.startswith(SLOW))
    ]  # fmt: skip
    # a first run, in plain Python, has other powers: what is off by rounding is off otherwise
    subprocess.run([sys.executable, "-m", "baypulse.compile"], check=True)
    with tempfile.TemporaryDirectory() as made:
        place = Path(made)
        make(studies, place)
        if chosen.check:
            found = compare(place, whole=len(studies) == len(STUDIES))
            print("\n".join(found) or f"{len(studies)} reports are as they are kept")
            return 1 if found else 0
        for folder in sorted(place.iterdir()):
            shutil.rmtree(KEPT / folder.name, ignore_errors=True)
            shutil.copytree(folder, KEPT / folder.name)
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
