"""A result from Python: curves by name, units on request, a display in notebooks."""

import dataclasses
import math

import numpy as np
import pytest

from baypulse import simulate
from baypulse.case import params
from baypulse.engine.status import Status
from baypulse.errors import SolveError
from baypulse.run.result import Check, Result
from report_cases import run


def test_curves_are_arrays_of_one_length() -> None:
    result = run("separates")
    for name, curve in result.curves.items():
        assert getattr(result, name) is curve.values
        assert curve.values.shape == result.time.shape and np.all(np.isfinite(curve.values))
    assert np.all(np.diff(result.time) >= 0.0)


def test_a_wrong_name_gives_near_matches() -> None:
    with pytest.raises(AttributeError, match="did you mean gauge_pressure"):
        run("separates").guage_pressure  # noqa: B018
    with pytest.raises(AttributeError, match=r"a result has no 'zzz'$"):
        run("separates").zzz  # noqa: B018


def test_quantities_have_units() -> None:
    result = run("separates")
    psi = result.quantity("gauge_pressure", "psi")
    # 1 psi = 6894.757 Pa: NIST SP 811 (2008), appendix B.8
    assert psi.magnitude.max() * 6894.757 == pytest.approx(result.gauge_pressure.max(), rel=1e-6)
    assert str(result.quantity("travel").units) == "meter"


def test_displays() -> None:
    result = run("separates")
    assert (
        repr(result)
        == "<Result separates: separates, parachute comes out, peak 115 kPa gauge, finished>"
    )
    assert result.numbers.peak_pressure == pytest.approx(115e3, abs=500.0)
    html = result._repr_html_()
    assert "<svg" in html and "Separates, and the parachute comes out" in html
    assert "Energetic charges burn, blind and maim" in html


def test_a_solver_that_stops_early_gives_what_it_has(monkeypatch: pytest.MonkeyPatch) -> None:
    case = run("separates").case
    whole = params.parameters

    def impossible(given: object) -> object:
        # a hole that swallows everything at once
        P = whole(given)  # type: ignore[arg-type]
        return P._replace(opening_area=P.opening_area * math.nan)

    monkeypatch.setattr(params, "parameters", impossible)
    result = simulate(case)
    assert result.status == Status.LOST and not result.good
    assert result.verdict == "undecided"
    assert result.message == (
        "The solver had to stop early because the state became impossible; what it has is kept. "
        "Check the volumes and the charge."
    )
    with pytest.raises(SolveError, match="stop early") as caught:
        simulate(case, strict=True)
    assert isinstance(caught.value.result, Result)


def test_end_time_is_a_good_end_that_says_so() -> None:
    case = run("separates").case
    short = dataclasses.replace(case, run=dataclasses.replace(case.run, end_time=0.01))
    result = simulate(short)
    assert result.good and result.status == "end time" and "end_time" in result.message
    assert result.time[-1] == pytest.approx(0.01)


def test_margins_point_one_way() -> None:
    assert Check("a", 2.0, 1.0, "force", "exceed").margin == 2.0
    assert Check("a", 2.0, 1.0, "force", "stay below").margin == 0.5
    assert not Check("a", 2.0, 1.0, "force", "stay below").met
    assert Check("a", 1.0, 0.0, "force", "exceed").margin == math.inf
