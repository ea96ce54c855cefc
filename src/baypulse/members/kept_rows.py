"""Members that were run before: their rows are kept on disk, beside the code that made them.

A row depends on nothing but the core, the member's record, and how it is run, so all of that is its
key. A window, a plan and an explanation of one case run the same members with the same charges;
after the first of them, the others only look them up. Whatever is wrong with what is kept, members
are run as if nothing were.
"""

from __future__ import annotations

import hashlib
import threading
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import sqlite3

    import numpy as np

    from baypulse.members.outcomes import Runner

FILE = "rows.sqlite"
"""File of the rows, in the folder of the compiled core: another core begins another."""

MOST_ROWS = 400_000
"""Rows beyond which the file begins anew, about 100 MB."""

PATIENCE = 1.0
"""How long another process may have the file to itself [s] before members are run without it."""

_DIGEST = 16
"""Bytes of a key, and of what says that a row is as it was written."""


class KeptRows:
    """Rows of members in a file that several threads and processes may use at once.

    Parameters
    ----------
    path : pathlib.Path
        The file; made if missing, and made anew if it is damaged.

    Attributes
    ----------
    found : int
        Members that were not run, since their rows were there.
    """

    def __init__(self, path: Path) -> None:
        self.found = 0
        self._path = path
        self._lock = threading.Lock()
        self._file: sqlite3.Connection | None = _opened(path)

    def run_members(
        self, records: np.ndarray, end_time: float, tolerance: float, *, until: int, run: Runner
    ) -> np.ndarray:
        """Run members of which there is no row yet, and return the rows of all.

        Parameters
        ----------
        records : ndarray, shape (n,)
            Of the members.
        end_time, tolerance : float
            As for :func:`baypulse.engine.ensemble.run_members`.
        until : int
            How far they are run: a member of :class:`baypulse.engine.member.Until`.
        run : callable
            What runs them so far, from records, end time and tolerance.
        """
        import numpy as np

        from baypulse.engine.ensemble import COLUMNS

        keys = _keys(records, end_time, tolerance, until)
        rows = np.empty((records.shape[0], len(COLUMNS)))
        there = self._looked_up(keys, rows)
        rows[~there] = run(records[~there], end_time, tolerance)
        self._keep([key for key, known in zip(keys, there, strict=True) if not known], rows[~there])
        return rows

    def _looked_up(self, keys: list[bytes], rows: np.ndarray) -> np.ndarray:
        """Fill in the rows that are kept, and return which, shape (n,)."""
        import numpy as np

        asked = f"SELECT key, row FROM kept WHERE key IN ({','.join('?' * len(keys))})"
        kept = {key: row for key, row in self._told(asked, keys) if _whole(key, row)}
        there = np.array([key in kept for key in keys], dtype=np.bool_)
        for place in np.flatnonzero(there):
            rows[place] = np.frombuffer(kept[keys[place]][:-_DIGEST])
        self.found += len(kept)
        return there

    def _keep(self, keys: list[bytes], rows: np.ndarray) -> None:
        texts = (row.tobytes() for row in rows)
        entries = [(key, text + _seal(key, text)) for key, text in zip(keys, texts, strict=True)]
        self._told("INSERT OR REPLACE INTO kept VALUES (?, ?)", entries, many=True)

    def _told(self, words: str, values: Any, *, many: bool = False) -> list[tuple[bytes, bytes]]:
        """Ask the file, or tell it; nothing comes of it where that cannot be done."""
        import sqlite3

        with self._lock:
            if self._file is None:
                return []
            try:
                with self._file:
                    if many:
                        self._file.executemany(words, values)
                        return []
                    return self._file.execute(words, values).fetchall()
            except sqlite3.OperationalError:  # locked, or the disk is full
                return []
            except sqlite3.DatabaseError:  # damaged
                self._file.close()
                self._file = None
                with suppress(OSError):
                    self._path.unlink()
                return []


def _opened(path: Path) -> sqlite3.Connection | None:
    """Return the file, or None where there can be none."""
    import sqlite3

    file = None
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        file = sqlite3.connect(path, timeout=PATIENCE, check_same_thread=False)
        # what a broken machine loses is run again
        file.execute("PRAGMA synchronous = OFF")
        file.execute("CREATE TABLE IF NOT EXISTS kept (key BLOB UNIQUE, row BLOB)")
        (last,) = file.execute("SELECT max(rowid) FROM kept").fetchone()
        if last is not None and last > MOST_ROWS:
            with file:
                file.execute("DELETE FROM kept")
        return file
    except (OSError, sqlite3.OperationalError):
        pass
    except sqlite3.DatabaseError:
        with suppress(OSError):
            path.unlink()
    if file is not None:
        file.close()
    return None


def _keys(records: np.ndarray, end_time: float, tolerance: float, until: int) -> list[bytes]:
    """Return what decides each row, as a digest."""
    import numba

    from baypulse.physics.core_folder import CORE

    stem = hashlib.blake2b(
        f"{CORE} {numba.__version__} {end_time!r} {tolerance!r} {until:d}".encode(),
        digest_size=_DIGEST,
    )
    found = []
    for record in records:
        digest = stem.copy()
        digest.update(record.tobytes())
        found.append(digest.digest())
    return found


def _seal(key: bytes, row: bytes) -> bytes:
    return hashlib.blake2b(row, digest_size=_DIGEST, key=key).digest()


def _whole(key: bytes, row: bytes) -> bool:
    """Return whether a row is as it was written."""
    return row[-_DIGEST:] == _seal(key, row[:-_DIGEST])


_keeping = False
_kept: KeptRows | None = None
_begun = threading.Lock()


def keep() -> None:
    """Keep rows from now on, for as long as the process lives: it runs a command of somebody's."""
    global _keeping
    _keeping = True


def kept_rows() -> KeptRows | None:
    """Return where rows are kept; None where they are not."""
    global _kept
    with _begun:
        if _keeping and _kept is None:
            from baypulse.physics.core_folder import FOLDER

            _kept = KeptRows(Path(FOLDER, FILE))
        return _kept
