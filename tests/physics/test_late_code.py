"""Code that waits for what calls it computes what the same text computes in Python."""

from __future__ import annotations

import math
import sys
from collections.abc import Callable
from typing import Any

import numba
import numpy as np
import pytest
from llvmlite import binding as llvm

from baypulse.physics.compiled import OPTIONS
from baypulse.physics.late_code import LateLibrary, join_calls

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


@joined
def wave(x: float) -> float:
    return math.exp(math.sin(x)) + math.log(2.0 + math.cos(x)) + math.atan(x)


@joined
def long(x: float) -> float:
    x = wave(wave(wave(wave(wave(x)))))
    x = wave(wave(wave(wave(wave(x)))))
    return wave(wave(wave(wave(wave(x)))))


@joined
def twice(x: float) -> float:
    return long(x) + long(-x)


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
    assert twice(0.3) == long.py_func(0.3) + long.py_func(-0.3)
    (made,) = libraries(twice)
    (called,) = [each for each in made.get_defined_functions() if "4longB" in each.name]
    assert called.linkage.name == "internal"


def test_of_what_python_calls_only_the_names_are_kept_beside_its_code() -> None:
    assert twice(0.3) == long.py_func(0.3) + long.py_func(-0.3)
    (made,) = libraries(twice)
    _, kind, (code, within) = made.serialize_using_object_code()
    kept = llvm.parse_bitcode(within)
    assert (kind == "object" and b"ELF" in code[:4]) or sys.platform != "linux"
    assert not list(kept.functions)
    own = {each.name for each in made.get_defined_functions() if each.linkage.name == "external"}
    assert own and own <= {each.name for each in kept.global_variables}
