"""Files that were damaged at random: read, or refused with our own error and the line.

python benchmarks/mutated_files.py                    # 100,000 files, some ten minutes
python benchmarks/mutated_files.py --files 5000       # as CI does
python benchmarks/mutated_files.py --only 4711        # one of them again, with its text

Every shipped case, rocket, file of shots and list of causes is damaged: signs are changed, taken
away or put in, lines are doubled, left out and swapped, values become hostile ones, parts of two
files are joined. A reader may accept what comes out, or refuse it with an error of ours in which
every problem of a key has its line. Anything else counts as broken: another exception, a problem
without its line, more than two seconds.
"""

from __future__ import annotations

import argparse
import collections
import random
import re
import shutil
import signal
import sys
import tempfile
import time
import traceback
import warnings
from collections.abc import Callable
from pathlib import Path

from baypulse.case.casefile import read
from baypulse.case.casefile.rocket_reader import read_rocket
from baypulse.errors import BaypulseError, CaseError
from baypulse.observed.shot_log import read_log
from baypulse.studies.why import cause_file

ROOT = Path(__file__).parents[1]

LONGEST = 2.0
"""Longest time of the processor for one file [s]: others may use the machine."""

SIGNS = "\"'[]{}=,.#\n\t \\-+e0159é\x00\x07\u202e\U0001f680"
"""What is put into a text."""

HOSTILE = (
    '""', '"nan m"', '"inf kg"', '"-0 m"', '"1e400 m"', '"1e-320 m"', '"1e300 mm"', "1e999", "-1",
    "true", "[]", "{}", "[[1]]", '"3 mn"', '"3"', '"mm"', '"1/0 in"', '"1/16 in"', '"25\'"',
    '"9**9**9 m"', '"__import__"', '"\\u0007"', '"' + "x" * 300 + '"', "[" * 600 + "]" * 600,
    "[" * 5000 + "]" * 5000, "{ a = " * 300 + "1" + " }" * 300, "2026-02-30", "07:61:00",
    '{ value = "1e300 mm", spread = "1e300 mm" }', '{ value = "5 mm", spread = "300 %" }',
    '{ value = "5 mm", spread = "0 mm", distribution = "log-normal" }', '{ sample = [] }',
    '{ value = "1 N", spread = "1e300 N", distribution = "log-normal" }', '{ value = 3 }',
    "\"\"\"\nmany\nlines\"\"\"", "0x1F", "1_000", '"1,5 mm"', '"1\'000 g"', "'..'", '"../../etc"',
)  # fmt: skip
"""What a value is replaced by."""


class Source:
    """A file that is damaged, and what reads it."""

    def __init__(self, name: str, text: str, reads: Callable[[Path], object], place: str) -> None:
        self.name, self.text, self.reads, self.place = name, text, reads, place


def sources() -> list[Source]:
    """Return every shipped text with its reader."""
    cases = sorted((ROOT / "cases").glob("*.toml"))
    found = [
        Source(p.stem, p.read_text("utf-8"), read, p.name)
        for p in cases if not p.name.endswith(".shots.toml")
    ]  # fmt: skip
    found += [
        Source(p.stem, p.read_text("utf-8"), read_rocket, f"rockets/{p.name}")
        for p in sorted((ROOT / "cases" / "rockets").glob("*.toml"))
    ]
    bench = read(ROOT / "cases" / "bench-76.toml")
    shots = (
        '[[shots]]\ncharge = "0.5 g"\npins = 3\nsaw = ["shut", "pins whole"]\n\n[[shots]]\n'
        'date = 2026-05-02\ncharge = "1.2 g"\nsaw = ["separated"]\nnote = "windy"\n'
    )
    for ending, text in (
        ("toml", shots),
        ("csv", "charge,pins,saw\n0.5 g,3,shut; pins whole\n1.2 g,3,separated\n"),
    ):
        found.append(Source(f"shots as {ending}", text, lambda p: read_log(p, bench),
                            f"made.shots.{ending}"))  # fmt: skip
    causes = ROOT / "src" / "baypulse" / "studies" / "why" / "causes.toml"
    found.append(Source("causes", causes.read_text("utf-8"), cause_file.read, "causes.toml"))
    return found


def damaged(text: str, others: list[str], draw: random.Random) -> str:
    """Return a text with one to four damages."""
    for _ in range(draw.choice((1, 1, 1, 2, 2, 4))):
        text = draw.choice(DAMAGES)(text, others, draw)
    return text


def _sign(text: str, others: list[str], draw: random.Random) -> str:
    k = draw.randrange(len(text) + 1)
    return text[:k] + draw.choice(SIGNS) + text[k + draw.randrange(2) :]


