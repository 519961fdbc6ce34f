"""Memory that was freed, handed back to the system.

The C library of most Linux systems keeps it for the thread that had it; a solver's threads, or the
next page's, take new memory beside it. An examination holds a hundred megabytes for half a second.
"""

from __future__ import annotations

import ctypes
from functools import cache
from typing import Any


@cache
def _trim() -> Any:
    try:
        return ctypes.CDLL(None).malloc_trim
    except (AttributeError, OSError, TypeError):
        return None  # a system that does without


def give_back() -> bool:
    """Hand it back, where there is a way to. Whether there is one."""
    trim = _trim()
    if trim is not None:
        trim(0)
    return trim is not None
