"""A case's unknowns learnt from records and single numbers."""
