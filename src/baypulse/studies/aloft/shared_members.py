"""The same members in several variants of a case: what two variants share has one score."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from baypulse.case.model import Case
from baypulse.members import draws
from baypulse.members.factors import Factor, factors


class SharedMembers:
    """Members that can be drawn for any of several variants.

    Parameters
    ----------
    variants : sequence of Case
        In which different numbers may scatter.
    extra : sequence of Factor
        What scatters besides, where a variant asks for it.
    members : int
        How many.
    seed : int
        The same seed and variants give the same members.

    Attributes
    ----------
    members : int
        How many there are.
    """

    def __init__(
        self, variants: Sequence[Case], extra: Sequence[Factor], members: int, seed: int
    ) -> None:
        self.members = members
        self._columns: dict[str, tuple[int, ...]] = {}
        used = 0
        for factor in [*(f for case in variants for f in factors(case)), *extra]:
            if factor.name not in self._columns:
                count = len(factor.columns)
                self._columns[factor.name] = tuple(range(used, used + count))
                used += count
        self._points = draws.many_points(seed, members, used)

    def leave_out(self, impossible: np.ndarray) -> None:
        """Leave members out for good.

        Parameters
        ----------
        impossible : ndarray of bool, shape (members,)
            Which.
        """
        if impossible.any():
            self._points = self._points[~impossible]
            self.members = self._points.shape[0]

    @property
    def scattering(self) -> bool:
        """Whether anything scatters at all."""
        return bool(self._columns)

    def values(self, case: Case, extra: Sequence[Factor] = ()) -> dict[str, np.ndarray]:
        """Return what every member's values are in one variant.

        Parameters
        ----------
        case : Case
            One of the variants.
        extra : sequence of Factor
            What scatters besides.

        Returns
        -------
        dict
            By path, arrays of shape (members,) or (members, pins).
        """
        own = {factor.name: factor for factor in [*factors(case), *extra]}
        moved = [replace(each, columns=self._columns[name]) for name, each in own.items()]
        return draws.values(case, moved, self._points)
