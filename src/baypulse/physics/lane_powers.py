"""Machine code of powers, logarithms and exponentials, of one number as of several side by side.

:mod:`baypulse.physics.powers` says what they are. They are series, to some 1e-15 of the value: a
function of a library computes one number after the other.

References
----------
Muller et al., Handbook of Floating-Point Arithmetic, 2nd ed. (2018), ch. 10 (the reductions; from
memory); Knuth, The Art of Computer Programming, vol. 2, 4.6.4 (Estrin's order; from memory).
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

from llvmlite import ir
from numba.core import types
from numba.extending import lower_builtin, type_callable

from baypulse.physics import powers
from baypulse.physics.lanes import (
    INDEX,
    LANES,
    NUMBER,
    VECTOR,
    called,
    lanes,
    largest,
    of_one,
    of_two,
    same,
)

LN2 = math.log(2.0)

LOG2 = [2.0 / LN2 / (2 * n + 1) for n in range(11)]
"""log2 m = s (these over the powers of s^2), s = (m - 1)/(m + 1): |s| is 0.172 at most."""

EXP2 = [LN2**n / math.factorial(n) for n in range(14)]
"""2^f over the powers of f, which is 0.5 at most."""

EXPM1 = [1.0 / math.factorial(n + 1) for n in range(13)]
"""(e^x - 1)/x over the powers of x, up to NEAR."""

LOG1P = [2.0 / (2 * n + 1) for n in range(10)]
"""ln(1 + x) = s (these over the powers of s^2), s = x/(2 + x), up to NEAR."""

NEAR = 0.25
"""Up to where expm1 and log1p have series of their own."""

ROOT_HALF = 0x3FE6A09E667F3BCD
"""The bits of the root of 1/2."""

WHOLE = 6755399441055744.0
"""1.5 times 2^52: what is added to it becomes a whole number."""

FRACTION = 52
"""Bits of a number's fraction; those of its exponent follow."""

BIAS = 1023
"""Exponent of 1."""

LEAST, MOST = -1021.0, 1023.0
"""Exponents between which numbers are found."""

_WORDS = ir.VectorType(INDEX, LANES)


def _number(like: Any, value: float) -> Any:
    """Return a constant, in every lane where there are lanes."""
    return same(value) if like.type == VECTOR else ir.Constant(NUMBER, value)


def _word(like: Any, value: int) -> Any:
    return same(value, _WORDS) if like.type == VECTOR else ir.Constant(INDEX, value)


def _bits(builder: Any, x: Any) -> Any:
    return builder.bitcast(x, _WORDS if x.type == VECTOR else INDEX)


def _series(builder: Any, x: Any, numbers: list[float]) -> Any:
    """Return a polynomial by halves (Estrin), so that no term waits for all others."""
    terms, power, add = [_number(x, value) for value in numbers], x, called("fmuladd")
    while len(terms) > 1:
        pairs = [add(builder, terms[k + 1], power, terms[k]) for k in range(0, len(terms) - 1, 2)]
        terms = pairs + terms[2 * len(pairs) :]
        power = builder.fmul(power, power) if len(terms) > 1 else power
    return terms[0]


def _log2(builder: Any, x: Any) -> Any:
    """Return the logarithm of positive numbers: x = 2^k m, m from the root of 1/2 to that of 2."""
    bits, shift = _bits(builder, x), _word(x, FRACTION)
    k = builder.ashr(builder.sub(bits, _word(x, ROOT_HALF)), shift)
    m = builder.bitcast(builder.sub(bits, builder.shl(k, shift)), x.type)
    s = builder.fdiv(builder.fsub(m, _number(x, 1.0)), builder.fadd(m, _number(x, 1.0)))
    part = builder.fmul(s, _series(builder, builder.fmul(s, s), LOG2))
    return builder.fadd(builder.sitofp(k, x.type), part)


def _exp2(builder: Any, x: Any) -> Any:
    """Return 2^x; an exponent beyond the LEAST or the MOST counts as that."""
    held = largest(builder, _number(x, LEAST), x)
    held = builder.select(builder.fcmp_ordered("<", held, _number(x, MOST)), held, _number(x, MOST))
    moved = builder.fadd(held, _number(x, WHOLE))
    rest = builder.fsub(held, builder.fsub(moved, _number(x, WHOLE)))
    exponent = builder.add(_bits(builder, moved), _word(x, BIAS))
    power = builder.bitcast(builder.shl(exponent, _word(x, FRACTION)), x.type)
    return builder.fmul(power, _series(builder, rest, EXP2))


def _power(builder: Any, x: Any, y: Any) -> Any:
    found = _exp2(builder, builder.fmul(y, _log2(builder, x)))
    return _of_positive(builder, x, called("sqrt")(builder, x), found)


def _exp(builder: Any, x: Any) -> Any:
    return _exp2(builder, builder.fmul(x, _number(x, 1.0 / LN2)))


def _log(builder: Any, x: Any) -> Any:
    return _of_positive(builder, x, _number(x, math.nan), _natural(builder, x))


def _natural(builder: Any, x: Any) -> Any:
    return builder.fmul(_log2(builder, x), _number(x, LN2))


def _of_positive(builder: Any, x: Any, otherwise: Any, found: Any) -> Any:
    """Return what was found of a positive number: of none, and of one below 0, that is none."""
    return builder.select(builder.fcmp_ordered(">", x, _number(x, 0.0)), found, otherwise)


def _of_number(builder: Any, x: Any, found: Any) -> Any:
    """Return what was found of a number; of none, none."""
    return builder.select(builder.fcmp_ordered("==", x, x), found, x)


def _is_near(builder: Any, x: Any) -> Any:
    return builder.fcmp_ordered("<", called("fabs")(builder, x), _number(x, NEAR))


def _expm1(builder: Any, x: Any) -> Any:
    far = builder.fsub(_exp(builder, x), _number(x, 1.0))
    near = builder.fmul(x, _series(builder, x, EXPM1))
    return _of_number(builder, x, builder.select(_is_near(builder, x), near, far))


def _log1p(builder: Any, x: Any) -> Any:
    s = builder.fdiv(x, builder.fadd(x, _number(x, 2.0)))
    near = builder.fmul(s, _series(builder, builder.fmul(s, s), LOG1P))
    far = _natural(builder, builder.fadd(x, _number(x, 1.0)))
    return _of_number(builder, x, builder.select(_is_near(builder, x), near, far))


def _of_single(function: Any, build: Callable[..., Any], arguments: int) -> None:
    """Teach numba the same series of single numbers."""

    def result(*given: Any) -> Any:
        return types.float64 if all(isinstance(each, types.Number) for each in given) else None

    def of_x(context: Any) -> Any:
        return lambda x: result(x)

    def of_x_and_y(context: Any) -> Any:
        return lambda x, y: result(x, y)

    def lowered(context: Any, builder: Any, sig: Any, args: Any) -> Any:
        each = zip(args, sig.args, strict=True)
        return build(builder, *(context.cast(builder, v, kind, types.float64) for v, kind in each))

    type_callable(function)(of_x if arguments == 1 else of_x_and_y)
    lower_builtin(function, *[types.Number] * arguments)(lowered)


of_two(lanes, _power, powers.power)
_of_single(powers.power, _power, 2)
for _function, _build in (
    (powers.expm1, _expm1), (powers.log, _log), (powers.log1p, _log1p)
):  # fmt: skip
    of_one(_build, _function)
    _of_single(_function, _build, 1)