def _cut(text: str, others: list[str], draw: random.Random) -> str:
    k = draw.randrange(len(text) + 1)
    return text[:k] + text[k + draw.randrange(1, 30) :]


def _line(text: str, others: list[str], draw: random.Random) -> str:
    lines = text.split("\n")
    one, two = draw.randrange(len(lines)), draw.randrange(len(lines))
    kind = draw.randrange(4)
    if kind == 0:
        lines.insert(one, lines[two])
    elif kind == 1:
        del lines[one]
    elif kind == 2:
        lines[one], lines[two] = lines[two], lines[one]
    else:
        lines = lines[:one]
    return "\n".join(lines)


def _value(text: str, others: list[str], draw: random.Random) -> str:
    found = list(re.finditer(r"= *([^\n]+)", text))
    if not found:
        return text
    match = draw.choice(found)
    return text[: match.start(1)] + draw.choice(HOSTILE) + text[match.end(1) :]


def _number(text: str, others: list[str], draw: random.Random) -> str:
    found = list(re.finditer(r"\d+(\.\d+)?", text))
    if not found:
        return text
    match = draw.choice(found)
    value = draw.choice(("0", "-1", "1e9", "1e-9", "1e308", "", "0.0", "99999999999999999999"))
    return text[: match.start()] + value + text[match.end() :]


def _key(text: str, others: list[str], draw: random.Random) -> str:
    found = list(re.finditer(r"^([\w.]+) *=", text, re.MULTILINE))
    if not found:
        return text
    match = draw.choice(found)
    key = draw.choice((match[1] + "x", match[1][:-1], '"' + match[1] + '"', "a." * 50 + "b",
                       "title", "value", "spread", match[1].upper()))  # fmt: skip
    return text[: match.start(1)] + key + text[match.end(1) :]


def _joined(text: str, others: list[str], draw: random.Random) -> str:
    other = draw.choice(others)
    return text[: draw.randrange(len(text) + 1)] + other[draw.randrange(len(other)) :]


DAMAGES = (_sign, _sign, _cut, _line, _line, _value, _value, _value, _number, _key, _joined)
"""Kinds of damage, the more frequent ones more often."""


def _late(number: int, frame: object) -> None:
    raise TimeoutError(f"more than {LONGEST:g} s")


def fault(source: Source, text: str, folder: Path) -> str:
    """Return what is wrong with reading a text, or nothing."""
    place = folder / source.place
    place.write_text(text, "utf-8", errors="surrogatepass", newline="")
    if hasattr(signal, "SIGVTALRM"):
        signal.setitimer(signal.ITIMER_VIRTUAL, LONGEST)
    try:
        source.reads(place)
    except CaseError as error:
        bare = [p for p in error.problems if p.line is None and p.key and "missing" not in p.text]
        return f"without a line: {bare[0].key}: {bare[0].text}" if bare else ""
    except BaypulseError:
        return ""
    except BaseException:
        return traceback.format_exc(limit=-3)
    finally:
        if hasattr(signal, "SIGVTALRM"):
            signal.setitimer(signal.ITIMER_VIRTUAL, 0.0)
    return ""


def main() -> int:
    """Damage files, and say what broke."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--files", type=int, default=100_000)
    parser.add_argument("--only", type=int, default=None)
    chosen = parser.parse_args()
    warnings.simplefilter("ignore")
    if hasattr(signal, "SIGVTALRM"):
        signal.signal(signal.SIGVTALRM, _late)
    every = sources()
    texts = [source.text for source in every]
    broken: dict[str, list[int]] = collections.defaultdict(list)
    began = time.perf_counter()
    numbers = range(chosen.files) if chosen.only is None else [chosen.only]
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name) / "cases"
        shutil.copytree(ROOT / "cases", folder)
        for k in numbers:
            draw = random.Random(k)
            source = draw.choice(every)
            text = damaged(source.text, texts, draw)
            wrong = fault(source, text, folder)
            whole = ROOT / "cases" / source.place
            if whole.exists():
                shutil.copy(whole, folder / source.place)
            if wrong:
                broken[f"{source.name}: {wrong}"].append(k)
            if chosen.only is not None:
                print(text)
    for wrong, some in broken.items():
        print(f"{len(some)} times, first number {some[0]}:\n{wrong}")
    count = sum(map(len, broken.values()))
    print(f"{len(numbers)} damaged files in {time.perf_counter() - began:.0f} s: {count} broken")
    return 1 if count else 0


if __name__ == "__main__":
    sys.exit(main())
