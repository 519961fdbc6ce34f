"""What the commands share: the one error of the command itself, and what the output can carry."""

from __future__ import annotations

import sys


class Refused(Exception):
    """Something asked for that cannot be done; the text says what would do."""


def in_utf8() -> bool:
    """Whether the output takes every sign; JSON is escaped where it does not."""
    return (sys.stdout.encoding or "").lower().replace("-", "") == "utf8"
