"""Facts that are lists of words or bare numbers: approvals, wetted materials, gear ratios."""

from __future__ import annotations

import re
from types import UnionType
from typing import Annotated, Any, Union, get_args, get_origin

from drybuild.build.declared import Declared, field_kind
from drybuild.build.model import Model
from drybuild.values import ValueFault, typed_number


def is_list(declared: Declared) -> bool:
    """Whether a fact is such a list: no quantity, no curve, no list of tables."""
    items = _items(declared.field.annotation)
    return bool(items) and field_kind(declared.field) is None and not any(map(_is_table, items))


def list_typed(declared: Declared, text: str) -> list[Any]:
    """The list of a file from what is typed: an item a line, or apart by semicolons.

    In a list of numbers, what is none stays as it is, and the file's model says so.
    """
    said = [" ".join(item.split()) for item in re.split(r"[;\n]", text) if item.strip()]
    numbers = float in _items(declared.field.annotation)
    return [_number_or(item) if numbers else item for item in said]


def _items(annotation: Any) -> tuple[Any, ...]:
    """What the items of a list are; empty for anything else."""
    origin, inside = get_origin(annotation), get_args(annotation)
    if origin is tuple:
        return inside
    if origin is Annotated:
        return _items(inside[0])
    if origin in (Union, UnionType):
        return next((found for one in inside if (found := _items(one))), ())
    return ()


def _is_table(annotation: Any) -> bool:
    return isinstance(annotation, type) and issubclass(annotation, Model)


def _number_or(text: str) -> Any:
    try:
        return typed_number(text)
    except ValueFault:
        return text
