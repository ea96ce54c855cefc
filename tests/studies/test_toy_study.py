"""A study that is added by following DEVELOPERS.md: one folder, and one line outside it."""

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

from baypulse.caution import CAUTION

ROOT = Path(__file__).parents[2]

FOLDER = {
    "__init__.py": '"""A toy: the volume of the tube."""\n',
    "compute.py": '''"""The volume of the tube, and nothing else."""

import math

from baypulse.case.model import Case
from baypulse.studies.toy.result import Toy


def toy(case: Case) -> Toy:
    """Return the volume of the tube."""
    return Toy(case, 0.25 * math.pi * case.bay.bore**2 * case.bay.tube_length)
''',
    "result.py": '''"""What the toy gives."""

from typing import NamedTuple

from baypulse.case.model import Case


class Toy(NamedTuple):
    """The volume of a tube [m^3]."""

    case: Case
    volume: float
''',
    "document.py": '''"""What the toy says."""

from baypulse.case import quantities
from baypulse.show.document import Document, Fact, Facts, Quantity, of_case
from baypulse.studies.toy.result import Toy


def document(toy: Toy) -> Document:
    """Return what the toy says."""
    return of_case(
        toy.case, "toy", about="A toy",
        headline=f"The tube holds {quantities.show(toy.volume, 'volume')}", sentences=(),
        first=Facts("tube", (Fact("volume", "Volume", Quantity(toy.volume, "volume")),)),
        sections=(), unknown="Everything else.", effort="One product.", findings={},
    )
''',
    "command.py": '''"""The command ``toy``."""

import argparse
from typing import Any

from baypulse.commands.case_files import expanded, read_cases
from baypulse.commands.each_case import Study, each_case
from baypulse.commands.options import add_common
from baypulse.studies.toy.compute import toy
from baypulse.studies.toy.document import document


def add(commands: Any) -> None:
    """Add the command to the parser."""
    parser = commands.add_parser("toy", help="a toy")
    parser.add_argument("cases", nargs="+")
    add_common(parser)
    parser.set_defaults(work=_work)


def _work(chosen: argparse.Namespace) -> int:
    files = expanded(chosen.cases)
    return each_case(chosen, read_cases(files), files, Study("-toy", document),
                     lambda case, progress: toy(case))
''',
}
"""The folder of a study, as short as one can be."""


def test_a_study_is_one_folder_and_one_line(tmp_path):
    package = tmp_path / "src" / "baypulse"
    shutil.copytree(ROOT / "src" / "baypulse", package,
                    ignore=shutil.ignore_patterns("__pycache__"))  # fmt: skip
    shutil.copy(ROOT / "pyproject.toml", tmp_path)
    (package / "studies" / "toy").mkdir()
    for name, text in FOLDER.items():
        (package / "studies" / "toy" / name).write_text(text, encoding="utf-8")
    cli = package / "cli.py"
    before = cli.read_text(encoding="utf-8")
    cli.write_text(before.replace('    "sweep",\n', '    "sweep",\n    "toy",\n'), encoding="utf-8")
    assert len(cli.read_text(encoding="utf-8").splitlines()) == len(before.splitlines()) + 1

    environment = os.environ | {"PYTHONPATH": str(tmp_path / "src")}
    case = ROOT / "cases" / "bench-76.toml"
    told = subprocess.run(
        [sys.executable, "-m", "baypulse", "toy", str(case), "--out", str(tmp_path / "reports")],
        env=environment, cwd=tmp_path, capture_output=True, text=True, check=True,
    ).stdout  # fmt: skip
    # 76 mm wide and 320 mm long
    assert "The tube holds 1.45 L" in told
    assert " ".join(CAUTION.split()) in " ".join(told.split())
    report = tmp_path / "reports" / "bench-76-toy"
    numbers = json.loads((report / "numbers.json").read_text("utf-8"))
    assert abs(numbers["tables"]["tube"]["volume_m3"] - 1.4517e-3) < 1e-6
    assert "The tube holds" in (report / "index.html").read_text("utf-8")
    contract = [
        sys.executable,
        "-c",
        "from importlinter.cli import lint_imports_command as lint; lint()",
    ]
    subprocess.run(contract, env=environment, cwd=tmp_path, capture_output=True, check=True)
