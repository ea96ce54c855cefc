"""Where the value of a key came from, and how it scatters."""

from __future__ import annotations

from dataclasses import dataclass

DEFAULT_LIMIT = "cautious default: type yours"
"""Source of a limit that nobody has typed yet."""


@dataclass(frozen=True, kw_only=True)
class Provenance:
    """Where one value of a case came from.

    Attributes
    ----------
    text : str
        The value as it was typed, or as the default or library gives it.
    origin : str
        ``"case"``, ``"default"``, ``"library"``, ``"rocket"`` (from the other bays of a rocket
        file), or ``"drawn"`` in a member of an ensemble.
    line : int or None
        Line of the case file.
    source : str
        Citation for a library value; ``"estimate"`` where there is none.
    """

    text: str
    origin: str
    line: int | None = None
    source: str = ""

    @property
    def typed(self) -> bool:
        """Whether somebody typed it, for this bay or for its rocket."""
        return self.origin in ("case", "rocket")


@dataclass(frozen=True, kw_only=True)
class Spread:
    """The scatter of one number; a single run does not use it, the ensemble studies do.

    Attributes
    ----------
    distribution : str
        ``"normal"``, ``"log-normal"``, ``"uniform"``, ``"triangular"`` or ``"sample"``.
    deviation : float or None
        Standard deviation in SI before truncation (normal, log-normal). The value is the mean of
        a normal, the median of a log-normal, the mode of a triangular distribution.
    low, high : float or None
        Bounds in SI: of the distribution, or where it is truncated.
    sample : tuple of float
        Measured values in SI.
    group : str
        Values of one group scatter together.
    correlation : float
        Share of this value's variance that it has in common with its group, above 0 and up to 1;
        between two values of a group the correlation of their normal scores is the root of the
        product of both.
    """

    distribution: str
    deviation: float | None = None
    low: float | None = None
    high: float | None = None
    sample: tuple[float, ...] = ()
    group: str = ""
    correlation: float = 1.0
