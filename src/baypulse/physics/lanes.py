"""Eight numbers side by side: what a function of the core computes for eight members at once.

A processor computes with four or eight numbers as quickly as with one. numba is taught here a type
that holds :data:`LANES` of them; a function of the core that is called with it is compiled for it,
from the same text as for one number. Each lane gets what it would get alone, to the bit: sums,
quotients and roots are those of the processor, and powers are series of our own
(:mod:`baypulse.physics.lane_powers`).

A condition is one for each lane (:mod:`baypulse.physics.choice`).
"""

from __future__ import annotations

import math
import operator
from collections.abc import Callable
from typing import Any

import numpy as np
from llvmlite import ir
from numba.core import cgutils, types
from numba.core.typeconv import Conversion
from numba.extending import lower_builtin, lower_cast, models, register_model, type_callable

from baypulse.physics.choice import anywhere, where

LANES = 8
"""How many numbers are side by side: a register of the widest processors, two of most others."""

NUMBER = ir.DoubleType()
"""A number, to LLVM."""

INDEX = ir.IntType(64)
"""A whole number, to LLVM."""

VECTOR = ir.VectorType(NUMBER, LANES)
"""Numbers side by side, to LLVM."""

_BITS = ir.VectorType(ir.IntType(1), LANES)


class Lanes(types.Type):
    """Numbers side by side; a single one stands for as many that are equal."""

    def __init__(self) -> None:
        super().__init__(name="Lanes")

    def unify(self, typingctx: Any, other: Any) -> Any:
        """Return the type of a variable that is now one number and now several."""
        return self if isinstance(other, types.Number) else None

    def can_convert_from(self, typingctx: Any, other: Any) -> Any:
        """Say how a single number becomes several."""
        return Conversion.safe if isinstance(other, types.Number) else None


class Mask(types.Type):
    """A condition for each lane."""

    def __init__(self) -> None:
        super().__init__(name="Mask")


lanes, mask = Lanes(), Mask()


@register_model(Lanes)
class _LanesModel(models.PrimitiveModel):
    def __init__(self, dmm: Any, fe_type: Any) -> None:
        super().__init__(dmm, fe_type, VECTOR)


@register_model(Mask)
class _MaskModel(models.PrimitiveModel):
    def __init__(self, dmm: Any, fe_type: Any) -> None:
        super().__init__(dmm, fe_type, _BITS)


def same(value: Any, kind: Any = VECTOR) -> Any:
    """Return a constant in every lane."""
    return ir.Constant(kind, [value] * LANES)


def spread(context: Any, builder: Any, value: Any, kind: Any) -> Any:
    """Return a number of any kind in every lane."""
    if isinstance(kind, Lanes):
        return value
    number = context.cast(builder, value, kind, types.float64)
    none = ir.Constant(VECTOR, ir.Undefined)
    first = builder.insert_element(none, number, ir.Constant(ir.IntType(32), 0))
    return builder.shuffle_vector(first, none, same(0, ir.VectorType(ir.IntType(32), LANES)))


@lower_cast(types.Number, Lanes)
def _widened(context: Any, builder: Any, fromty: Any, toty: Any, value: Any) -> Any:
    return spread(context, builder, value, fromty)


def of_one(build: Callable[..., Any], *functions: Any) -> None:
    """Teach numba functions of one number."""

    def typed(context: Any) -> Any:
        return lambda a: lanes if isinstance(a, Lanes) else None

    def lowered(context: Any, builder: Any, sig: Any, args: Any) -> Any:
        return build(builder, args[0])

    for function in functions:
        type_callable(function)(typed)
        lower_builtin(function, Lanes)(lowered)


def of_two(result: Any, build: Callable[..., Any], *functions: Any) -> None:
    """Teach numba functions of two numbers, of which one may be single."""

    def typed(context: Any) -> Any:
        def typer(a: Any, b: Any) -> Any:
            several = isinstance(a, Lanes), isinstance(b, Lanes)
            good = several[0] or isinstance(a, types.Number)
            good = good and (several[1] or isinstance(b, types.Number))
            return result if any(several) and good else None

        return typer

    def lowered(context: Any, builder: Any, sig: Any, args: Any) -> Any:
        both = zip(args, sig.args, strict=True)
        return build(builder, *(spread(context, builder, value, kind) for value, kind in both))

    for function in functions:
        type_callable(function)(typed)
        for a, b in ((Lanes, Lanes), (Lanes, types.Number), (types.Number, Lanes)):
            lower_builtin(function, a, b)(lowered)


