"""The caution that stands wherever a charge is given."""

CAUTION = (
    "Energetic charges burn, blind and maim. This is a calculation, not a permission: prove it by "
    "a ground test with nobody in line with either end, eye and ear protection on, and the igniter "
    "disconnected until everyone is clear. Follow local law, your club's or range's safety code "
    "and the maker's instructions; where they differ from this page, they win."
)
"""Printed word for word beside every charge."""
