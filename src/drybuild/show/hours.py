"""Hours as people read them: what is planned to the quarter, what is reckoned in round figures."""

from __future__ import annotations

NO_BREAKS = "hours are counted without breaks"
"""No plan keeps time free for a meal: whoever reads its hours is told."""


def hours_text(hours: float) -> str:
    """A length that is planned or was typed, by the clock: ``2 h 15``, ``45 min``."""
    whole, minutes = divmod(round(hours * 60), 60)
    if not whole:
        return f"{minutes} min"
    return f"{whole} h {minutes:02d}" if minutes else f"{whole} h"


def two(figure: float) -> str:
    """Two significant figures; whole ones from ten on; nothing of what is next to nothing."""
    if abs(figure) < 0.05:
        return "0"
    return f"{figure:.0f}" if abs(figure) >= 9.95 else f"{figure:.1f}".removesuffix(".0")


def person_hours(hours: float) -> str:
    """A sum of work: ``about 30 person-hours``. No plan knows it to the quarter of an hour."""
    return f"about {two(hours)} person-hours"
