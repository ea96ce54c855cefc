"""Documents of made-up scatters, for what holds for the document of every study."""

import study_findings as made
from baypulse.members.chances import chance
from baypulse.studies.scatter.document import document
from baypulse.studies.scatter.rare import Rare
from report_cases import BENCH

HOSTILE = '<img src=y>, "quoted"\nand a line'
"""A name as nobody should give one."""


def bare():
    """Return a scatter that holds little, and a rare outcome."""
    return made.changed(
        made.scatter(), distributions=(), bands=(), outputs=(), limits=(), contents=(),
        warnings=(), rare_name="separates too hard",
        rare=Rare(1e-6, 8e-7, 2e-6, True, "", 300.0, 20_000, 55_000),
    )  # fmt: skip


def hostile():
    """Return a scatter of a case whose names would like to be markup."""
    text = BENCH.replace("A bay for the tests", "<script>alert(1)</script> & <b>bold</b>")
    text = text.replace('name = "vent"', 'name = "<img src=x> & more"')
    text = text.replace('diameter = "3.2 mm"', 'diameter = { value = "3.2 mm", spread = "2 %" }')
    case = made.reads(text, "<i>name</i>")
    return made.changed(
        made.scatter(), case=case, factors=tuple(made.factors(case)), warnings=(HOSTILE,),
        limits=(chance("<iframe> limit", 1, 10),),
    )  # fmt: skip


DOCUMENTS = {
    f"scatter {make.__name__}": lambda make=make: document(make())
    for make in (made.scatter, made.odd_scatter, bare, hostile)
}
