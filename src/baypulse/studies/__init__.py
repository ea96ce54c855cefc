"""The studies, a folder each: what is computed, what it gives, how it is told and drawn."""
