"""The unit in which a value is typed does not change the result."""

import math

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from baypulse.case import casefile
from baypulse.run.simulation import simulate

CASE = """
title = "units"
[powder]
grade = "3F"
mass = "{mass}"
[bay]
bore = "{bore}"
tube_length = "{length}"
wall = "fibre glass"
wall_thickness = "2 mm"
[nose]
mass = "{nose}"
[airframe]
mass = "2 kg"
[joint]
shoulder_length = "75 mm"
pull_off = "{pull}"
[limits]
bay_pressure = "{limit}"
"""


# factors by definition: NIST SP 811 (2008), appendix B
@settings(max_examples=15)
@given(
    grams=st.floats(0.2, 1.0),
    bore=st.floats(0.07, 0.08),
    length=st.floats(0.25, 0.5),
    nose=st.floats(0.3, 2.0),
    pull=st.floats(5.0, 60.0),
)
# its event lay where two ways to it met, so that rounding decided which was gone
@example(
    grams=0.998046875, bore=0.07102292763531921, length=0.421875, nose=0.8541557273031226, pull=8.0
)
def test_inches_pounds_and_grains_give_what_si_gives(
    grams: float, bore: float, length: float, nose: float, pull: float
) -> None:
    si = CASE.format(
        mass=f"{grams!r} g", bore=f"{bore!r} m", length=f"{length!r} m", nose=f"{nose!r} kg",
        pull=f"{pull!r} N", limit="400 kPa gauge",
    )  # fmt: skip
    customary = CASE.format(
        mass=f"{grams / 0.06479891!r} grain", bore=f"{bore / 0.0254!r} in",
        length=f"{length / 0.3048!r} ft", nose=f"{nose / 0.45359237!r} lb",
        pull=f"{pull / 4.4482216152605!r} lbf", limit="58.0150951 psig",
    )  # fmt: skip
    one = simulate(casefile.reads(si, "si", "si.toml"))
    two = simulate(casefile.reads(customary, "customary", "customary.toml"))
    assert one.verdict == two.verdict
    assert one.numbers.peak_pressure == pytest.approx(two.numbers.peak_pressure, rel=1e-9)
    assert one.numbers.burnt == pytest.approx(two.numbers.burnt, rel=1e-9)
    assert math.isclose(one.time[-1], two.time[-1], rel_tol=1e-6)
