"""A case that names every key, from the reference of the keys."""

from __future__ import annotations

import re

from baypulse.case.casefile.keys import tables
from baypulse.case.explanation import comment, reference

KINDS = ("powder", "cold gas")
AWAKE = ("bay", "contents", "nose", "airframe", "joint", "pins", "setting", "cord", "limits")
TYPED = ("pull_off", "volume")


def starter_text(kind: str = "powder") -> str:
    """Return the reference as a case: optional keys and tables sleep, but two keys."""
    source = "powder" if kind == "powder" else "cold_gas"
    other = {"powder", "holder", "cold_gas"} - {source}
    lines = ['title = "My bay"', 'note = "Invented dimensions."', *comment(__doc__)]
    table = ""
    for line in reference().splitlines():
        header = re.fullmatch(r"\[+([a-z_]+)\]+", line)
        table = header[1] if header else table
        home = tables().get(table)
        awake = table in AWAKE or table == source
        if kind == "cold gas" and table in other:
            continue
        wake = re.fullmatch(rf"# (({'|'.join(TYPED)}) = .*)", line)
        if wake and table in ("joint", "contents"):
            line = wake[1]
        asleep = home is not None and not awake and not line.startswith("#") and line
        lines.append(f"# {line}" if asleep else line)
    return "\n".join(lines) + "\n"
