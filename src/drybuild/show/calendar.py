"""The plan as a calendar (RFC 5545): sessions, bookings, arrivals, what is needed by when.

Times are floating (RFC 5545, 3.3.5, form 1): nine o'clock in the garage, whatever zone the reader's
machine is set to and whatever becomes of summer time before then. All who meet there read the clock
on its wall; a zone would have to be asked of the owner, and a wrong one moves every session. Where
the build's times do carry a zone they are written in UTC (form 2), which needs no table of zones.
DTSTAMP is in UTC, as 3.8.7.2 wants. A UID is made of the build and what the event is about (3.8.4.7
wants it lasting and unlike any other's): a plan made anew moves an event, it does not add another,
and SEQUENCE (3.8.7.4) goes up with the journal.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any
from uuid import NAMESPACE_URL, uuid5

from drybuild.show.cards_text import item_text
from drybuild.show.cards_words import (
    CAUTION,
    amount_text,
    clock,
    hands_text,
    lift_text,
    may_lines,
    need_text,
    why_text,
)
from drybuild.show.duties import BEFORE, by_when, duty_lines
from drybuild.show.work_list import when_text
from drybuild.work.cards import Card
from drybuild.work.model import Step
from drybuild.work.sheets import Sheets
from drybuild.work.shopping import Item

PRODUCT = "-//Drybuild//the work//EN"
NAMESPACE = uuid5(NAMESPACE_URL, "https://drybuild.invalid/calendar")


class CalendarExtraMissing(Exception):
    """The calendar library is not installed; the text says what to install."""


@dataclass(frozen=True, slots=True)
class Event:
    """One event before it is written.

    about: what it is of, for its UID. end: None for a moment, which has no length (3.6.1: DTEND is
    left out, for it would have to be later than DTSTART). busy: whether somebody has to be there.
    whole_day: of no hour.
    """

    about: str
    title: str
    start: datetime
    end: datetime | None
    words: str
    kind: str
    busy: bool
    whole_day: bool = False


def write_calendar(path: Path, sheets: Sheets) -> None:
    """Write the calendar. Raises CalendarExtraMissing."""
    made = ics(sheets)
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(made.encode("utf-8"))


def ics(sheets: Sheets) -> str:
    """The calendar as text, lines ended and folded as RFC 5545 wants. Raises CalendarExtraMissing.

    What was printed with more of the journal behind it comes later, so SEQUENCE counts entries.
    """
    try:
        from icalendar import Calendar, vText
    except ImportError:
        raise CalendarExtraMissing(
            'the calendar needs its library: pip install "drybuild[plan]"'
        ) from None
    calendar = Calendar()
    calendar.add("prodid", PRODUCT)
    calendar.add("version", "2.0")
    # RFC 7986, 5.1: a TEXT, which the library does not know and would not escape
    calendar.add("name", vText(f"{sheets.imprint.build}: the work"))
    for event in events(sheets):
        calendar.add_component(_component(event, sheets))
    text: str = calendar.to_ical().decode("utf-8")
    return text


def events(sheets: Sheets) -> tuple[Event, ...]:
    """Everything that has a place in the calendar, in order."""
    found = [*_sessions(sheets), *_duties(sheets), *_wanted(sheets), *_items(sheets)]
    return tuple(sorted(found, key=lambda e: (e.start, e.kind, e.title)))


def _component(event: Event, sheets: Sheets) -> Any:
    from icalendar import Event as Component

    made = sheets.imprint.made
    stamp = made.astimezone(UTC).replace(microsecond=0)
    component = Component()
    component.add("uid", f"{uuid5(NAMESPACE, f'{sheets.imprint.build}/{event.about}')}@drybuild")
    component.add("dtstamp", stamp)
    component.add("sequence", sheets.imprint.entries)
    component.add("summary", event.title)
    if event.whole_day:
        day: date = event.start.date()
        component.add("dtstart", day)
        component.add("dtend", day + timedelta(days=1))
    else:
        component.add("dtstart", _written(event.start))
        if event.end is not None and event.end > event.start:
            component.add("dtend", _written(event.end))
    component.add("description", event.words)
    component.add("categories", [event.kind])
    component.add("transp", "OPAQUE" if event.busy else "TRANSPARENT")
    return component


def _written(moment: datetime) -> datetime:
    """Floating as it is, or in UTC where it has a zone."""
    return moment if moment.tzinfo is None else moment.astimezone(UTC)


def _sessions(sheets: Sheets) -> Iterator[Event]:
    """The sessions that the plan uses, each as long as its work, with its cards and how the car
    ends the day."""
    problem = sheets.todo.problem
    for name, car in sheets.ends.items():
        session, steps = problem.session(name), sheets.plan.of(name)
        lines = [sheets.since, ""] if sheets.since else []
        lines += [f"the work session: {when_text(problem, session)}", ""]
        before = duty_lines(sheets, name)
        lines += [BEFORE, *before, ""] if before else []
        lines += [_card_line(card) for card in sheets.cards if card.session == name]
        lines += ["", "At the end"]
        lines += [f"{use}: {said}" for use, said in may_lines(car, sheets.cards)]
        lines += ["", CAUTION]
        yield Event(
            f"session/{name}", f"{sheets.imprint.build}: {session.title}",
            problem.at(min((s.start for s in steps), default=session.start)),
            problem.at(max((s.end for s in steps), default=session.end)),
            "\n".join(lines), "work session",
            True,
        )  # fmt: skip


def _duties(sheets: Sheets) -> Iterator[Event]:
    """What is done before a session, on the day before it."""
    for name in dict.fromkeys(duty.session for duty in sheets.duties):
        first = next(duty for duty in sheets.duties if duty.session == name)
        title = f"{sheets.imprint.build}: before {sheets.todo.problem.session(name).title}"
        yield Event(
            f"before/{name}", title, by_when(first, sheets), None,
            "\n".join(duty_lines(sheets, name)), "to do before", False, whole_day=True,
        )  # fmt: skip


def _card_line(card: Card) -> str:
    return f"{clock(card.start)} card {card.number}: {card.title} ({hands_text(card)})"


def _wanted(sheets: Sheets) -> Iterator[Event]:
    """The moments by which the owner wants a use, with what still stops it."""
    problem = sheets.todo.problem
    for need in problem.needs:
        car = sheets.ends.get(need.session)
        if car is None:
            continue
        at = problem.at(need.until)
        lines = [f"{why_text(s)}: {lift_text(s, sheets.cards)}" for s in car.stopping(need.use)]
        owed = [f"by hand first: {o.title}" for o in car.owed_for(need.use)]
        words = "\n".join([*(lines or ["nothing recorded stops it"]), *owed, "", CAUTION])
        yield Event(
            f"wanted/{need.use}/{need.session}", need_text(problem, need), at, None, words,
            "wanted", False,
        )  # fmt: skip


def _items(sheets: Sheets) -> Iterator[Event]:
    """Bookings at their time; what must be there, and what is said to come, on their day."""
    steps = {step.what: step for step in sheets.plan.steps if step.kind == "job"}
    days: dict[tuple[str, str], tuple[datetime, list[str]]] = {}
    for item in sheets.shopping.items:
        if item.kind == "booking":
            if item.what in steps:
                yield _booking(sheets, item, steps[item.what])
            continue
        for session, (by, many) in _by_session(item).items():
            lines = days.setdefault(("needed", session), (by, []))[1]
            lines.append(_said(item, many))
        for job, lot in zip(item.jobs, item.lots, strict=False):
            if lot.arrives is not None:
                lines = days.setdefault(("arrives", job), (lot.arrives, []))[1]
                lines.append(_said(item, lot.quantity))
    for (kind, about), (moment, lines) in days.items():
        what = "to have in the garage" if kind == "needed" else "said to come"
        yield Event(
            f"{kind}/{about}", f"{sheets.imprint.build}: {what}", moment, None,
            "\n".join(lines), kind, False, whole_day=True,
        )  # fmt: skip


def _by_session(item: Item) -> dict[str, tuple[datetime, float]]:
    """Session → when the first of it is wanted there, and how many: one part for two places of a
    day is one line."""
    found: dict[str, tuple[datetime, float]] = {}
    for lot in item.lots:
        by, many = found.get(lot.session, (lot.by, 0.0))
        found[lot.session] = (min(by, lot.by), round(many + lot.quantity, 6))
    return found


def _booking(sheets: Sheets, item: Item, step: Step) -> Event:
    problem = sheets.todo.problem
    return Event(
        f"booking/{item.what}", item.title, problem.at(step.start), problem.at(step.end),
        item_text(item, sheets), "booking", True,
    )  # fmt: skip


def _said(item: Item, quantity: float) -> str:
    if item.kind == "tool" or (quantity == 1 and not item.unit):
        return item.title
    return amount_text(quantity, item.unit, item.title)
