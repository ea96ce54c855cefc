"""What the documents of all studies say of a case and of a value that scatters."""

from __future__ import annotations

from baypulse.case import library, quantities
from baypulse.case.casefile.keys import number_at
from baypulse.case.model import Case
from baypulse.members.factors import LIBRARY


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


def dimension_of(path: str) -> str:
    """Return the kind of a value that scatters."""
    if path.startswith(LIBRARY):
        return library.fact(path.removeprefix(LIBRARY)).dimension
    spec = number_at(path)
    return spec.dimension
