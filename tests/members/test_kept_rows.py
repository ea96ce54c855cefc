"""Rows of members that were run before: the same rows, looked up, and nothing lost by damage."""

from __future__ import annotations

import sqlite3
import subprocess
import sys
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from baypulse.case.casefile import reads
from baypulse.case.model import Case
from baypulse.engine import ensemble
from baypulse.engine.ensemble import Until
from baypulse.members import draws, kept_rows
from baypulse.members.ensemble import Ensemble, run_values
from baypulse.members.kept_rows import KeptRows
from quick_bays import QUICK, STRAND

MEMBERS = 12

END, TOLERANCE = 0.3, 2e-5


@pytest.fixture(scope="module")
def records() -> np.ndarray:
    case = reads(QUICK)
    plan = Ensemble(case, MEMBERS)
    found, _ = draws.records(case, draws.values(case, plan.factors, plan.points(0)), MEMBERS)
    return found


@pytest.fixture(scope="module")
def rows(records: np.ndarray) -> np.ndarray:
    return ensemble.run_members(records, END, TOLERANCE)


@pytest.fixture
def ran(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """Return a list that grows by how many members were run at each call."""
    seen: list[int] = []
    run = ensemble.run_members

    def counted(records: np.ndarray, *how: Any, **named: Any) -> np.ndarray:
        seen.append(records.shape[0])
        return run(records, *how, **named)

    monkeypatch.setattr(ensemble, "run_members", counted)
    return seen


def looked_up(
    kept: KeptRows, records: np.ndarray, end_time: float, tolerance: float,
    until: Until = Until.END,
) -> np.ndarray:  # fmt: skip
    run = partial(ensemble.run_members, until=until)
    return kept.run_members(records, end_time, tolerance, until=until, run=run)


def test_members_that_were_run_are_looked_up(
    tmp_path: Path, records: np.ndarray, rows: np.ndarray, ran: list[int]
) -> None:
    path = tmp_path / kept_rows.FILE
    first = KeptRows(path)
    some = looked_up(first, records[3:7], END, TOLERANCE)
    every = looked_up(first, records[::-1], END, TOLERANCE)
    # another process finds them too
    second = KeptRows(path)
    again = looked_up(second, records, END, TOLERANCE)
    assert ran == [4, MEMBERS - 4, 0]
    assert second.found == MEMBERS
    np.testing.assert_array_equal(some, rows[3:7])
    np.testing.assert_array_equal(every, rows[::-1])
    np.testing.assert_array_equal(again, rows)


def test_whatever_decides_a_row_is_part_of_its_key(
    tmp_path: Path, records: np.ndarray, ran: list[int], monkeypatch: pytest.MonkeyPatch
) -> None:
    kept = KeptRows(tmp_path / kept_rows.FILE)
    one = records[:1].copy()
    looked_up(kept, one, END, TOLERANCE)
    looked_up(kept, one, np.nextafter(END, 1.0), TOLERANCE)
    looked_up(kept, one, END, np.nextafter(TOLERANCE, 1.0))
    looked_up(kept, one, END, TOLERANCE, Until.OPEN)
    one["charge_mass"] = np.nextafter(one["charge_mass"], 1.0)
    looked_up(kept, one, END, TOLERANCE)
    monkeypatch.setattr("baypulse.physics.core_folder.CORE", "another core")
    looked_up(kept, one, END, TOLERANCE)
    monkeypatch.setattr("numba.__version__", "another numba")
    looked_up(kept, one, END, TOLERANCE)
    assert ran == [1] * 7


def test_a_row_that_was_changed_on_disk_is_made_anew(
    tmp_path: Path, records: np.ndarray, rows: np.ndarray, ran: list[int]
) -> None:
    path = tmp_path / kept_rows.FILE
    looked_up(KeptRows(path), records, END, TOLERANCE)
    with sqlite3.connect(path) as file:
        key, row = file.execute("SELECT key, row FROM kept LIMIT 1").fetchone()
        other, _ = file.execute("SELECT key, row FROM kept LIMIT 1 OFFSET 1").fetchone()
        file.execute("UPDATE kept SET row = ? WHERE key = ?", (row[:40] + b"?" + row[41:], key))
        # a whole row under the key of another
        file.execute("UPDATE kept SET row = ? WHERE key = ?", (row, other))
    found = looked_up(KeptRows(path), records, END, TOLERANCE)
    assert ran == [MEMBERS, 2]
    np.testing.assert_array_equal(found, rows)
    looked_up(KeptRows(path), records, END, TOLERANCE)
    assert ran == [MEMBERS, 2, 0]


def test_a_damaged_file_is_made_anew(
    tmp_path: Path, records: np.ndarray, rows: np.ndarray, ran: list[int]
) -> None:
    path = tmp_path / kept_rows.FILE
    looked_up(KeptRows(path), records, END, TOLERANCE)
    path.write_bytes(b"no database, whatever its name says " * 100)
    np.testing.assert_array_equal(looked_up(KeptRows(path), records, END, TOLERANCE), rows)
    np.testing.assert_array_equal(looked_up(KeptRows(path), records, END, TOLERANCE), rows)
    np.testing.assert_array_equal(looked_up(KeptRows(path), records, END, TOLERANCE), rows)
    assert ran == [MEMBERS, MEMBERS, MEMBERS, 0]


def test_a_file_that_is_damaged_while_it_is_open_stops_nothing(
    tmp_path: Path, records: np.ndarray, rows: np.ndarray
) -> None:
    path = tmp_path / kept_rows.FILE
    kept = KeptRows(path)
    looked_up(kept, records, END, TOLERANCE)
    whole = path.read_bytes()
    path.write_bytes(whole[:100] + b"\xff" * (len(whole) - 100))
    for _ in range(2):
        np.testing.assert_array_equal(looked_up(kept, records, END, TOLERANCE), rows)


def test_a_file_that_another_holds_is_gone_without(
    tmp_path: Path, records: np.ndarray, rows: np.ndarray, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(kept_rows, "PATIENCE", 0.01)
    path = tmp_path / kept_rows.FILE
    kept = KeptRows(path)
    other = sqlite3.connect(path)
    other.execute("BEGIN EXCLUSIVE")
    np.testing.assert_array_equal(looked_up(kept, records, END, TOLERANCE), rows)
    np.testing.assert_array_equal(looked_up(KeptRows(path), records, END, TOLERANCE), rows)
    other.close()


def test_no_members_are_no_rows(tmp_path: Path, records: np.ndarray) -> None:
    found = looked_up(KeptRows(tmp_path / kept_rows.FILE), records[:0], END, TOLERANCE)
    assert found.shape == (0, len(ensemble.COLUMNS))


def test_where_nothing_can_be_written_members_are_run(
    tmp_path: Path, records: np.ndarray, rows: np.ndarray
) -> None:
    (tmp_path / "file").write_text("not a folder", encoding="utf-8")
    kept = KeptRows(tmp_path / "file" / kept_rows.FILE)
    np.testing.assert_array_equal(looked_up(kept, records, END, TOLERANCE), rows)


def test_a_file_with_too_many_rows_begins_anew(
    tmp_path: Path, records: np.ndarray, monkeypatch: pytest.MonkeyPatch, ran: list[int]
) -> None:
    monkeypatch.setattr(kept_rows, "MOST_ROWS", MEMBERS - 1)
    path = tmp_path / kept_rows.FILE
    looked_up(KeptRows(path), records, END, TOLERANCE)
    looked_up(KeptRows(path), records, END, TOLERANCE)
    assert ran == [MEMBERS, MEMBERS]


def counts(case: Case) -> list[np.ndarray]:
    plan = Ensemble(case, 100)
    found = run_values(
        case, plan.points(0), lambda part: draws.values(case, plan.factors, part), workers=2
    )
    return [found.rows, found.verdict, found.contents, found.exceeded]


def test_counted_members_are_the_same_whether_or_not_rows_are_kept(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    case = reads(QUICK)
    plain = counts(case)
    kept = KeptRows(tmp_path / kept_rows.FILE)
    monkeypatch.setattr("baypulse.members.ensemble.kept_rows", lambda: kept)
    for k in range(2):
        for found, one in zip(counts(case), plain, strict=True):
            np.testing.assert_array_equal(found, one)
        assert kept.found == 100 * k


def test_only_a_program_keeps_rows(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert kept_rows.kept_rows() is None
    (tmp_path / "bay.toml").write_text(STRAND, encoding="utf-8")
    typed = [sys.executable, "-m", "baypulse", "pins", "bay.toml", "--counts", "2,3"]
    typed += ["--charges", "0.4 g..0.6 g", "--simulated-shots", "32"]
    said = [
        subprocess.run(typed, cwd=tmp_path, capture_output=True, text=True, check=True).stdout
        for _ in range(2)
    ]
    assert said[0] == said[1]
    from baypulse.physics.core_folder import FOLDER

    with sqlite3.connect(Path(FOLDER, kept_rows.FILE)) as file:
        assert file.execute("SELECT count(*) FROM kept").fetchone()[0] > 128
