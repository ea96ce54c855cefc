"""Compiled code on disk that is checked before it is used, and made anew where it is damaged."""

from __future__ import annotations

import hashlib
import pickle
import warnings
from contextlib import suppress
from pathlib import Path
from typing import Any

from numba.core import caching

DIGEST = hashlib.sha256
"""What the bytes of a file are checked by."""


class CodeWarning(UserWarning):
    """Compiled code that could not be read or kept."""


class CheckedFile(caching.IndexDataCacheFile):
    """The files of one compiled function; each holds its digest before its bytes.

    numba itself takes whatever lies in its files: half a file ends in a traceback, and one that
    was changed on the disk in wrong numbers or a crash.

    Attributes
    ----------
    folder : str
        That holds the code of the whole core.
    """

    folder = ""

    def _load_index(self) -> dict[Any, str]:
        try:
            found: dict[Any, str] = super()._load_index()
        except Exception:
            self._say_damaged()
            return {}
        return found

    def load(self, key: Any) -> Any:
        """Return what is kept for a key; None where nothing is, or where it is damaged."""
        # what damaged bytes raise depends on where they are damaged
        with suppress(Exception):
            found = super().load(key)
            if found is None:
                return None
            # an index that was changed may lead to the code of another key
            kept_for, data = found
            if kept_for == key:
                return data
        self._say_damaged()
        return None

    def save(self, key: Any, data: Any) -> None:
        """Keep something; where it cannot be kept, the next start compiles again."""
        try:
            super().save(key, (key, data))
        except OSError as error:
            reason = error.strerror or str(error)
            say_once(
                f"compiled code cannot be kept in {self.folder}: {reason}; it is compiled again at "
                "every start until there is room"
            )

    def _load_data(self, name: str) -> Any:
        whole = Path(self._data_path(name)).read_bytes()
        size = DIGEST().digest_size
        digest, data = whole[:size], whole[size:]
        if DIGEST(data).digest() != digest:
            raise ValueError("damaged")
        return pickle.loads(data)

    def _save_data(self, name: str, data: Any) -> None:
        written = self._dump(data)
        with self._open_for_write(self._data_path(name)) as stream:
            stream.write(DIGEST(written).digest() + written)

    def _say_damaged(self) -> None:
        say_once(f"compiled code in {self.folder} is damaged and is made anew, once")


class CheckedCode(caching.FunctionCache):
    """The code of one function on disk.

    numba makes its compiler ready before it looks there, which takes longer than all the rest of a
    warm start; what lies there asks for none, and where nothing does the compiler makes itself
    ready.
    """

    def load_overload(self, sig: Any, target_context: Any) -> Any:
        """Return the code for types of arguments; None where it has to be compiled."""
        with self._guard_against_spurious_io_errors():
            return self._load_overload(sig, target_context)


def say_once(text: str) -> None:
    """Warn of compiled code; every function meets the same trouble, and one sentence is enough."""
    if text not in _SAID:
        _SAID.add(text)
        warnings.warn(text, CodeWarning, stacklevel=2)


_SAID: set[str] = set()


def check(dispatcher: Any, folder: str) -> None:
    """Let a function that numba has compiled keep its code in checked files of a folder.

    Parameters
    ----------
    dispatcher : numba dispatcher
        Of the function; keeps nothing yet.
    folder : str
        Where the code has to be; numba goes elsewhere if it may not write there, where code of
        another core may lie, and then nothing is kept.
    """
    held = dispatcher._cache = CheckedCode(dispatcher.py_func)
    plain = held._cache_file
    if not Path(plain._cache_path).is_relative_to(folder):
        held.disable()
        say_once(
            f"compiled code cannot be kept in {folder}; it is compiled at every start until that "
            "folder can be written"
        )
        return
    held._cache_file = CheckedFile(
        cache_path=plain._cache_path,
        filename_base=held._impl.filename_base,
        source_stamp=plain._source_stamp,
    )
    held._cache_file.folder = folder
