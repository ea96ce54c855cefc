"""Times written as a clock or a date, in seconds."""

from __future__ import annotations

from typing import Any

import numpy as np

from baypulse.case.logs.cells import floats

Array = np.ndarray

_CLOCK = r"^(?:(?P<h>[0-9]{1,4}):)?(?P<m>[0-9]{1,2}):(?P<s>[0-9]{1,2}(?:[.,][0-9]+)?)$"
_DATE = (
    r"^(?P<day>[0-9]{4}-[0-9]{2}-[0-9]{2})[T ](?P<clock>[0-9]{2}:[0-9]{2}(?::[0-9]{2})?)"
    r"(?P<part>[.,][0-9]+)?(?:Z|[+-][0-9]{2}:?[0-9]{2})?$"
)
_DAY = 86_400.0


def seconds(texts: Any) -> tuple[Array, str]:
    """Read texts such as ``1:02.5``, ``14:03:07.25`` or ``2030-05-01T14:03:07.25``.

    Parameters
    ----------
    texts : pyarrow array of texts, length n

    Returns
    -------
    values : ndarray, shape (n,)
        [s], NaN where a text is no time. Dates count from the first one.
    note : str
        How they were read, a sentence; empty where nothing was.
    """
    import pyarrow.compute as pc

    dated = pc.sum(pc.match_substring_regex(texts, _DATE)).as_py() or 0
    clocks = pc.sum(pc.match_substring_regex(texts, _CLOCK)).as_py() or 0
    if dated >= clocks:
        return (_dates(texts), "dates are counted in seconds from the first row.") if dated else (
            np.full(len(texts), np.nan), ""
        )  # fmt: skip
    found = pc.extract_regex(texts, _CLOCK)
    hours, minutes, rest = (_floats(pc.struct_field(found, name)) for name in "hms")
    values = 3600.0 * np.nan_to_num(hours) + 60.0 * minutes + rest
    shape = "hours:minutes:seconds" if np.isfinite(hours).any() else "minutes:seconds"
    note = f"times are read as {shape}."
    known = np.flatnonzero(np.isfinite(values))
    falls = np.diff(values[known]) < -0.5 * _DAY
    if falls.any():
        values[known[1:]] += _DAY * np.cumsum(falls)
        note += " The clock passes midnight."
    return values, note


def _floats(texts: Any) -> Array:
    """Cast texts of digits; NaN where there are none."""
    import pyarrow
    import pyarrow.compute as pc

    texts = pc.replace_substring(texts, ",", ".")
    filled = pc.if_else(pc.equal(texts, ""), None, texts)
    return floats(pc.cast(filled, pyarrow.float64()))


def _dates(texts: Any) -> Array:
    """Return seconds from the first date."""
    import pyarrow
    import pyarrow.compute as pc

    found = pc.extract_regex(texts, _DATE)
    day, clock = (pc.struct_field(found, name) for name in ("day", "clock"))
    short = pc.equal(pc.utf8_length(clock), 5)
    clock = pc.if_else(short, _joined(clock, "00", ":"), clock)
    whole = pc.strptime(_joined(day, clock, "T"), "%Y-%m-%dT%H:%M:%S", "s", error_is_null=True)
    ticks = floats(pc.cast(pc.cast(whole, pyarrow.int64()), pyarrow.float64()))
    known = ticks[np.isfinite(ticks)]
    if not known.size:
        return ticks
    # the offset goes first: a date in seconds leaves too few digits for a fast logger's fractions
    return ticks - known[0] + np.nan_to_num(_floats(pc.struct_field(found, "part")))


def _joined(first: Any, second: Any, between: str) -> Any:
    """Join texts with a sign between them."""
    import pyarrow
    import pyarrow.compute as pc

    kind = pyarrow.large_string()
    second = pyarrow.scalar(second, kind) if isinstance(second, str) else second
    return pc.binary_join_element_wise(first, second, pyarrow.scalar(between, kind))
