"""What can be wrong with the openings of a case."""

from __future__ import annotations

from collections.abc import Iterator

from baypulse.case import quantities
from baypulse.case.model import Case, Opening

MOST_OPENINGS = 60
"""Openings that the compiled core has room for, beside those it adds itself."""

Finding = tuple[str, str]
"""Path of the key that the line is taken from, and the sentence."""


def problems(case: Case) -> Iterator[Finding]:
    """Check how many openings there are, what they join, and that each is a hole or a slot.

    Parameters
    ----------
    case : Case
        As read.
    """
    if len(case.openings) > MOST_OPENINGS:
        yield (
            f"openings[{MOST_OPENINGS}]",
            f"{len(case.openings)} openings given, at most {MOST_OPENINGS}; write holes of one "
            "size as one opening with a count",
        )
    for index, opening in enumerate(case.openings):
        path = f"openings[{index}]"
        ends = (opening.between, opening.to)
        if opening.between == opening.to:
            yield f"{path}.to", f'this opening leads from "{opening.to}" to itself'
        if "electronics" in ends and case.electronics is None:
            key = "to" if opening.to == "electronics" else "between"
            yield f"{path}.{key}", "there is no [electronics] table with the volume of that bay"
        yield from _size(opening, path)
        if "bay" in ends and opening.hole_diameter > case.bay.bore:
            yield (
                f"{path}.diameter",
                f"a hole of {_l(opening.hole_diameter)} in a bay of {_l(case.bay.bore)} bore",
            )


def _size(opening: Opening, path: str) -> Iterator[Finding]:
    """Check that an opening is either a hole or a slot."""
    sizes = {"gap": opening.gap, "width": opening.width, "length": opening.length}
    given = [name for name, size in sizes.items() if size is not None]
    left = [name for name in sizes if name not in given]
    if opening.diameter is not None and given:
        yield (
            f"{path}.{given[0]}",
            f"this opening has a diameter and {_and(given)}; give diameter alone for a hole, or "
            "gap, width and length for a slot",
        )
    elif given and left:
        yield (
            path,
            f"a slot needs gap, width and length; {_and(left)} {_are(left)} missing",
        )
    elif opening.gap is not None and opening.width is not None and opening.gap > opening.width:
        yield (
            f"{path}.gap",
            f"a slot of {_l(opening.gap)} across and {_l(opening.width)} along its mouth is none; "
            "swap gap and width, or give a hole by its diameter",
        )
    elif not given and opening.diameter is None:
        yield (
            path,
            'say how large it is: diameter, such as "3.2 mm", for a hole, or gap, width and '
            'length, such as "0.1 mm", "240 mm" and "25 mm", for a slot',
        )


def _and(names: list[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def _are(names: list[str]) -> str:
    return "is" if len(names) == 1 else "are"


def _l(value: float) -> str:
    return quantities.show(value, "length")
