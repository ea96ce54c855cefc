"""What the documents of all studies say of a case and of a value that scatters."""

from __future__ import annotations

from collections.abc import Sequence

from baypulse.case import library, quantities
from baypulse.case.casefile.keys import number_at
from baypulse.case.model import Case
from baypulse.members.factors import LIBRARY
from baypulse.show.document import Column


def case_file(name: str) -> str:
    """Return the file of a case as it is typed behind a command."""
    file = f"{name}.toml"
    return f'"{file}"' if " " in file else file


def charge(case: Case) -> str:
    """Return the charge of a case as people say it."""
    if case.powder is not None:
        held = "loose" if case.holder is None else "in a holder"
        return f"{quantities.show(case.powder.mass, 'mass')} of {case.powder.grade} powder, {held}"
    assert case.cold_gas is not None
    gas = case.cold_gas
    return (
        f"{quantities.show(gas.volume, 'volume')} of {gas.gas} at "
        f"{quantities.show(gas.pressure, 'gauge pressure')} gauge"
    )


def left_out(count: int) -> list[str]:
    """Return the sentence of simulated shots that could not be fired; none where all could.

    Parameters
    ----------
    count : int
        How many were left out.
    """
    return [
        f"{count} of the simulated shots drawn had no room for their contents and were left out: "
        "the spread of the packed volume, or of the bay's dimensions, reaches too far"
    ] * (count > 0)


def of_the_shots(shares: Sequence[float], absent: str = "-") -> tuple[Column, ...]:
    """Return the columns of values below which so many shots lie, after what they are of.

    Parameters
    ----------
    shares : sequence of float
        Of the shots.
    absent : str
        What stands in a cell without a value.
    """
    ends = [f"{100.0 * share:.0f}" for share in shares]
    below = (Column(f"{end}_percent_below", f"{end} % below", absent=absent) for end in ends)
    return Column("name", "Of the shots"), *below


def dimension_of(path: str) -> str:
    """Return the kind of a value that scatters."""
    if path.startswith(LIBRARY):
        return library.fact(path.removeprefix(LIBRARY)).dimension
    spec = number_at(path)
    return spec.dimension
