"""What must be in the garage earlier than by the plan before: nobody reads the whole list again."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from drybuild.work.shopping import Item, Shopping


@dataclass(frozen=True, slots=True)
class Earlier:
    """A line of the list that is wanted earlier. day: by when, of the first that is; before: by
    when it was; of a booking the day itself."""

    item: Item
    day: date
    before: date


def wanted_earlier(before: Shopping, now: Shopping) -> tuple[Earlier, ...]:
    """Lines of both lists of which something is wanted earlier now, what comes first at the top."""
    were = {_key(item): item for item in before.items}
    found = []
    for item in now.items:
        old = were.get(_key(item))
        days = zip(_days(item), _days(old), strict=False) if old is not None else ()
        sooner = next(((day, was) for day, was in days if day < was), None)
        if sooner is not None:
            found.append(Earlier(item, *sooner))
    return tuple(sorted(found, key=lambda one: one.day))


def _key(item: Item) -> tuple[str, str, str]:
    return item.kind, item.what or item.title, item.unit


def _days(item: Item) -> list[date]:
    """By when each lot of it is to be there."""
    booked = item.kind == "booking"
    return sorted((lot.by if booked else lot.have).date() for lot in item.lots)
