"""What Baypulse raises, and the one sentence each of them must carry."""

from __future__ import annotations

from dataclasses import dataclass


class BaypulseError(Exception):
    """Base of every error that Baypulse raises on purpose."""


@dataclass(frozen=True)
class Problem:
    """One thing wrong with a case file.

    Attributes
    ----------
    line : int or None
        Line of the file, counted from 1; None when the problem has no place.
    key : str
        Dotted path, such as ``openings[0].diameter``; empty for the file itself.
    text : str
        What was given, what is allowed and what to do next.
    file : str
        The file, where it is not the one that was asked for but one that it names.
    """

    line: int | None
    key: str
    text: str
    file: str = ""

    def sentence(self, file: str) -> str:
        """Return ``file:line: key: text``."""
        file = self.file or file
        place = file if self.line is None else f"{file}:{self.line}"
        return f"{place}: {self.key}: {self.text}" if self.key else f"{place}: {self.text}"


class CaseError(BaypulseError):
    """A case that cannot be read; it lists every problem found, not the first one."""

    def __init__(self, file: str, problems: list[Problem]) -> None:
        self.file = file
        self.problems = sorted(problems, key=lambda p: (p.file, p.line or 0, p.key))
        super().__init__("\n".join(p.sentence(file) for p in self.problems))


class UnitError(BaypulseError):
    """A value whose number or unit cannot be understood; the text says why."""


class ModelError(BaypulseError):
    """Values that are readable one by one and impossible together."""


class LogError(BaypulseError):
    """A file of a logger or a gauge that cannot be read; the text says where and what to do."""


class SolveError(BaypulseError):
    """A run that stopped early, raised only on request; carries the partial result."""

    def __init__(self, message: str, result: object) -> None:
        self.result = result
        super().__init__(message)


class RangeWarning(UserWarning):
    """An input outside the range in which a closure was measured."""


def cause(error: Exception) -> str:
    """Return what went wrong with a file, in the system's words where it has any."""
    return getattr(error, "strerror", None) or str(error)
