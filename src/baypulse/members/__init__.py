"""Ensembles: members of a case drawn, run, kept, counted, and searched for a charge."""
