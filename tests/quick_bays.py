"""Bays that are quick to run, for tests of what the studies do with their members.

Without contents one volume of gas is left, and the law of a strand burns the charge in
milliseconds: a member takes a fraction of the time, and what it does does not move when more is
learnt of how a bed burns.
"""

from report_cases import BENCH, without


def strand(text: str) -> str:
    """Return the text of a case with powder that burns by the law of a strand."""
    return text.replace("[powder]\n", '[powder]\nburning = "strand"\n')


QUICK = without(strand(BENCH), "contents")
