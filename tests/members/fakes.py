"""A plan without bays: cheap members from a seed, slow or failing where a test wants them so."""

from __future__ import annotations

import os
import time
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np

KINDS = np.dtype([("verdict", "u1"), ("peak", "f8"), ("speed", "f8")])


@dataclass(frozen=True)
class Fake:
    """Members of three columns; a bay of verdict 0 does not separate and has no speed.

    `pause` is the time of a block [s]; `diary` a folder in which every start of a block leaves a
    file of its own, named block-process-time; `failing` a block that raises.
    """

    members: int = 40 * 64 + 7
    block_size: int = 64
    seed: int = 1
    pause: float = 0.0
    diary: Path | None = None
    failing: int = -1
    more: dict[str, Any] = field(default_factory=dict)

    @property
    def identity(self) -> dict[str, Any]:
        return {"seed": self.seed, "members": self.members, "more": self.more}

    def __call__(self, block: int) -> np.ndarray:
        if self.diary is not None:
            (self.diary / f"{block}-{os.getpid()}-{time.time_ns()}").touch()
        if block == self.failing:
            raise ArithmeticError("no root between 3 and 4")
        time.sleep(self.pause)
        rows = rows_of(self.seed, block, self.block_size)
        return rows[: self.members - block * self.block_size]


def rows_of(seed: int, block: int, size: int) -> np.ndarray:
    """Return the rows of a whole block."""
    random = np.random.default_rng(np.random.SeedSequence(seed, spawn_key=(block,)))
    rows = np.empty(size, KINDS)
    rows["verdict"] = random.integers(0, 4, size)
    rows["peak"] = random.lognormal(11.0, 0.2, size)
    rows["speed"] = np.where(rows["verdict"] == 0, np.nan, random.normal(8.0, 2.0, size))
    return rows


def table(plan: Fake) -> np.ndarray:
    """Return all members of a plan in order, made without the machine under test."""
    blocks = range(-(-plan.members // plan.block_size))
    rows = [rows_of(plan.seed, block, plan.block_size) for block in blocks]
    return np.concatenate(rows)[: plan.members]


def contents(folder: Path) -> dict[str, bytes]:
    """Return every file of a folder, by name."""
    return {place.name: place.read_bytes() for place in folder.iterdir()}
