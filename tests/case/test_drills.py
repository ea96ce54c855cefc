"""Sizes of drills, against the holes that threads are tapped into."""

from __future__ import annotations

import numpy as np
import pytest

from baypulse.case.drills import SYSTEMS, drills, source

INCH = 0.0254


def by_name(system: str) -> dict[str, float]:
    return {drill.name: drill.diameter for drill in drills(system)}


@pytest.mark.parametrize(
    ("drill", "major", "threads_per_inch"),
    [
        ("#50", 0.086, 56), ("#43", 0.112, 40), ("#36", 0.138, 32), ("#29", 0.164, 32),
        ("#25", 0.190, 24), ("#21", 0.190, 32), ("#7", 0.250, 20),
    ],
)  # fmt: skip
def test_number_drills_are_the_tap_drills_of_their_threads(
    drill: str, major: float, threads_per_inch: int
) -> None:
    """A hole of major diameter less pitch leaves about three quarters of a thread.

    Which drill belongs to which thread: tables of tap drills for unified threads, from memory.
    """
    hole = (major - 1.0 / threads_per_inch) * INCH
    assert by_name("number drills")[drill] == pytest.approx(hole, rel=0.03)


def test_ends_of_the_wire_gauge() -> None:
    """0.2280 in and 0.0135 in: ASME B94.11M, from memory."""
    sizes = by_name("number drills")
    assert len(sizes) == 80
    assert sizes["#1"] == pytest.approx(0.2280 * INCH, rel=1e-9)
    assert sizes["#80"] == pytest.approx(0.0135 * INCH, rel=1e-9)
    numbers = [sizes[f"#{k}"] for k in range(1, 81)]
    assert np.all(np.diff(numbers) < 0.0)


def test_fractions_are_written_in_lowest_terms() -> None:
    sizes = by_name("inch fractions")
    assert sizes["1/8 in"] == pytest.approx(3.175e-3, rel=1e-9)
    assert sizes["1/2 in"] == pytest.approx(12.7e-3, rel=1e-9)
    assert sizes["7/64 in"] == pytest.approx(7.0 / 64.0 * INCH, rel=1e-9)
    assert "2/64 in" not in sizes and len(sizes) == 32


def test_metric_drills_are_what_their_names_say() -> None:
    for drill in drills("metric"):
        assert drill.diameter == pytest.approx(1e-3 * float(drill.name.split()[0]), rel=1e-9)


@pytest.mark.parametrize("system", SYSTEMS)
def test_every_system_rises_and_has_a_source(system: str) -> None:
    assert np.all(np.diff([drill.diameter for drill in drills(system)]) > 0.0)
    assert {drill.system for drill in drills(system)} == {system}
    assert "from memory" in source(system)
