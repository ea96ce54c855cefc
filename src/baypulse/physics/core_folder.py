"""Which core this is, and the folder in which its compiled code is kept."""

from __future__ import annotations

import hashlib
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numba
import platformdirs

if TYPE_CHECKING:
    import sqlite3

config: Any = numba.config  # its attributes are made at run time


def _digest() -> str:
    """Return the digest of all sources of the core."""
    root = Path(__file__).parents[1]
    digest = hashlib.sha256()
    for folder in ("physics", "engine"):
        for source in sorted((root / folder).glob("*.py")):
            digest.update(source.read_bytes())
    digest.update((root / "constants.py").read_bytes())
    return digest.hexdigest()[:16]


CORE = _digest()
"""Which core this is: two that differ may differ in their results.

numba looks only at the age of the file in which a function stands, not at the functions it calls;
an edit or an upgrade elsewhere in the core would leave stale code in use. So the folder of the
compiled code carries this digest.
"""

FOLDER = str(
    Path(config.CACHE_DIR or platformdirs.user_cache_path("baypulse", appauthor=False)) / CORE
)

WHOLE = "integrate_members"
"""The function that all runs go through where it is compiled; until then those of a first study go
through ``integrate_alone``. Almost all of the core is compiled with each."""

LOCK = "compiling.sqlite"
"""Name of the file that is locked by whoever compiles for others what they wait for."""

LONG_LOCK = "compiling-all.sqlite"
"""Name of the file that is locked by whoever compiles all of the core."""

GLANCE = 0.2
"""Seconds from one look at the lock to the next."""

PATIENCE = 120.0
"""Seconds after which nobody is waited for any more: there are disks on which all locks seem
taken."""


def is_kept(driver: str = "integrate_*") -> bool:
    """Say whether the compiled code of a driver of this core is found on disk, or of any."""
    return any(Path(FOLDER).rglob(f"*.{driver}-*.nbi"))


@contextmanager
def alone(name: str = LOCK) -> Iterator[None]:
    """Be the one process that compiles this core; wait for the one that is, until it ends.

    A database's lock, since the system takes it back however its process ends. Where there can be
    none, nobody waits.
    """
    import sqlite3  # a run that finds its code needs none

    begin = time.monotonic()
    try:
        Path(FOLDER).mkdir(parents=True, exist_ok=True)
        lock = sqlite3.connect(Path(FOLDER, name), timeout=GLANCE, isolation_level=None)
    except (OSError, sqlite3.Error):
        yield
        return
    with closing(lock):
        while not _is_ours(lock) and time.monotonic() < begin + PATIENCE:
            pass
        yield


def is_being_compiled() -> bool:
    """Say whether another process compiles all of this core just now."""
    import sqlite3

    with suppress(OSError, sqlite3.Error):
        lock = sqlite3.connect(Path(FOLDER, LONG_LOCK), timeout=0.0, isolation_level=None)
        with closing(lock):
            return not _is_ours(lock)
    return False


def _is_ours(lock: sqlite3.Connection) -> bool:
    """Take a lock, or say after a moment that somebody else has it."""
    import sqlite3

    try:
        lock.execute("BEGIN EXCLUSIVE")
    except sqlite3.Error as error:
        return getattr(error, "sqlite_errorcode", None) != sqlite3.SQLITE_BUSY
    return True
