"""A file on disk that is whole or not there, whatever stops the program."""

from __future__ import annotations

import os
import secrets
from contextlib import suppress
from pathlib import Path
from typing import Any


def write_whole(place: Path, data: Any, begin: str, end: str) -> None:
    """Write a file under another name and give it its own when all of it is on the disk.

    Parameters
    ----------
    place : pathlib.Path
        The file; its rights stay if it is there.
    data : bytes or buffer
        All that it shall hold.
    begin, end : str
        Of the other name, which is in the same folder.
    """
    # a name of its own: should two programs write the same file, neither takes the other's half
    spare = place.with_name(f"{begin}{place.name}.{secrets.token_hex(4)}{end}")
    try:
        with spare.open("xb") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
        if place.exists():
            spare.chmod(place.stat().st_mode & 0o777)
        spare.replace(place)
    except BaseException:
        with suppress(OSError):
            spare.unlink()
        raise
