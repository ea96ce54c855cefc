"""How well an input is known, as far as its source says."""

from __future__ import annotations

import re
from enum import StrEnum

from baypulse.case.origins import DEFAULT_LIMIT


class Known(StrEnum):
    """How well an input is known, the surest first."""

    MEASURED = "measured"
    PUBLISHED = "published"
    DERIVED = "derived from published"
    DEFINED = "by definition"
    MEMORY = "from memory"
    PRACTICE = "common practice"
    ESTIMATE = "estimate"
    CHOICE = "a choice"
    NOT_SAID = "not said"


_SIGNS = (
    # the weakest word of a source decides: an estimate that cites a paper is an estimate
    (Known.NOT_SAID, re.compile(rf"\binvented\b|{re.escape(DEFAULT_LIMIT)}")),
    (Known.ESTIMATE, re.compile(r"^(an? )?(estimate|guess)")),
    (Known.MEMORY, re.compile(r"\bfrom memory\b")),
    (Known.PRACTICE, re.compile(r"\bcommon practice\b")),
    (Known.ESTIMATE, re.compile(r"\bestimated?\b|\bguess(ed)?\b|\btypical\b")),
    (Known.DERIVED, re.compile(
        r"^(learnt|fitted|as (bed_time|flame_speed)|with the (covolume|gas constant)|mean of"
        r"|by hand|between|mixture of|least squares|air for the same)\b|\brecords leave\b"
    )),
    (Known.DEFINED, re.compile(r"\bby definition\b|\bnominal size\b")),
    (Known.PUBLISHED, re.compile(
        r"\b(ISO|ASTM|ASME|UFC|NASA|CODATA)\b|\bpublished\b|\bprinted in\b|\bdata sheet\b"
        r"|\bas printed\b|\b(1[78]|19|20)\d\d\b|\bp\. \d|\bApp\. [A-Z]\b|\bclosed-vessel table\b"
    )),
    (Known.MEASURED, re.compile(
        r"\b(measured|weighed|counted|logged|timed|scale|gauge|cal+ipers?|rule[rd]?|pulls?|pulled)\b"
    )),
)  # fmt: skip
"""Words of a source, in the order in which they are looked for."""


def known(source: str, *, values: int = 0) -> Known:
    """Return how well an input is known.

    Parameters
    ----------
    source : str
        As the case or the library has it.
    values : int
        Measured values that the case gives for it.

    Examples
    --------
    >>> known("ISO 724, basic major diameter"), known("estimate: of ISO 724")
    (<Known.PUBLISHED: 'published'>, <Known.ESTIMATE: 'estimate'>)
    >>> known("")
    <Known.NOT_SAID: 'not said'>
    """
    text = " ".join(source.split())
    for kind, sign in _SIGNS:
        if sign.search(text):
            return kind
    return Known.MEASURED if values else Known.NOT_SAID
