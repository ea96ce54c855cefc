"""Compiled code on disk: what is damaged is not used, and a full disk stops nothing."""

from __future__ import annotations

import errno
import pickle
import warnings
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from baypulse.physics import kept_code
from baypulse.physics.kept_code import CheckedFile, CodeWarning


@pytest.fixture
def made(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Callable[[], CheckedFile]:
    monkeypatch.setattr(kept_code, "_SAID", set())

    def opened() -> CheckedFile:
        held = CheckedFile(cache_path=str(tmp_path), filename_base="code", source_stamp=(1.0, 2))
        held.folder = str(tmp_path)
        return held

    opened().save("key", {"code": b"\x90" * 1000})
    return opened


def test_what_was_kept_comes_back(made: Callable[[], CheckedFile]) -> None:
    assert made().load("key") == {"code": b"\x90" * 1000}
    assert made().load("another key") is None


def half(data: bytes) -> bytes:
    return data[: len(data) // 2]


@pytest.mark.parametrize("ending", ["nbi", "nbc"])
@pytest.mark.parametrize("damage", [half, lambda data: b"", lambda data: b"\0" * 200])
def test_damaged_code_is_never_used_and_made_anew(
    ending: str, damage: Callable[[bytes], bytes], made: Callable[[], CheckedFile], tmp_path: Path
) -> None:
    (file,) = tmp_path.glob(f"*.{ending}")
    file.write_bytes(damage(file.read_bytes()))
    with pytest.warns(CodeWarning, match="is damaged and is made anew"):
        held = made().load("key")
    assert held is None
    made().save("key", {"code": b"\x91"})
    assert made().load("key") == {"code": b"\x91"}


def test_one_flipped_bit_anywhere_is_never_taken_for_code(
    made: Callable[[], CheckedFile], tmp_path: Path
) -> None:
    made().save("key b", {"code": b"of another function"})
    good = {"code": b"\x90" * 1000}
    for file in tmp_path.glob("*.nb[ic]"):
        whole = file.read_bytes()
        for k in range(0, len(whole), 7):
            file.write_bytes(whole[:k] + bytes([whole[k] ^ 4]) + whole[k + 1 :])
            with warnings.catch_warnings():
                warnings.simplefilter("ignore", CodeWarning)
                assert made().load("key") in (None, good)
        file.write_bytes(whole)


def test_code_of_numba_alone_is_not_trusted(
    made: Callable[[], CheckedFile], tmp_path: Path
) -> None:
    (file,) = tmp_path.glob("*.nbc")
    file.write_bytes(pickle.dumps({"code": b"from elsewhere"}))
    with pytest.warns(CodeWarning):
        assert made().load("key") is None


def test_a_full_disk_is_named_with_its_folder_and_nothing_stops(
    made: Callable[[], CheckedFile], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(self: Any, path: str) -> Any:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(CheckedFile, "_open_for_write", full)
    with pytest.warns(CodeWarning) as told:
        made().save("more", {})
        made().save("more still", {})
    assert len(told) == 1
    assert f"cannot be kept in {tmp_path}: No space left on device" in str(told[0].message)
