"""How well an input is known is read from its source, and never surer than that says."""

from __future__ import annotations

import pytest

from baypulse.case import library
from baypulse.review.known import Known, known


@pytest.mark.parametrize(
    ("source", "how"),
    [
        ("weighed to 0.01 g", Known.MEASURED),
        ("measured, with calipers", Known.MEASURED),
        ("five pulls with a luggage scale", Known.MEASURED),
        ("five pulls with a luggage scale, invented", Known.NOT_SAID),
        ("ISO 724, basic major diameter", Known.PUBLISHED),
        ("handbook, from memory", Known.MEMORY),
        ("from memory: Glazkova and Tereshkin, 1961", Known.MEMORY),
        ("estimate: as published in 1878", Known.ESTIMATE),
        ("estimate: carbon monoxide takes fire at 850 to 900 K, from memory", Known.ESTIMATE),
        ("common practice, no source: 1500 lbf is commonly used", Known.PRACTICE),
        ("no knot, by definition", Known.DEFINED),
        ("learnt from recorded shots together (Hutton, 1812)", Known.DERIVED),
        ("cautious default: type yours", Known.NOT_SAID),
        ("my friend says so", Known.NOT_SAID),
        ("", Known.NOT_SAID),
    ],
)
def test_a_source_says_how_well_its_input_is_known(source: str, how: Known) -> None:
    assert known(source) is how


def test_values_that_were_measured_need_no_words() -> None:
    assert known("", values=5) is Known.MEASURED
    assert known("estimate", values=5) is Known.ESTIMATE


def facts() -> list[str]:
    """Return the source of every number of the library."""
    return [
        fact.source
        for table in library.TABLES for name in library.names(table)
        for fact in library.facts(table, name).values()
    ]  # fmt: skip


def test_no_source_of_the_library_is_read_as_surer_than_it_is() -> None:
    sources = facts()
    assert len(sources) > 200
    for source in sources:
        how = known(source)
        if "estimate" in source:
            assert how is Known.ESTIMATE, source
        elif "from memory" in source:
            assert how is Known.MEMORY, source
        elif "no source" in source:
            assert how is Known.PRACTICE, source
        # the library measures nothing
        assert how is not Known.MEASURED, source


def test_few_sources_of_the_library_say_nothing() -> None:
    unsaid = {source for source in facts() if known(source) is Known.NOT_SAID}
    assert len(unsaid) <= 5, unsaid
