"""A new file beside the old one: where it may go, and how it gets there whole."""

from __future__ import annotations

import os
import secrets
import sys
from collections.abc import Callable
from pathlib import Path

from baypulse.errors import ModelError, cause
from baypulse.terminal import Refused, say


def place(given: str | None, source: str) -> Path | None:
    """Return where a new case goes, or refuse a place that is taken or cannot hold it.

    Parameters
    ----------
    given : str or None
        What ``--write`` was given.
    source : str
        The case that it is made from.

    Raises
    ------
    Refused
        With a sentence.
    """
    if given is None:
        return None
    new = Path(given)
    if not Path(source).is_file():
        raise Refused(f"--write: {source} is a bay of a rocket file; name the bay's own case file")
    if new.suffix != ".toml":
        raise Refused(f'--write: "{given}" is no name of a case file; let it end in .toml')
    check_free(new, "--write")
    return new


def check_free(new: Path, option: str) -> None:
    """Refuse a place that is taken or has no folder.

    Parameters
    ----------
    new : pathlib.Path
        Of the new file.
    option : str
        That named it.

    Raises
    ------
    Refused
        With a sentence.
    """
    if os.path.lexists(new):
        raise Refused(f"{option}: {new} is there already and is not replaced; choose another name")
    if not new.parent.is_dir():
        raise Refused(f"{option}: there is no folder {new.parent} to write {new.name} in")


def put_case(make: Callable[[], str], new: Path, *, aside: bool) -> None:
    """Write a new case, and say so.

    Parameters
    ----------
    make : callable
        Makes its text.
    new : pathlib.Path
        From :func:`place`.
    aside : bool
        Whether to say so beside the answer, which a program reads.

    Raises
    ------
    Refused
        With a sentence, also where the case cannot hold what was learnt.
    """
    try:
        text = make()
    except ModelError as error:
        raise Refused(str(error)) from None
    put(text, new)
    say(f"new case: {new}", sys.stderr if aside else None)


def put(text: str, new: Path, option: str = "--write") -> None:
    """Write a file: whole under another name first, then in one step.

    Parameters
    ----------
    text : str
        Of the file, its line ends as they shall be.
    new : pathlib.Path
        From :func:`place`, or checked by :func:`check_free`.
    option : str
        That named it.

    Raises
    ------
    Refused
        With a sentence; then nothing is left behind.
    """
    fresh = new.with_name(f".{new.name}.{secrets.token_hex(4)}.writing")
    try:
        with fresh.open("x", encoding="utf-8", newline="") as stream:
            stream.write(text)
        if os.path.lexists(new):
            raise Refused(f"{option}: {new} appeared meanwhile and is not replaced")
        fresh.rename(new)
    except OSError as error:
        raise Refused(f"{option}: {new} cannot be written: {cause(error)}") from None
    finally:
        fresh.unlink(missing_ok=True)
