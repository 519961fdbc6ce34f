"""Words of what is wanted earlier than by the plan before."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime, time

from drybuild.show.cards_words import amount_text, short_day
from drybuild.work.shopping import Item
from drybuild.work.wanted import Earlier


def wanted_lines(found: Iterable[Earlier]) -> list[str]:
    """``wanted earlier, by Fri 1 Jan in place of Fri 8 Jan: 2 × front disc; 3 lines of what is new
    every time``; a line for each two days."""
    days: dict[tuple[date, date], list[Item]] = {}
    for one in found:
        days.setdefault((one.day, one.before), []).append(one.item)
    return [
        f"wanted earlier, by {_day(day)} in place of {_day(before)}: {'; '.join(_items(items))}"
        for (day, before), items in days.items()
    ]


def _items(items: list[Item]) -> list[str]:
    said = [_item(item) for item in items if item.kind != "renewable"]
    new = sum(item.kind == "renewable" for item in items)
    if new:
        said.append(f"{new} line{'s' * (new > 1)} of what is new every time")
    return said


def _item(item: Item) -> str:
    counts = item.kind == "part" and (item.quantity != 1 or item.unit)
    return amount_text(item.quantity, item.unit, item.title) if counts else item.title


def _day(day: date) -> str:
    return short_day(datetime.combine(day, time()))
