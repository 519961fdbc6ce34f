"""Readers that go wrong on purpose, for the worker that must bear them."""

from __future__ import annotations

import os
import sys
import time
from pathlib import Path


def spin(data: bytes) -> str:
    """Works without an end."""
    while True:
        data = data[1:] + data[:1]


def sleep(data: bytes) -> str:
    """Does nothing without an end."""
    time.sleep(600)
    return ""


def devour(data: bytes) -> str:
    """Takes all the memory that it gets."""
    kept = []
    while True:
        kept.append(bytearray(50_000_000))


def fall_over(data: bytes) -> str:
    """Ends the process from inside."""
    os.abort()


def deep(data: bytes) -> str:
    """Calls itself until Python says no."""
    return deep(data)


def talk(data: bytes) -> str:
    """Says more than anybody reads."""
    while True:
        sys.stdout.write("a" * 1_000_000)


def write(data: bytes, *, path: str) -> str:
    """Writes a file."""
    Path(path).write_bytes(data)
    return "written"


def fine(data: bytes) -> int:
    """Says how long it is."""
    return len(data)
