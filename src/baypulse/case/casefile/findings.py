"""What a check of a case yields, and how its sentences write the numbers that they name."""

from __future__ import annotations

from functools import partial

from baypulse.case.quantities import show

Finding = tuple[str, str]
"""Path of the key that the line is taken from, and the sentence."""

length = partial(show, dimension="length")
"""Write a length."""

area = partial(show, dimension="area")
"""Write an area."""

volume = partial(show, dimension="volume")
"""Write a volume."""

mass = partial(show, dimension="mass")
"""Write a mass."""

air_pressure = partial(show, dimension="absolute pressure")
"""Write the pressure of the air."""
