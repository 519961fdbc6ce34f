"""Figures that come in an address or a form, read as everywhere."""

from __future__ import annotations

from typing import Any

from pydantic_core import PydanticCustomError

from drybuild.values import ValueFault, typed_number


def plain_figure(given: Any) -> Any:
    """A figure as typed, before its limits are looked at. What is no text goes its way."""
    if not isinstance(given, str) or not given.strip():
        return given
    try:
        return typed_number(given)
    except ValueFault as fault:
        raise PydanticCustomError(
            "figure", "found {found}, expected {expected}",
            {"found": fault.found, "expected": fault.expected},
        ) from None  # fmt: skip
