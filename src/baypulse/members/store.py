"""The members of a run on disk, read and reduced a part at a time in flat memory.

Every reduction goes through the parts in order, so it gives the same number each time, and each
is exact: a quantile is found by counting, never from a sketch. NaN means that something did not
happen, such as a separation velocity of a bay that did not separate; NaNs are left out and counted.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from baypulse.members import parts
from baypulse.members.parts import PartLayout, StudyError
from baypulse.spelling import near

_DIGIT = 16
"""Bits by which a pass narrows a quantile; 64 bits in four passes, with 65536 counters each."""


@dataclass(frozen=True)
class Histogram:
    """Counts of a column's values between edges.

    Attributes
    ----------
    edges : ndarray, shape (bins + 1,)
        Each bin holds its lower edge; the last one its upper edge, too.
    counts : ndarray of int, shape (bins,)
        Values in each bin.
    below, above : int
        Values outside the edges.
    missing : int
        NaNs left out.
    """

    edges: np.ndarray
    counts: np.ndarray
    below: int
    above: int
    missing: int


@dataclass(frozen=True)
class Quantiles:
    """Quantiles of a column.

    Attributes
    ----------
    values : ndarray, shape (shares,)
        One for each share; NaN if the column has no value.
    counted, missing : int
        Values seen, and NaNs left out.
    """

    values: np.ndarray
    counted: int
    missing: int


@dataclass(frozen=True)
class Moments:
    """Ends, mean and standard deviation of a column.

    Attributes
    ----------
    least, greatest : float
        Values; NaN if there is none.
    mean : float
        NaN if there is no value.
    deviation : float
        Of a sample, with n - 1; NaN if there are fewer than two values.
    counted, missing : int
        Values seen, and NaNs left out.
    """

    least: float
    greatest: float
    mean: float
    deviation: float
    counted: int
    missing: int


class Store:
    """The parts that a run has finished when this is made; later ones are not seen.

    Parameters
    ----------
    folder : str or pathlib.Path
        Of a run, finished or not.

    Attributes
    ----------
    folder : pathlib.Path
        The same.
    asked : dict
        What the run was asked for, as given by its plan's `identity`.
    layout : Layout
        How its members are cut into blocks and parts.

    Raises
    ------
    StudyError
        If the folder holds no run.
    """

    def __init__(self, folder: str | Path) -> None:
        self.folder = Path(folder)
        described = parts.read_description(self.folder)
        self.asked: dict[str, Any] = described["asked"]
        self.layout = PartLayout(described["members"], described["block_size"])
        self.parts = parts.numbers(self.folder)
        if self.parts and self.parts[-1] >= self.layout.parts:
            raise StudyError(
                f"{self.folder / parts.name(self.parts[-1])} is no part of this run, which has "
                f"{self.layout.parts}; move it away"
            )

    @property
    def members(self) -> int:
        """Number of members present."""
        return sum(self.layout.rows(part) for part in self.parts)

    @property
    def complete(self) -> bool:
        """Whether every part is present."""
        return len(self.parts) == self.layout.parts

    @property
    def columns(self) -> tuple[str, ...]:
        """Names of the columns; none before the first part is finished."""
        if not self.parts:
            return ()
        schema = parts.schema_of(self.folder, self.parts[0])
        if schema is None:
            # let the reader say what is wrong with it
            self._read(self.parts[0], [])
        return tuple(schema.names)

    def column(self, name: str) -> np.ndarray:
        """Return a whole column; for runs whose column fits in memory.

        Parameters
        ----------
        name : str
            Of the column.

        Returns
        -------
        ndarray, shape (members,)
            In the order of the members.
        """
        return np.concatenate([batch[name] for batch in self.batches([name])])

    def batches(self, columns: Sequence[str]) -> Iterator[dict[str, np.ndarray]]:
        """Go through columns a part at a time, in the order of the members.

        Parameters
        ----------
        columns : sequence of str
            Names.

        Yields
        ------
        dict of str to ndarray, shape (rows of the part,)
            By name; read only.

        Raises
        ------
        StudyError
            If there is no such column, no part yet, or a damaged one.
        """
        if not self.parts:
            raise StudyError(f"{self.folder} has no finished part yet; resume the run (--resume)")
        held = self.columns
        for name in columns:
            if name not in held:
                close = near(name, held)
                meant = f"did you mean {close}?" if close else f"it has {', '.join(held)}"
                raise StudyError(f"{self.folder} has no column {name}; {meant}")
        for part in self.parts:
            yield self._read(part, columns)

    def count_values(self, name: str) -> dict[int, int]:
        """Return how often each value of a column of codes occurs, in the order of the codes.

        Parameters
        ----------
        name : str
            Of a column of whole numbers.
        """
        found: Counter[int] = Counter()
        for batch in self.batches([name]):
            values = batch[name]
            if values.dtype.kind == "f":
                raise StudyError(f"{name} is no column of codes; ask for a histogram of it")
            codes, counts = np.unique(values, return_counts=True)
            found.update(dict(zip(codes.tolist(), counts.tolist(), strict=True)))
        return {int(code): found[code] for code in sorted(found)}

    def histogram(self, name: str, edges: Sequence[float] | np.ndarray) -> Histogram:
        """Count a column's values between edges.

        Parameters
        ----------
        name : str
            Of the column.
        edges : sequence of float, shape (bins + 1,)
            At least two, rising.

        Returns
        -------
        Histogram
            Bins as those of `numpy.histogram`.
        """
        at = np.asarray(edges, dtype=np.float64)
        if at.ndim != 1 or at.size < 2 or not np.all(np.diff(at) > 0.0):
            raise ValueError("edges must be at least two, each above the one before")
        counts = np.zeros(at.size + 1, dtype=np.int64)
        missing = 0
        for values, absent in self._values(name):
            missing += absent
            places = np.searchsorted(at, values, side="right")
            places[values == at[-1]] -= 1
            counts += np.bincount(places, minlength=at.size + 1)
        return Histogram(at, counts[1:-1], int(counts[0]), int(counts[-1]), missing)

    def quantiles(self, name: str, shares: Sequence[float] | np.ndarray) -> Quantiles:
        """Return quantiles of a column, exactly, in four passes over it.

        The values in question are narrowed by 16 bits a pass (a radix selection), whatever their
        distribution: ties, infinities and far outliers cost nothing and lose nothing.

        Parameters
        ----------
        name : str
            Of the column.
        shares : sequence of float
            Each from 0 to 1.

        Returns
        -------
        Quantiles
            Between two values on a straight line, as those of `numpy.quantile`.
        """
        wanted = np.atleast_1d(np.asarray(shares, dtype=np.float64))
        if not np.all((wanted >= 0.0) & (wanted <= 1.0)):
            raise ValueError("every share must be from 0 to 1")
        counted, missing, first = 0, 0, np.zeros(1 << _DIGIT, np.int64)
        for values, absent in self._values(name):
            counted += values.size
            missing += absent
            first += _digits(_sortable(values), 0)
        if not counted:
            return Quantiles(np.full(wanted.size, np.nan), 0, missing)
        spots = wanted * (counted - 1)
        lower = np.floor(spots).astype(np.int64)
        upper = np.minimum(lower + 1, counted - 1)
        ranked = self._ranked(name, sorted({*lower.tolist(), *upper.tolist()}), first)
        pairs = zip(lower.tolist(), upper.tolist(), (spots - lower).tolist(), strict=True)
        between = [_between(ranked[low], ranked[high], share) for low, high, share in pairs]
        return Quantiles(np.array(between), counted, missing)

    def moments(self, name: str) -> Moments:
        """Return ends, mean and standard deviation of a column, by parts joined in order.

        By reading it: the files carry the ends of each part, but not the number of NaNs.

        References
        ----------
        Chan, Golub, LeVeque: Algorithms for computing the sample variance, The American
        Statistician 37 (1983), 242-247, equations 2.1 (from memory).

        Parameters
        ----------
        name : str
            Of the column; an infinite value makes the mean infinite and the deviation NaN.
        """
        least, greatest = np.inf, -np.inf
        counted, missing, mean, squares = 0, 0, 0.0, 0.0
        with np.errstate(invalid="ignore", over="ignore"):
            for values, absent in self._values(name):
                missing += absent
                if not values.size:
                    continue
                least, greatest = min(least, values.min()), max(greatest, values.max())
                both = counted + values.size
                own = values.mean()
                apart = own - mean
                squares += np.square(values - own).sum()
                squares += apart * apart * (counted * values.size / both)
                mean += apart * (values.size / both)
                counted = both
        if not counted:
            return Moments(np.nan, np.nan, np.nan, np.nan, 0, missing)
        deviation = float(np.sqrt(squares / (counted - 1))) if counted > 1 else np.nan
        return Moments(float(least), float(greatest), float(mean), deviation, counted, missing)

    def _read(self, part: int, columns: Sequence[str]) -> dict[str, np.ndarray]:
        return parts.read_part(self.folder, part, columns, self.layout.rows(part))

    def _values(self, name: str) -> Iterator[tuple[np.ndarray, int]]:
        """Go through a column's values as floats without the NaNs, with the number of NaNs."""
        for batch in self.batches([name]):
            values = batch[name].astype(np.float64, copy=False)
            held = ~np.isnan(values)
            there = int(np.count_nonzero(held))
            yield (values if there == values.size else values[held]), values.size - there

    def _ranked(self, name: str, ranks: list[int], first: np.ndarray) -> dict[int, float]:
        """Return the values that stand at given places of the sorted column.

        Parameters
        ----------
        name : str
            Of the column.
        ranks : list of int
            Places, counted from 0.
        first : ndarray of int, shape (65536,)
            How often each combination of the leading bits occurs.
        """
        # rank -> leading bits so far, and its place among the values that share them
        places = {rank: (0, rank) for rank in ranks}
        counts = {0: first}
        for known in range(_DIGIT, 64 + _DIGIT, _DIGIT):
            for rank, (prefix, place) in places.items():
                sums = np.cumsum(counts[prefix])
                digit = int(np.searchsorted(sums, place, side="right"))
                before = int(sums[digit - 1]) if digit else 0
                places[rank] = (prefix << _DIGIT | digit, place - before)
            if known == 64:
                break
            counts = {prefix: np.zeros(1 << _DIGIT, np.int64) for prefix, _ in places.values()}
            for values, _ in self._values(name):
                keys = _sortable(values)
                leading = keys >> np.uint64(64 - known)
                for prefix, count in counts.items():
                    count += _digits(keys[leading == np.uint64(prefix)], known)
        bits = np.array([prefix for prefix, _ in places.values()], dtype=np.uint64)
        return dict(zip(places, _unsorted(bits).tolist(), strict=True))


_SIGN = np.uint64(1 << 63)


def _sortable(values: np.ndarray) -> np.ndarray:
    """Return the bits of floats so that they sort as whole numbers as the floats do."""
    bits = np.ascontiguousarray(values).view(np.uint64)
    return np.where(bits & _SIGN, ~bits, bits | _SIGN)


def _unsorted(keys: np.ndarray) -> np.ndarray:
    """Return the floats of sortable bits."""
    return np.where(keys & _SIGN, keys & ~_SIGN, ~keys).view(np.float64)


def _digits(keys: np.ndarray, known: int) -> np.ndarray:
    """Count the 16 bits that follow the known leading ones."""
    digits = keys >> np.uint64(64 - known - _DIGIT) & np.uint64((1 << _DIGIT) - 1)
    return np.bincount(digits.astype(np.int64), minlength=1 << _DIGIT)


def _between(low: float, high: float, share: float) -> float:
    """Return a point between two values, rounded as `numpy.quantile` rounds it."""
    if low == high or share == 0.0:
        return low
    return low + (high - low) * share if share < 0.5 else high - (high - low) * (1.0 - share)
