"""A file on disk to UTF-8 bytes with plain line ends, whatever wrote it."""

from __future__ import annotations

import re
from pathlib import Path

from baypulse.errors import LogError, cause

_LOOKED_AT = 65_536
_CONTROL = re.compile(rb"[\x00-\x08\x0e-\x1f]")
_ODD_SIGNS = str.maketrans(
    {
        "\N{MINUS SIGN}": "-", "\N{NO-BREAK SPACE}": " ", "\N{NARROW NO-BREAK SPACE}": " ",
        "\N{THIN SPACE}": " ", "\N{RIGHT SINGLE QUOTATION MARK}": "'", "\N{PRIME}": "'",
        "\ufeff": "",
    }
)  # fmt: skip
_FIXED_BLANK = re.compile(r"(?<=\d)[\u00a0\u202f\u2009](?=\d{3})")
"""A blank that keeps a number together: it stands between thousands, whatever parts the columns."""


def load(file: str | Path) -> tuple[bytes, tuple[str, ...]]:
    """Read a text file of any usual encoding.

    Parameters
    ----------
    file : str or Path
        UTF-8 or UTF-16, with or without a byte-order mark; anything else is taken as Windows
        Western (the superset of Latin-1).

    Returns
    -------
    data : bytes
        UTF-8, each line ended by one line feed, line numbers as in the file.
    notes : tuple of str
        What was mended.

    Raises
    ------
    LogError
        Where there is no file, no permission, no content, or no text in it.
    """
    path = Path(file)
    if path.is_dir():
        raise LogError(f"{file}: is a folder; give a CSV file")
    if not path.exists():
        raise LogError(f"{file}: no such file; give the path of a CSV file")
    if not path.is_file():
        raise LogError(f"{file}: is not a file on disk; give a CSV file")
    try:
        data = path.read_bytes()
    except OSError as error:
        raise LogError(f"{file}: cannot be read ({cause(error)}); give a CSV file") from None
    notes: tuple[str, ...] = ()
    text = _wide(data)
    if text is None:
        padded = len(data)
        data = data.rstrip(b"\0")
        if data and len(data) < padded:
            # a logger that lost its power in the middle of a write leaves such a tail
            notes = (f"{padded - len(data)} zero bytes at the end of the file dropped.",)
        _refuse_binary(file, data)
        text = _narrow(data)
    if text is not None:
        data = _FIXED_BLANK.sub("'", text).translate(_ODD_SIGNS).encode()
    if b"\r" in data:
        data = data.replace(b"\r\n", b"\n").replace(b"\r", b"\n")
    if not data.strip():
        raise LogError(
            f"{file}: is empty; a table with a time and an altitude or a pressure is wanted: "
            "copy the log from the instrument again"
        )
    return data, notes


def _wide(data: bytes) -> str | None:
    """Decode UTF-16, told by its mark or by zeros in every second byte; None if it is not."""
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return data.decode("utf-16", errors="replace")
    head = data[:4096]
    even, odd = head[0::2].count(0), head[1::2].count(0)
    if odd > 0.4 * len(head) / 2 and even == 0:
        return data.decode("utf-16-le", errors="replace")
    if even > 0.4 * len(head) / 2 and odd == 0:
        return data.decode("utf-16-be", errors="replace")
    return None


def _narrow(data: bytes) -> str | None:
    """Decode what is not plain ASCII; None where the bytes can stay."""
    if data.isascii():
        return None
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError as error:
        if error.reason == "unexpected end of data" and error.start > len(data) - 4:
            return data[: error.start].decode("utf-8")  # cut in the middle of a sign
    return data.decode("cp1252", errors="replace")


def _refuse_binary(file: str | Path, data: bytes) -> None:
    """Raise where the beginning holds bytes that no text has."""
    head = data[:_LOOKED_AT]
    found = _CONTROL.search(head)
    if found and (b"\0" in head or len(_CONTROL.findall(head)) > 0.01 * len(head)):
        raise LogError(
            f"{file}: is not a text file (byte {found.group()[0]} at position {found.start()}); "
            "export the log as CSV and give that file"
        )
