"""Work that is shared with a second process is done once each, whatever becomes of that one."""

from __future__ import annotations

import os
import signal
import time
from concurrent.futures import ThreadPoolExecutor

import pytest

from baypulse.show.two_cores import TICKETS, _can_double, pieces

doubles = pytest.mark.skipif(not _can_double(), reason="one core, or another system than Linux")


def process_of(piece: int) -> tuple[int, int]:
    time.sleep(0.01)
    return piece, os.getpid()


@doubles
def test_every_piece_is_done_once_and_in_order_by_both() -> None:
    found = pieces(process_of, 60)
    assert [piece for piece, _ in found] == list(range(60))
    assert len({process for _, process in found}) == 2


def test_there_may_be_more_pieces_than_a_byte_counts() -> None:
    assert pieces(lambda k: k * k, TICKETS + 44) == [k * k for k in range(TICKETS + 44)]


@doubles
def test_what_a_double_leaves_that_was_ended_is_done_all_the_same() -> None:
    first = os.getpid()

    def ends(piece: int) -> int:
        time.sleep(0.01)
        if os.getpid() != first and piece > 3:
            os.kill(os.getpid(), signal.SIGKILL)
        return piece

    assert pieces(ends, 30) == list(range(30))


def test_what_goes_wrong_in_either_is_raised_here(capfd: pytest.CaptureFixture[str]) -> None:
    def fails(piece: int) -> int:
        time.sleep(0.01)
        if piece == 7:
            raise ValueError("piece 7")
        return piece

    for _ in range(4):  # now in the one process, now in the other
        with pytest.raises(ValueError, match="piece 7"):
            pieces(fails, 12)
    assert not capfd.readouterr().err


def test_a_thread_of_a_server_does_all_itself() -> None:
    with ThreadPoolExecutor(1) as pool:
        found = pool.submit(pieces, process_of, 5).result()
    assert {process for _, process in found} == {os.getpid()}
