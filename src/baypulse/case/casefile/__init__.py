"""Case files: TOML text to a validated model, all problems at once, with their lines."""

from baypulse.case.casefile.reader import read, reads

__all__ = ["read", "reads"]
