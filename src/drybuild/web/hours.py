"""Hours as somebody types them."""

from __future__ import annotations

from drybuild.work.doing import DoneRefused

MOST = 100


def hours_of(typed: str) -> float | None:
    """Hours as somebody types them: 1.5, 1,5, 1:30; None where nothing is typed.

    Raises DoneRefused.
    """
    text = typed.strip().replace(",", ".")
    if not text:
        return None
    whole, colon, minutes = text.partition(":")
    try:
        found = float(whole) + (int(minutes) / 60 if colon else 0.0)
    except ValueError:
        found = -1.0
    if not 0 < found <= MOST:
        raise DoneRefused(f"found {typed.strip()!r}, expected hours such as 1.5 or 1:30")
    return found
