"""A plan made again says what must be in the garage earlier than before."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from drybuild.show.wanted_words import wanted_lines
from drybuild.work.shopping import Item, Lot, Shopping
from drybuild.work.wanted import wanted_earlier

SAT, NEXT, LAST = (datetime(2027, 1, day, 9) for day in (2, 9, 16))


def item(kind, title, *days, many=1.0) -> Item:
    return Item(kind, title, "", tuple(Lot(day, f"{day:%d}", many) for day in days), what=title)


def listed(*items: Item) -> Shopping:
    return Shopping(items, "AUD", 0.0, 0)


def test_what_is_wanted_earlier_is_named_with_both_days():
    before = listed(
        item("part", "front disc", NEXT, many=2), item("part", "turbocharger", NEXT),
        item("renewable", "washers", NEXT), item("booking", "rack", LAST),
        item("part", "map", LAST),
    )  # fmt: skip
    now = listed(
        item("part", "front disc", SAT, many=2), item("part", "turbocharger", LAST),
        item("renewable", "washers", SAT), item("booking", "rack", NEXT),
        item("part", "map", LAST), item("part", "stud", SAT),
    )  # fmt: skip
    found = wanted_earlier(before, now)
    assert [one.item.title for one in found] == ["front disc", "washers", "rack"]
    assert wanted_lines(found) == [
        "wanted earlier, by Fri 1 Jan in place of Fri 8 Jan: 2 × front disc; 1 line of what is "
        "new every time",
        "wanted earlier, by Sat 9 Jan in place of Sat 16 Jan: rack",
    ]
    assert wanted_earlier(now, now) == ()


def test_a_second_gasket_that_is_wanted_earlier_counts_though_the_first_is_not():
    before, now = item("renewable", "gasket", SAT, LAST), item("renewable", "gasket", SAT, NEXT)
    (one,) = wanted_earlier(listed(before), listed(now))
    assert (one.day.day, one.before.day) == (8, 15)
    assert wanted_earlier(listed(replace(before, unit="L")), listed(now)) == ()
