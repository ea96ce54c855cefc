"""Records of the core are kilobytes a member: they are made for a block at a time, at most."""

from __future__ import annotations

import gc
import weakref
from dataclasses import replace

import numpy as np
import pytest

from baypulse import sweep
from baypulse.case.casefile import reads
from baypulse.case.model import Run
from baypulse.members import draws
from baypulse.members.charge_search import Search
from baypulse.members.charges import Charges, Tally
from quick_bays import QUICK

MEMBERS = draws.BLOCK + 100
"""More than a block, and no whole number of them."""


@pytest.fixture
def packed(monkeypatch):
    """Return the numbers of members whose records were made together."""
    sizes, pack = [], draws.pack_members

    def counted(P, members):
        sizes.append(members)
        return pack(P, members)

    monkeypatch.setattr(draws, "pack_members", counted)
    return sizes


@pytest.fixture
def case():
    """A bay whose shots end at once: what becomes of them does not matter."""
    return replace(reads(QUICK), run=Run(end_time=6e-3))


def test_a_sweep_makes_records_of_a_block_at_a_time(case, packed) -> None:
    sweep(case, ["powder.mass=0.3 g, 0.5 g"], members=MEMBERS)
    assert sum(packed) == 2 * MEMBERS
    assert max(packed) == draws.BLOCK


def test_which_members_have_room_is_seen_without_their_records(case, packed) -> None:
    charges = Charges(case, MEMBERS, 1, 1, Tally())
    assert not packed
    assert charges.members == MEMBERS
    values = {"powder.mass": np.where(np.arange(MEMBERS) % 1000 == 30, 5.0, 0.5e-3)}
    room = draws.some_possible(case, values, MEMBERS)
    assert np.flatnonzero(~room).tolist() == [30, 1030]


def test_members_go_with_the_search_that_held_them(case) -> None:
    charges = Charges(case, 8, 1, 1, Tally())
    search = Search(charges, 0.9, charges.present)
    search.opening.count(charges.present)
    left = weakref.ref(charges)
    gc.disable()
    try:
        del charges, search
        assert left() is None
    finally:
        gc.enable()
