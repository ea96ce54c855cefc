"""How far sections slide, against v^2/(2 mu g) and against the engine's own run.

A body that slides on level ground loses its kinetic energy to friction, m v^2/2 = mu m g x (any
text on mechanics).
"""

from __future__ import annotations

import math
import warnings
from functools import cache

import numpy as np
import pytest

from baypulse.case.casefile import reads
from baypulse.case.model import Case
from baypulse.observed.slide_distance import (
    LANDED,
    nose_share,
    slides,
    sliding_distance,
    without_cord,
)
from baypulse.run.result import Result
from baypulse.run.simulation import simulate
from report_cases import BENCH, without

G = 9.80665
"""Standard gravity, by definition (CGPM 1901)."""

FREE = without(without(BENCH, "cord"), "contents")


@cache
def shot(kind: str, cord: str = "", more: str = "", mass: str = "0.50 g") -> Result:
    slides = "" if "friction" in more else "ground_friction = 0.4"
    setting = f'[setting]\nkind = "{kind}"\n{slides}\n{more}\n\n'
    text = FREE.replace("[limits]", setting + "[limits]").replace('"1.00 g"', f'"{mass}"')
    if cord:
        tail = f'[cord]\ntype = "tubular nylon 9/16 in"\nlength = "{cord}"\n\n[limits]'
        text = text.replace("[limits]", tail)
    text += '\n[run]\nend_time = "30 s"\n'
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return simulate(reads(text, "slide"))


def case_of(kind: str) -> Case:
    return shot(kind).case


@pytest.mark.parametrize("speed", [0.0, 0.3, 12.0])
@pytest.mark.parametrize("friction", [0.1, 0.4, 1.2])
def test_on_level_ground_it_is_the_textbooks(speed: float, friction: float) -> None:
    assert sliding_distance(speed, friction) == pytest.approx(speed**2 / (2.0 * friction * G))


@pytest.mark.parametrize("slope", [-0.2, 0.1, 0.5 * math.pi])
def test_on_a_slope_the_energy_goes_into_friction_and_height(slope: float) -> None:
    speed, friction = 7.0, 0.4
    way = sliding_distance(speed, friction, slope)
    spent = G * way * (friction * math.cos(slope) + math.sin(slope))
    assert spent == pytest.approx(0.5 * speed**2)


def test_without_friction_or_down_a_steep_slope_nothing_stops_it() -> None:
    assert sliding_distance(1.0, 0.0) == math.inf
    assert sliding_distance(1.0, 0.4, -0.5) == math.inf
    assert sliding_distance(0.0, 0.0) == 0.0


def test_the_engines_free_nose_slides_as_far() -> None:
    """A cord that never pulls lets the engine run until the section rests by friction."""
    result = shot("clamped", "190 m")
    over = result.event("gas over")
    at = int(np.searchsorted(result.time, over.time))
    speed, begun = result.nose_velocity[at], result.nose_position[at]
    assert speed > 5.0
    way = begun + speed**2 / (2.0 * 0.4 * G)
    assert result.nose_velocity[-1] == 0.0
    assert result.nose_position[-1] == pytest.approx(way, rel=1e-5)
    nose, airframe = slides(result, math.nan)
    assert (nose.stopped_by, nose.computed) == ("friction", True)
    assert nose.distance == pytest.approx(way, rel=1e-5)
    assert (airframe.distance, airframe.stopped_by) == (0.0, "clamped")


@pytest.mark.parametrize("kind", ["clamped", "stand"])
def test_the_formula_goes_on_where_the_run_ends(kind: str) -> None:
    """Without a cord the run ends with the gas; the formula must end where the long run does."""
    ended, whole = shot(kind), shot(kind, "190 m")
    assert ended.nose_velocity[-1] > 5.0
    (nose, airframe), (whole_nose, whole_airframe) = (slides(r, math.nan) for r in (ended, whole))
    assert not nose.computed and whole_nose.computed
    assert nose.distance == pytest.approx(whole_nose.distance, rel=1e-3)
    assert airframe.stopped_by == whole_airframe.stopped_by
    # the engine's stand carries the weight of both sections all the way, the formula's its own
    assert whole_airframe.distance <= airframe.distance <= 1.3 * whole_airframe.distance


def test_a_short_cord_stops_it_first() -> None:
    result = shot("clamped", "4 m")
    nose, _ = slides(result, math.nan)
    assert (nose.stopped_by, nose.computed) == ("cord", True)
    # as far as the cord reaches from the far face of the bay, and its stretch
    reach = 4.0 - (0.320 - 0.076)
    assert reach < nose.distance < 1.4 * reach
    assert without_cord(result.case, result.numbers.clear_velocity) > nose.distance


def test_a_shot_that_stays_shut_goes_nowhere_unless_others_open() -> None:
    result = shot("clamped", "190 m", mass="0.02 g")
    assert result.verdict == "no separation"
    nose, _ = slides(result, math.nan)
    assert nose.stopped_by == "joint"
    assert nose.distance < 2e-3
    nose, _ = slides(result, 6.0)
    assert (nose.stopped_by, nose.computed) == ("friction", False)
    assert nose.distance == pytest.approx(0.076 + 36.0 / (2.0 * 0.4 * G))
    short = shot("clamped", "2 m", mass="0.02 g")
    nose, _ = slides(short, 6.0)
    assert nose.stopped_by == "cord"
    assert nose.distance == pytest.approx(2.0 - (0.320 - 0.076))


def test_on_a_stand_both_sections_share_the_speed_as_momentum_says() -> None:
    """Equal momenta (Newton's third law), but for the stand's friction during the push."""
    result = shot("stand", "190 m")
    at = int(np.searchsorted(result.time, result.event("clear").time))
    share = result.nose_velocity[at] / result.separation_velocity[at]
    assert nose_share(result.case) == pytest.approx(1.9 / (1.9 + 0.48))
    assert share == pytest.approx(nose_share(result.case), rel=0.03)
    assert nose_share(case_of("clamped")) == 1.0


def test_the_airframe_slides_back_on_its_stand() -> None:
    result = shot("stand", "190 m")
    _, airframe = slides(result, math.nan)
    assert (airframe.stopped_by, airframe.computed) == ("friction", True)
    assert airframe.distance == pytest.approx(-result.airframe_position.min())
    # the engine's stand has the friction of the whole rocket
    over = int(np.searchsorted(result.time, result.event("gas over").time))
    slowing = 0.4 * G * (1.9 + 0.48) / 1.9
    way = -result.airframe_position[over] + result.airframe_velocity[over] ** 2 / (2.0 * slowing)
    assert airframe.distance == pytest.approx(way, rel=1e-4)


def test_nothing_stops_a_section_down_a_steep_slope() -> None:
    # steeper than the angle of friction, atan(0.4) = 21.8 deg
    result = shot("clamped", more='attitude = "-30 deg"')
    nose, _ = slides(result, math.nan)
    assert (nose.distance, nose.stopped_by) == (math.inf, "nothing")


def test_a_nose_that_leaves_through_the_air_is_taken_to_slide_where_it_lands() -> None:
    result = shot("clamped", more="ground_friction = 0.0")
    speed = result.nose_velocity[-1]
    assert speed == result.nose_velocity[-2] > 10.0
    nose, _ = slides(result, math.nan)
    way = result.nose_position[-1] + speed**2 / (2.0 * LANDED * G)
    assert nose.distance == pytest.approx(way)
    assert without_cord(result.case, 5.0) == pytest.approx(0.076 + 25.0 / (2.0 * LANDED * G))
