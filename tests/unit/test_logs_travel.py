"""Positions and velocities from a video; units by definition (an inch is 25.4 mm)."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from baypulse.errors import LogError
from baypulse.logs.travel import read_travel


def file(tmp_path: Path, text: str) -> Path:
    path = tmp_path / "video.csv"
    path.write_text(text, "utf-8")
    return path


@pytest.mark.parametrize(
    ("head", "kind", "factor"),
    [
        ("time (s),gap (mm)", "position", 1e-3),
        ("t [s],x_in", "position", 0.0254),
        ("time (s),speed (ft/s)", "velocity", 0.3048),
        ("time (s),velocity m/s", "velocity", 1.0),
    ],
)
def test_kind_and_unit_are_read_from_the_header(
    head: str, kind: str, factor: float, tmp_path: Path
) -> None:
    read = read_travel(file(tmp_path, f"{head}\n0.00,0\n0.01,10\n0.02,35\n0.03,70\n"))
    assert read.kind == kind
    np.testing.assert_allclose(read.values, factor * np.array([0.0, 10.0, 35.0, 70.0]))
    np.testing.assert_allclose(read.time, [0.0, 0.01, 0.02, 0.03])


def test_asked_column_with_a_unit(tmp_path: Path) -> None:
    path = file(tmp_path, "time (s),a,b\n0,0,5\n0.01,1,6\n0.02,2,7\n")
    read = read_travel(path, column="b [cm]")
    np.testing.assert_allclose(read.values, [0.05, 0.06, 0.07])


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("time (s),gap\n0,0\n1,1\n2,2\n", "names a position or a velocity"),
        ("time (s),gap (mm),x (mm)\n0,0,0\n1,1,1\n2,2,2\n", "more than one column"),
        ("time (s),gap (mm)\n0,0\n1,\n2,\n", "at least 3"),
        ("time (s),gap (mm)\n0,0\n1,1\n1,2\n3,4\n", "does not go on"),
    ],
)
def test_what_is_wrong_is_said(text: str, said: str, tmp_path: Path) -> None:
    with pytest.raises(LogError) as caught:
        read_travel(file(tmp_path, text))
    assert said in str(caught.value)