def called(name: str) -> Callable[..., Any]:
    """Return what calls a function that the processor has, of one number or of several."""

    def build(builder: Any, *args: Any) -> Any:
        of = args[0].type
        kind = ir.FunctionType(of, [of] * len(args))
        ending = f"v{LANES}f64" if of == VECTOR else "f64"
        function = cgutils.get_or_insert_function(builder.module, kind, f"llvm.{name}.{ending}")
        return builder.call(function, args)

    return build


def largest(builder: Any, a: Any, b: Any) -> Any:
    """Return the larger of two, and the first where none is: as of single numbers."""
    return builder.select(builder.fcmp_ordered(">", b, a), b, a)


def _least(builder: Any, a: Any, b: Any) -> Any:
    return builder.select(builder.fcmp_ordered("<", b, a), b, a)


def _compares(sign: str) -> Callable[..., Any]:
    return lambda builder, a, b: builder.fcmp_ordered(sign, a, b)


of_two(lanes, lambda builder, a, b: builder.fadd(a, b), operator.add, operator.iadd)
of_two(lanes, lambda builder, a, b: builder.fsub(a, b), operator.sub, operator.isub)
of_two(lanes, lambda builder, a, b: builder.fmul(a, b), operator.mul, operator.imul)
of_two(lanes, lambda builder, a, b: builder.fdiv(a, b), operator.truediv, operator.itruediv)
of_two(lanes, largest, max)
of_two(lanes, _least, min)
of_two(mask, _compares("<"), operator.lt)
of_two(mask, _compares("<="), operator.le)
of_two(mask, _compares(">"), operator.gt)
of_two(mask, _compares(">="), operator.ge)
of_two(mask, lambda builder, a, b: builder.fcmp_unordered("!=", a, b), operator.ne)
of_one(lambda builder, a: builder.fneg(a), operator.neg)
of_one(called("sqrt"), math.sqrt, np.sqrt)
of_one(called("fabs"), abs)


@type_callable(operator.and_)
def _type_both(context: Any) -> Any:
    return lambda a, b: mask if isinstance(a, Mask) and isinstance(b, Mask) else None


@lower_builtin(operator.and_, Mask, Mask)
def _both(context: Any, builder: Any, sig: Any, args: Any) -> Any:
    return builder.and_(*args)


@type_callable(where)
def _type_where(context: Any) -> Any:
    def typer(chosen: Any, one: Any, other: Any) -> Any:
        if isinstance(chosen, Mask):
            return lanes
        return types.float64 if isinstance(chosen, types.Boolean) else None

    return typer


@lower_builtin(where, Mask, types.Any, types.Any)
def _where_of_several(context: Any, builder: Any, sig: Any, args: Any) -> Any:
    both = zip(args[1:], sig.args[1:], strict=True)
    return builder.select(args[0], *(spread(context, builder, v, kind) for v, kind in both))


@lower_builtin(where, types.Boolean, types.Any, types.Any)
def _where_of_one(context: Any, builder: Any, sig: Any, args: Any) -> Any:
    both = zip(args[1:], sig.args[1:], strict=True)
    values = (context.cast(builder, v, kind, types.float64) for v, kind in both)
    return builder.select(args[0], *values)


@type_callable(anywhere)
def _type_anywhere(context: Any) -> Any:
    return lambda chosen: types.boolean if isinstance(chosen, (Mask, types.Boolean)) else None


@lower_builtin(anywhere, Mask)
def _anywhere_of_several(context: Any, builder: Any, sig: Any, args: Any) -> Any:
    bits = builder.bitcast(args[0], ir.IntType(LANES))
    return builder.icmp_unsigned("!=", bits, bits.type(0))


@lower_builtin(anywhere, types.Boolean)
def _anywhere_of_one(context: Any, builder: Any, sig: Any, args: Any) -> Any:
    return args[0]
