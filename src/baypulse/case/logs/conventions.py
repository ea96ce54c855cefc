"""How a column writes its numbers: which sign stands for thousands, which for decimals.

One cell such as ``20,684`` may be either. The whole column tells: a comma before other than three
digits is a decimal sign, and so is the point after a group of three (``16,684.0``). Where the
column does not tell, the other columns of the file do; where nothing does, it is doubt.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

_GROUPS = "^[+-]?[1-9][0-9]{0,2}(?:%s[0-9]{3})+"
_ONE_GROUP = "^[+-]?[1-9][0-9]{0,2}%s[0-9]{3}$"
_EXPONENT = "(?:[eE][+-]?[0-9]+)?$"
_HARD = {
    "'": "apostrophes or fixed blanks",
    " ": "blanks",
}
"""Signs that stand between thousands and nowhere else, in words."""

_POINT, _COMMA = r"\.", ","
_NAMES = {_POINT: "points", _COMMA: "commas"}


class Doubt(Exception):
    """A column that can be read in two ways; the sentence says which."""


@dataclass(frozen=True)
class Signs:
    """How many cells of a column hold what.

    Attributes
    ----------
    filled : int
        A digit.
    commas, points : int
        That sign.
    decimal_commas, decimal_points : int
        That sign, where it can be a decimal sign only.
    one_comma, one_point : int
        That sign once, before the last three digits: thousands or decimals.
    """

    filled: int
    commas: int
    points: int
    decimal_commas: int
    decimal_points: int
    one_comma: int
    one_point: int


def signs(texts: Any) -> Signs:
    """Count the signs of a column.

    Parameters
    ----------
    texts : pyarrow array of texts, length n
        Without apostrophes and blanks between thousands.
    """

    def sure(decimal: str, other: str) -> int:
        single = _count(texts, f"^[+-]?[0-9]*{decimal}[0-9]*{_EXPONENT}")
        grouped = _count(texts, _GROUPS % other + f"{decimal}[0-9]*{_EXPONENT}")
        several = _count(texts, "^[+-]?[1-9][0-9]{0,2}" + f"(?:{other}[0-9]{{3}}){{2,}}$")
        return single - _count(texts, _ONE_GROUP % decimal) + grouped + several

    return Signs(
        filled=_count(texts, "[0-9]"),
        commas=_count(texts, _COMMA),
        points=_count(texts, _POINT),
        decimal_commas=sure(_COMMA, _POINT),
        decimal_points=sure(_POINT, _COMMA),
        one_comma=_count(texts, _ONE_GROUP % _COMMA),
        one_point=_count(texts, _ONE_GROUP % _POINT),
    )


def without_hard_groups(texts: Any) -> tuple[Any, list[str]]:
    """Return texts without apostrophes and blanks between groups of three, and what they were."""
    import pyarrow.compute as pc

    found = []
    for sign, name in _HARD.items():
        grouped = pc.match_substring_regex(texts, _GROUPS % sign + "(?:[.,][0-9]*)?$")
        if pc.any(grouped).as_py():
            texts = pc.if_else(grouped, pc.replace_substring(texts, sign, ""), texts)
            found.append(_said(name, "thousands"))
    return texts, found


def plain(texts: Any, elsewhere: Callable[[], list[Signs]]) -> tuple[Any, list[str]]:
    """Return texts as plain numbers with a decimal point, and what was assumed.

    Parameters
    ----------
    texts : pyarrow array of texts, length n
    elsewhere : callable
        Gives the signs of the file's other columns, asked where this one does not tell.

    Returns
    -------
    texts : pyarrow array of texts, length n
        Cells that do not follow the convention are no numbers.
    notes : list of str
        Parts of sentences.

    Raises
    ------
    Doubt
        Where neither the column nor the file tells the convention.
    """
    texts, notes = without_hard_groups(texts)
    found = signs(texts)
    if not found.commas and not found.points:
        return texts, notes
    decimal, assumed = _decimal(found, elsewhere)
    if assumed:
        notes.append(_said(_NAMES[decimal], "decimals"))
    other = _POINT if decimal == _COMMA else _COMMA
    texts, grouped = _without(texts, other, decimal)
    if grouped:
        notes.append(_said(_NAMES[other], "thousands"))
    return _pointed(texts, decimal), notes


def _decimal(found: Signs, elsewhere: Callable[[], list[Signs]]) -> tuple[str, bool]:
    """Return the decimal sign, and whether it might have been taken for thousands."""
    if found.decimal_commas or found.decimal_points:
        return (_COMMA if found.decimal_commas > found.decimal_points else _POINT), False
    if not found.one_comma and not found.one_point:
        return _POINT, False
    others = elsewhere()
    commas = sum(each.decimal_commas for each in others)
    points = sum(each.decimal_points for each in others)
    told = "" if bool(commas) == bool(points) else _COMMA if commas else _POINT
    if found.one_comma and found.one_point:
        raise Doubt("holds both points and commas before three digits")
    here = _COMMA if found.one_comma else _POINT
    other = _POINT if here == _COMMA else _COMMA
    # a decimal sign stands in every row; thousands have none below 1000
    whole = (found.one_comma or found.one_point) == found.filled
    if told == other:
        return other, False
    if told == here:
        if not whole:
            raise Doubt(
                f"has {_NAMES[here]} before three digits in some rows and none in others, and "
                f"other columns have {_NAMES[here]} as decimal signs"
            )
        return here, here == _COMMA
    if not whole:
        return other, False
    if here == _COMMA:
        raise Doubt("has a comma before three digits in every row, and no other column tells")
    return here, True


def _without(texts: Any, sign: str, decimal: str) -> tuple[Any, bool]:
    """Take a sign out of groups of thousands; cells that have it elsewhere are no numbers."""
    import pyarrow.compute as pc

    if not _count(texts, sign):
        return texts, False
    grouped = pc.match_substring_regex(texts, _GROUPS % sign + f"(?:{decimal}[0-9]*)?$")
    bare = pc.replace_substring_regex(texts, sign, "")
    marked = pc.replace_substring_regex(texts, sign, "?")
    return pc.if_else(grouped, bare, marked), bool(pc.any(grouped).as_py())


def _pointed(texts: Any, decimal: str) -> Any:
    """Write a point for the decimal sign."""
    import pyarrow.compute as pc

    return pc.replace_substring(texts, ",", ".") if decimal == _COMMA else texts


def _said(signs: str, what: str) -> str:
    groups = "before" if what == "decimals" else "between groups of"
    return f"{signs} {groups} three digits were read as {what}."


def _count(texts: Any, pattern: str) -> int:
    """Return how many texts hold a pattern."""
    import pyarrow.compute as pc

    return pc.sum(pc.match_substring_regex(texts, pattern)).as_py() or 0
