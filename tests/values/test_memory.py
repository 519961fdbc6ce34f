"""Memory that was freed is handed back where the C library can."""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import pytest

from drybuild.values.memory import give_back


def _resident() -> int:
    pages = int(Path("/proc/self/statm").read_text(encoding="ascii").split()[1])
    return pages * 4096


@pytest.mark.skipif(sys.platform != "linux", reason="asks Linux what the process holds")
def test_what_was_freed_in_small_pieces_is_handed_back():
    held = [np.ones(4096) for _ in range(3000)]  # columns as an examination holds them
    last = np.ones(4096)  # what lies behind them keeps the heap from shrinking by itself
    held.append(last)
    del held
    before = _resident()
    if not give_back():
        pytest.skip("a C library without malloc_trim")
    assert before - _resident() > 50e6
    assert last[0] == 1.0
