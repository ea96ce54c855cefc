"""Code that waits for what calls it computes what the same text computes in Python."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numba
import numpy as np
import pytest

import baypulse
from baypulse.engine import stepper
from baypulse.physics.compiled import OPTIONS
from baypulse.physics.late_code import LateLibrary, join_calls

CASE = Path(__file__).parents[2] / "cases" / "bench-76.toml"

pytestmark = pytest.mark.skipif(numba.config.DISABLE_JIT, reason="nothing is compiled")


def joined(function: Callable[..., Any]) -> Any:
    compiler: Any = numba.njit
    dispatcher = compiler(**OPTIONS)(function)
    within = compiler(**OPTIONS, no_cpython_wrapper=True)(function)
    join_calls(dispatcher, within)
    dispatcher.within = within
    return dispatcher


@joined
def leaf(x: float, far: bool) -> float:
    return max(x, 2.0) * (3.0 if far else 1.0)


@joined
def middle(values: np.ndarray, far: bool) -> float:
    total = 0.0
    for m in range(values.shape[0]):
        total += leaf(values[m], far) - leaf(values[m], not far)
    return total + leaf(1.0, True)


@joined
def top(values: np.ndarray) -> float:
    return middle(values, True) + 10.0 * middle(values, False) + leaf(values[0], False)


def expected(values: np.ndarray) -> float:
    bare = np.maximum(values, 2.0)
    return float(2.0 * bare.sum() + 6.0 + 10.0 * (6.0 - 2.0 * bare.sum()) + bare[0])


def libraries(dispatcher: Any) -> list[Any]:
    return [each.library for each in dispatcher.overloads.values()]


def test_machine_code_is_made_of_what_python_calls_only() -> None:
    values = np.array([1.0, 5.0, 2.5])
    assert top(values) == expected(values)
    (made,) = libraries(top)
    assert isinstance(made, LateLibrary) and not made.late
    assert not libraries(leaf) and not libraries(middle)
    # one form serves constant and computed flags
    assert [each.late for each in libraries(leaf.within) + libraries(middle.within)] == [True] * 2


def test_what_waited_can_be_called_from_python_too() -> None:
    values = np.array([1.0, 5.0, 2.5])
    assert top(values) == expected(values)
    assert leaf(7.0, True) == 21.0 and leaf(1.0, False) == 2.0
    assert middle(values, True) == 2.0 * (2.0 + 5.0 + 2.5) + 6.0


def test_functions_of_others_are_compiled_as_ever_and_may_call_ours() -> None:
    @numba.njit
    def theirs(x: float) -> float:
        return leaf(x, True) + np.sqrt(x)

    assert theirs(4.0) == 14.0
    (made,) = libraries(theirs)
    assert not made.late


def test_nothing_else_calls_what_waited_so_its_arguments_go_as_suits_it() -> None:
    baypulse.simulate(baypulse.load(CASE))
    (made,) = libraries(stepper.advance_arrays)
    (called,) = [
        each for each in made._get_module_for_linking().functions if "5rates5rates" in each.name
    ]
    assert called.linkage.name == "internal"
