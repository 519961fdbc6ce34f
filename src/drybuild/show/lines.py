"""Words one after the other: in a list, and on lines of the width of the reader's screen."""

from __future__ import annotations

import re
from collections.abc import Iterable
from shutil import get_terminal_size
from textwrap import wrap

NARROW, WIDE = 72, 100

UNIT = re.compile(r"(?<=\d) (?=%|(?:mm|deg|kg|g|km/h|bar|h|min|L|N|kN|V|A|°C)(?![\w/]))")
HELD = "\u00a0"
"""A figure and its unit stay on one line."""


def width() -> int:
    """Columns to fill: the screen's, within what reads well; 100 where there is no screen."""
    return max(NARROW, min(WIDE, get_terminal_size((WIDE, 24)).columns))


def wrapped(text: str, indent: int) -> list[str]:
    """A line broken between words; what follows the first is set in by ``indent``."""
    if len(text) <= width():
        return [text]
    lines = wrap(
        UNIT.sub(HELD, text), width(), subsequent_indent=" " * indent,
        drop_whitespace=True, break_long_words=False, break_on_hyphens=False,
        replace_whitespace=False,
    )  # fmt: skip
    return [line.replace(HELD, " ") for line in lines]


def percent(share: float) -> str:
    """A share as it is read: ``28 %``."""
    return f"{100 * share:.0f} %"


def listed(words: Iterable[str]) -> str:
    """``a``, ``a and b``, ``a, b and c``."""
    *before, last = list(words) or [""]
    return f"{', '.join(before)} and {last}" if before else last


def numbers_text(numbers: Iterable[int], mark: str = "") -> str:
    """``3, 7 to 9``; with a mark before each: ``R3, R7 to R9``."""
    left = sorted(numbers)
    said: list[str] = []
    while left:
        first = last = left.pop(0)
        while left and left[0] == last + 1:
            last = left.pop(0)
        if last > first + 1:
            said.append(f"{mark}{first} to {mark}{last}")
        else:
            said += [f"{mark}{n}" for n in range(first, last + 1)]
    return ", ".join(said)
