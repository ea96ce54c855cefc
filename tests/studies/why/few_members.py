"""Diagnoses of a moment, for tests of what is done with members and not of what they show."""

from __future__ import annotations

import pytest

from baypulse.observed.build_weights import learn

FEW = {"compute.FINER_MEMBERS": 64, "compute.FINER_PAIR": 16, "next_tests.SHOTS": 64}
"""Members that no option of ``why`` sets."""


def few_members(patch: pytest.MonkeyPatch) -> None:
    """Have causes that matter drawn anew, and tests fired, with few members; one block of builds.

    Parameters
    ----------
    patch : pytest.MonkeyPatch
        That takes it back.
    """
    for name, number in FEW.items():
        patch.setattr(f"baypulse.studies.why.{name}", number)
    assert learn.__kwdefaults__ is not None
    patch.setitem(learn.__kwdefaults__, "members", 1024)
    patch.setitem(learn.__kwdefaults__, "most", 1024)
