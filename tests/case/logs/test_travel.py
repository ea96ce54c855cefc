"""Positions and velocities from a video; units by definition (an inch is 25.4 mm)."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from baypulse.case.logs.travel import read_acceleration, read_travel
from baypulse.errors import LogError


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


@pytest.mark.parametrize(
    ("head", "factor"),
    [
        ("time (s),accel (g)", 9.80665),
        ("t_s,a_axial_mps2,a_lateral_mps2", 1.0),
        ("time (s),Acceleration Z [m/s^2]", 1.0),
        ("time_s,accel_long_m_s2", 1.0),
        ("time (s),acc (mg)", 9.80665e-3),
        ("time (s),acceleration (ft/s^2)", 0.3048),
    ],
)
def test_acceleration_and_its_unit_are_read_from_the_header(
    head: str, factor: float, tmp_path: Path
) -> None:
    # standard gravity is 9.80665 m/s^2 by definition (ISO 80000-3)
    columns = head.count(",")
    rows = "\n".join(f"0.0{k},{','.join([str(k)] * columns)}" for k in range(4))
    read = read_acceleration(file(tmp_path, f"{head}\n{rows}\n"))
    assert read.kind == "acceleration"
    np.testing.assert_allclose(read.values, factor * np.arange(4.0))


@pytest.mark.parametrize(
    ("head", "said"),
    [
        ("time (s),accel x (g),accel y (g)", "more than one column is an acceleration"),
        ("time (s),accel", "no header names an acceleration with its unit"),
        ("time (s),gap (mm)", '--acceleration-column "gap (mm) [g]"'),
    ],
)
def test_what_is_wrong_with_an_acceleration_is_said(head: str, said: str, tmp_path: Path) -> None:
    columns = head.count(",")
    rows = "\n".join(f"0.0{k},{','.join([str(k)] * columns)}" for k in range(4))
    with pytest.raises(LogError) as caught:
        read_acceleration(file(tmp_path, f"{head}\n{rows}\n"))
    assert said in str(caught.value)


def test_an_asked_column_of_acceleration_needs_a_unit(tmp_path: Path) -> None:
    path = file(tmp_path, "time (s),x,y\n0,0,5\n0.01,1,6\n0.02,2,7\n")
    np.testing.assert_allclose(
        read_acceleration(path, column="y [g]").values, 9.80665 * np.array([5.0, 6.0, 7.0])
    )
    with pytest.raises(LogError, match="names no unit of an acceleration"):
        read_acceleration(path, column="y")
