"""Which column of a table is the time, the altitude, the pressure, and in which unit."""

from __future__ import annotations

import re
from dataclasses import dataclass

from baypulse.case.logs import header_words
from baypulse.case.logs.header_words import Unit
from baypulse.case.logs.table import LogTable
from baypulse.errors import LogError
from baypulse.spelling import near

EXAMPLES = {"time": "s", "altitude": "ft", "pressure": "psig"}
"""A unit of each quantity, for messages."""

_COUNTS = {"sample", "samples", "index", "count", "row", "record", "number", "no", "nr", "#", "n"}


@dataclass(frozen=True)
class LogColumn:
    """A column that was chosen.

    Attributes
    ----------
    index : int
        From 0.
    header : str
        As written in the file.
    unit : Unit or None
        As asked for, else of the header, else of the row of units; None where none says it.
    """

    index: int
    header: str
    unit: Unit | None

    def asked_as(self, unit: str) -> str:
        """Return how to ask for this column in another unit, in quotes."""
        bare = re.sub(r"\s*[(\[][^)\]]*[)\]]\s*$", "", self.header).strip() or self.header
        return f'"{bare} [{unit}]"'


def named(table: LogTable, quantity: str, asked: str) -> LogColumn:
    """Return the column that was asked for.

    Parameters
    ----------
    table : LogTable
    quantity : str
        ``"time"``, ``"altitude"`` or ``"pressure"``.
    asked : str
        The name of a column, or ``"name [unit]"``; ``"column 2"`` is the second from the left.

    Raises
    ------
    LogError
        Where there is no such column or unit.
    """
    index = _index(table, asked)
    if index is not None:
        return LogColumn(index, table.names[index], _unit_of(table, index, quantity))
    with_unit = re.fullmatch(r"\s*(.*?)\s*[\[(]\s*([^\])]*?)\s*[\])]\s*", asked)
    if with_unit:
        index = _index(table, with_unit.group(1))
        if index is not None:
            unit = header_words.unit(with_unit.group(2), quantity)
            if unit is None:
                raise LogError(
                    f'{table.file}: column "{asked}": "{with_unit.group(2)}" is no unit of '
                    f"{_article(quantity)}; write it as in "
                    f'"{with_unit.group(1)} [{EXAMPLES[quantity]}]"'
                )
            return LogColumn(index, table.names[index], unit)
    bare = with_unit.group(1) if with_unit else asked
    close = near(bare, table.names)
    hint = f'did you mean "{close}"?' if close else "give one of these"
    raise LogError(f'{table.file}: no column "{bare}"; {_listed(table)}: {hint}')


def guessed(table: LogTable, quantity: str) -> LogColumn | None:
    """Return the column whose header says that it holds a quantity, or None.

    Raises
    ------
    LogError
        Where two headers say so equally plainly.
    """
    ranks = [
        header_words.kinds(name).get(quantity, 0) if table.titled else 0 for name in table.names
    ]
    best = max(ranks)
    if not best:
        return None
    found = [index for index, rank in enumerate(ranks) if rank == best]
    if len(found) > 1:
        choices = " and ".join(f'"{table.names[index]}"' for index in found)
        raise LogError(
            f"{table.file}: {choices} may each be the {quantity}; name the column to read"
        )
    return LogColumn(found[0], table.names[found[0]], _unit_of(table, found[0], quantity))


def missing(table: LogTable, quantity: str, reading: str) -> LogError:
    """Return the error for a quantity that no header names, in a table of some reading."""
    if not table.titled:
        return LogError(
            f"{table.file}: the table has no header; name the columns with their units, as in "
            f'"column 1 [s]" for the time and "column 2 [{EXAMPLES[reading]}]"'
        )
    counts = next(
        (n for n in table.names if set(re.findall(r"[a-z]+|#", n.lower())) & _COUNTS), None
    )
    if quantity == "time" and counts is not None:
        return LogError(
            f'{table.file}: there is no time; "{counts}" counts the rows: add a column of times, '
            "the number of the row divided by the rate in Hz"
        )
    return LogError(
        f"{table.file}: no header names {_article(quantity)}; {_listed(table)}: name the right "
        f'one with its unit, as in "{table.names[-1]} [{EXAMPLES[quantity]}]"'
    )


def _index(table: LogTable, asked: str) -> int | None:
    """Return the column with a name, as written, without its unit, or by its number."""
    wanted = asked.strip().lower()
    headers = [name.lower() for name in table.names]
    if headers.count(wanted) == 1:
        return headers.index(wanted)
    bare = [
        {header_words.split(name, quantity)[0] for quantity in header_words.DIMENSIONS}
        | {re.sub(r"\s*[(\[][^)\]]*[)\]]\s*$", "", name)}
        for name in headers
    ]
    found = [index for index, names in enumerate(bare) if wanted in names]
    if len(found) == 1:
        return found[0]
    number = re.fullmatch(r"column (\d{1,4})", wanted)
    if number and 1 <= int(number.group(1)) <= len(headers):
        return int(number.group(1)) - 1
    if found or headers.count(wanted):
        raise LogError(
            f'{table.file}: more than one column is called "{asked}"; say which, as in '
            f'"column {1 + (found[0] if found else headers.index(wanted))}"'
        )
    return None


def _unit_of(table: LogTable, index: int, quantity: str) -> Unit | None:
    """Return the unit that the file gives a column."""
    header = table.names[index]
    found = header_words.split(header, quantity)[1] or header_words.unit(
        header.strip("()[] "), quantity
    )
    if found:
        return found
    below = table.units[index]
    told = header_words.foreign(header, quantity) or (below if below.strip("-") else "")
    found = header_words.unit(below, quantity) if below else None
    if found is None and told:
        bare = LogColumn(index, header, None)
        raise LogError(
            f'{table.file}: column "{header}": "{told}" is no unit of {_article(quantity)} that is '
            f"read here; convert the column and name it with its unit, as in "
            f"{bare.asked_as(EXAMPLES[quantity])}"
        )
    return found


def _listed(table: LogTable) -> str:
    """Return "the columns are ..." for messages, at most a dozen."""
    shown = ", ".join(f'"{name}"' for name in table.names[:12])
    return f"the columns are {shown}{' and more' if len(table.names) > 12 else ''}"


def _article(noun: str) -> str:
    return f"an {noun}" if noun[0] in "ae" else f"a {noun}"
