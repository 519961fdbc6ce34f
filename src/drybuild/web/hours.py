"""Hours and days as somebody types them."""

from __future__ import annotations

import re
from datetime import date

from drybuild.values import ValueFault, typed_number
from drybuild.work.doing import DoneRefused

MOST = 100

CLOCK = re.compile(r"([0-9]{1,3}):([0-5]?[0-9])")


def hours_of(typed: str, field: str = "hours") -> float | None:
    """Hours as somebody types them: 1.5, 1,5, 1:30; None where nothing is typed.

    field: in which they are typed. Raises DoneRefused.
    """
    text = typed.strip()
    if not text:
        return None
    clock = CLOCK.fullmatch(text)
    try:
        found = int(clock[1]) + int(clock[2]) / 60 if clock else typed_number(text)
    except ValueFault:
        found = 0.0
    if not 0 < found <= MOST:
        raise DoneRefused(
            f"found {typed.strip()!r}, expected hours such as 1.5 or 1:30 (minutes to 59), "
            f"more than none and at most {MOST}", field=field,
        )  # fmt: skip
    return found


def is_day(typed: str, latest: date = date.max) -> bool:
    """Whether a day not after ``latest`` can be read out of it; nothing typed is today."""
    try:
        return not typed.strip() or date.fromisoformat(typed.strip()) <= latest
    except ValueError:
        return False
