"""Hours as somebody types them."""

from __future__ import annotations

import pytest

from drybuild.web.hours import hours_of
from drybuild.work.doing import DoneRefused


@pytest.mark.parametrize(
    ("typed", "hours"), [("1.5", 1.5), ("1,5", 1.5), ("1:30", 1.5), ("0:15", 0.25), (" ", None)]
)
def test_hours_as_somebody_types_them(typed: str, hours: float | None) -> None:
    assert hours_of(typed) == hours


@pytest.mark.parametrize(
    "typed",
    [
        "x",
        "0",
        "-2",
        "1:x",
        "nan",
        "1e9",
        "1:90",
        "1:60",
        "1:-30",
        "1_5",
        "1:3_0",
        "-0:30",
        "1.5:30",
        "1:",
        ":30",
        "1,234",
        "²",
        "101",
    ],
)
def test_hours_that_are_none(typed: str) -> None:
    with pytest.raises(DoneRefused, match="expected hours"):
        hours_of(typed)
