"""Tables and records of numbers side by side, which the core reads like those of one member."""

from __future__ import annotations

import operator
from typing import Any

from llvmlite import ir
from numba.core import cgutils, types
from numba.core.typing.templates import AttributeTemplate, infer_getattr
from numba.extending import (
    intrinsic,
    lower_builtin,
    lower_getattr_generic,
    models,
    register_model,
    type_callable,
)

from baypulse.physics.lanes import INDEX, LANES, NUMBER, VECTOR, Lanes, lanes, spread

WORD = 8
"""Bytes of a number."""


class LaneTable(types.Type):
    """A table of numbers side by side, with one index or two."""

    def __init__(self) -> None:
        super().__init__(name="LaneTable")


class LaneRecord(types.Type):
    """The records of several members of one case; whole numbers are the same in all of them."""

    def __init__(self, record: Any) -> None:
        self.record = record
        super().__init__(name=f"LaneRecord({record})")


class LaneField(types.Type):
    """An array of the records of several members, from a word on; its rows are so long."""

    def __init__(self, word: int, row: int) -> None:
        self.word, self.row = word, row
        super().__init__(name=f"LaneField({word}, {row})")


lane_table = LaneTable()

_DATA = types.CPointer(types.float64)


@register_model(LaneTable)
class _TableModel(models.StructModel):
    def __init__(self, dmm: Any, fe_type: Any) -> None:
        members = [("data", _DATA), ("rows", types.intp), ("columns", types.intp)]
        super().__init__(dmm, fe_type, members)


@register_model(LaneRecord)
class _RecordModel(models.StructModel):
    def __init__(self, dmm: Any, fe_type: Any) -> None:
        super().__init__(dmm, fe_type, [("data", _DATA), ("first", fe_type.record)])


@register_model(LaneField)
class _FieldModel(models.PrimitiveModel):
    def __init__(self, dmm: Any, fe_type: Any) -> None:
        super().__init__(dmm, fe_type, NUMBER.as_pointer())


def _place(builder: Any, data: Any, number: Any) -> Any:
    """Return where the numbers of a place lie."""
    at = builder.gep(data, [builder.mul(number, ir.Constant(INDEX, LANES))])
    return builder.bitcast(at, VECTOR.as_pointer())


def _load(builder: Any, place: Any) -> Any:
    found = builder.load(place)
    found.align = WORD
    return found


def _number_of(context: Any, builder: Any, kind: Any, index: Any, row: Any) -> Any:
    """Return which place an index of one number or two names, in rows that are so long."""
    if not isinstance(kind, types.BaseTuple):
        return context.cast(builder, index, kind, types.intp)
    of: Any = kind
    held = zip(cgutils.unpack_tuple(builder, index), of, strict=True)
    first, second = (context.cast(builder, each, kind, types.intp) for each, kind in held)
    return builder.add(builder.mul(first, row), second)


def _in_table(context: Any, builder: Any, table: Any, kind: Any, index: Any) -> Any:
    held = cgutils.create_struct_proxy(lane_table)(context, builder, value=table)
    number = _number_of(context, builder, kind, index, held.columns)
    return _place(builder, held.data, number)


@type_callable(operator.getitem)
def _type_getitem(context: Any) -> Any:
    return lambda held, index: lanes if isinstance(held, (LaneTable, LaneField)) else None


@lower_builtin(operator.getitem, LaneTable, types.Any)
def _of_table(context: Any, builder: Any, sig: Any, args: Any) -> Any:
    return _load(builder, _in_table(context, builder, args[0], sig.args[1], args[1]))


@lower_builtin(operator.getitem, LaneField, types.Any)
def _of_field(context: Any, builder: Any, sig: Any, args: Any) -> Any:
    field, kind = sig.args
    number = _number_of(context, builder, kind, args[1], ir.Constant(INDEX, field.row))
    return _load(builder, _place(builder, args[0], number))


@type_callable(operator.setitem)
def _type_setitem(context: Any) -> Any:
    def typer(held: Any, index: Any, value: Any) -> Any:
        good = isinstance(held, LaneTable) and isinstance(value, (Lanes, types.Number))
        return types.none if good else None

    return typer


@lower_builtin(operator.setitem, LaneTable, types.Any, types.Any)
def _into_table(context: Any, builder: Any, sig: Any, args: Any) -> Any:
    place = _in_table(context, builder, args[0], sig.args[1], args[1])
    builder.store(spread(context, builder, args[2], sig.args[2]), place).align = WORD
    return context.get_dummy_value()


@infer_getattr
class _TableAttributes(AttributeTemplate):
    key = LaneTable

    def resolve_shape(self, table: Any) -> Any:
        return types.UniTuple(types.intp, 2)


@lower_getattr_generic(LaneTable)
def _table_attribute(context: Any, builder: Any, kind: Any, value: Any, name: str) -> Any:
    held = cgutils.create_struct_proxy(lane_table)(context, builder, value=value)
    return context.make_tuple(builder, types.UniTuple(types.intp, 2), [held.rows, held.columns])


def _is_number(field: Any) -> bool:
    """Say whether a field of a record holds numbers that may differ between members."""
    return isinstance(getattr(field, "dtype", field), types.Float)


@infer_getattr
class _RecordAttributes(AttributeTemplate):
    key = LaneRecord

    def generic_resolve(self, held: Any, name: str) -> Any:  # type: ignore[override]
        field = held.record.typeof(name)
        several = isinstance(field, types.NestedArray)
        if not _is_number(field):
            return types.Array(field.dtype, field.ndim, "C") if several else field
        if several:
            return LaneField(held.record.offset(name) // WORD, field.shape[-1])
        return lanes


@lower_getattr_generic(LaneRecord)
def _record_attribute(context: Any, builder: Any, kind: Any, value: Any, name: str) -> Any:
    held = cgutils.create_struct_proxy(kind)(context, builder, value=value)
    record = kind.record
    if not _is_number(record.typeof(name)):
        return context.get_getattr(record, name)(context, builder, record, held.first, name)
    word = ir.Constant(INDEX, record.offset(name) // WORD)
    if isinstance(record.typeof(name), types.NestedArray):
        return builder.gep(held.data, [builder.mul(word, ir.Constant(INDEX, LANES))])
    return _load(builder, _place(builder, held.data, word))


def _table_of(typingctx: Any, array: Any) -> Any:
    """Return an array, whose last axis has the lanes, as a table of the axes before it."""

    def codegen(context: Any, builder: Any, sig: Any, args: Any) -> Any:
        given = context.make_array(sig.args[0])(context, builder, args[0])
        axes = cgutils.unpack_tuple(builder, given.shape)
        made = cgutils.create_struct_proxy(lane_table)(context, builder)
        made.data, made.rows = given.data, axes[0]
        made.columns = axes[1] if len(axes) > 2 else ir.Constant(INDEX, 1)
        return made._getvalue()

    return lane_table(array), codegen


def _records_of(typingctx: Any, array: Any, first: Any) -> Any:
    """Return the numbers of records, a word a row, as records; whole numbers are the first's."""
    result = LaneRecord(first)

    def codegen(context: Any, builder: Any, sig: Any, args: Any) -> Any:
        given = context.make_array(sig.args[0])(context, builder, args[0])
        made = cgutils.create_struct_proxy(result)(context, builder)
        made.data, made.first = given.data, args[1]
        return made._getvalue()

    return result(array, first), codegen


table_of: Any = intrinsic(_table_of)
records_of: Any = intrinsic(_records_of)
