"""A case with one of its inputs held at a value."""

from __future__ import annotations

from dataclasses import replace

from baypulse.case.casefile.keys import key_at, put_at
from baypulse.case.model import Case
from baypulse.case.spec import Count


def with_value(case: Case, path: str, value: float) -> Case:
    """Return the case with one input held at a value; it no longer scatters.

    Parameters
    ----------
    case : Case
        The case.
    path : str
        Of a number or a count.
    value : float
        SI.
    """
    given = round(value) if isinstance(key_at(path).spec, Count) else float(value)
    spreads = {other: spread for other, spread in case.spreads.items() if other != path}
    return replace(put_at(case, path, given), spreads=spreads)
