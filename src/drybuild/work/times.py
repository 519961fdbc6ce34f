"""Dates and times of day as a build writes them: sessions, who is there, wanted uses, budgets."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from itertools import pairwise
from typing import Final

from drybuild.build import Build, Fault
from drybuild.build.errors import nearest
from drybuild.build.folder import Session as Written
from drybuild.build.folder import WantedUse
from drybuild.build.lines import line_of
from drybuild.work.model import QUARTERS_AN_HOUR, Budget, Need, Presence, Session
from drybuild.work.money import EXPECTED, Purse

DAYS: Final = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
QUARTER: Final = timedelta(minutes=60 // QUARTERS_AN_HOUR)
_PRESENCE = re.compile(
    r"^(?P<name>.*?)(?:\s+(?P<start>\d{1,2}:\d\d)\s*[-–]\s*(?P<end>\d{1,2}:\d\d))?$"
)

ADD_ONE: Final = "the page Work of drybuild serve adds one; docs/work.md shows how it is written"
"""What to do where there is none."""


@dataclass(frozen=True)
class Times:
    """All sessions of a file in order of time, and the midnight that quarters count from.

    past: those that were over at ``now``.
    """

    zero: datetime
    sessions: tuple[Session, ...]
    past: tuple[Session, ...]

    @property
    def all(self) -> tuple[Session, ...]:
        """Past and future ones."""
        return (*self.past, *self.sessions)

    def quarter(self, moment: datetime) -> int:
        """Quarters from zero to a moment, rounded up."""
        return -((self.zero - moment) // QUARTER)


class _Reader:
    """Reads entries of build.toml and keeps the faults with their lines."""

    def __init__(self, build: Build, faults: list[Fault]) -> None:
        self.text = build.files.get("build.toml", "")
        self.faults = faults

    def fault(self, path: Sequence[str], found: str, expected: str, hint: str = "") -> None:
        line = line_of(self.text, path)
        self.faults.append(Fault("build.toml", line, ".".join(path), found, expected, hint))

    def day(self, text: str, path: Sequence[str]) -> date | None:
        try:
            return date.fromisoformat(text)
        except ValueError:
            self.fault(path, repr(text) if text else "no date", "a date, yyyy-mm-dd")
            return None

    def clock(self, text: str, path: Sequence[str]) -> time | None:
        try:
            hours, minutes = text.split(":")
            found = time(int(hours), int(minutes))
        except ValueError:
            self.fault(path, repr(text) if text else "no time", "a time of day, hh:mm")
            return None
        if found.minute % 15:
            self.fault(path, repr(text), "a time of day in whole quarters of an hour")
            return None
        return found

    def moment(self, text: str, path: Sequence[str]) -> datetime | None:
        """A date, from its midnight on, or a date and time."""
        try:
            return datetime.fromisoformat(text).replace(tzinfo=None)
        except ValueError:
            self.fault(path, repr(text)[:80], "a date, yyyy-mm-dd")
            return None


def read_times(build: Build, now: datetime | None, faults: list[Fault]) -> Times:
    """The sessions of a build. Faults: dates, times, people, overlaps, duplicated ids."""
    reader = _Reader(build, faults)
    spans: list[tuple[datetime, datetime, int]] = []
    for index, written in enumerate(build.sessions):
        span = _span(reader, written, index)
        if span is not None:
            spans.append((*span, index))
    if not build.sessions:
        wanted = "a [[session]] with id, date, start, end, people"
        reader.fault(("session",), "no work session", wanted, ADD_ONE)
    _ids(reader, build)
    spans.sort()
    _overlaps(reader, build, spans)
    first = spans[0][0] if spans else datetime(2000, 1, 1)
    zero = datetime.combine(first.date(), time())
    names = _names(build)
    made = [
        (_session(reader, build.sessions[index], index, start, end, zero, names), start, end)
        for start, end, index in spans
    ]
    if now is None:
        return Times(zero, tuple(s for s, _, _ in made), ())
    past = tuple(s for s, _, end in made if end <= now)
    ahead = tuple(_from_now(s, zero, now) for s, _, end in made if end > now)
    return Times(zero, ahead, past)


def _span(reader: _Reader, written: Written, index: int) -> tuple[datetime, datetime] | None:
    path = ("session", str(index))
    day = reader.day(written.date, (*path, "date"))
    start = reader.clock(written.start, (*path, "start"))
    end = reader.clock(written.end, (*path, "end"))
    if day is None or start is None or end is None:
        return None
    if end <= start:
        reader.fault(
            (*path, "end"),
            f"{written.end}, start {written.start}",
            "an end that is after the start",
        )
        return None
    return datetime.combine(day, start), datetime.combine(day, end)


def _ids(reader: _Reader, build: Build) -> None:
    seen: set[str] = set()
    for index, session in enumerate(build.sessions):
        if session.id in seen:
            reader.fault(("session", str(index), "id"), f"id {session.id!r} twice", "another id")
        seen.add(session.id)


def _overlaps(
    reader: _Reader, build: Build, spans: Sequence[tuple[datetime, datetime, int]]
) -> None:
    """The car is in one place at a time."""
    for (_, before, one), (start, _, other) in pairwise(spans):
        if start < before:
            first, second = build.sessions[one], build.sessions[other]
            reader.fault(
                ("session", str(other)),
                f"{second.id} from {second.start} overlaps {first.id}, {first.start} to "
                f"{first.end} on {first.date}",
                "sessions one after the other: the car is in one place at a time",
            )


def _names(build: Build) -> tuple[str, ...]:
    return tuple(person.name for person in build.crew)


def _session(
    reader: _Reader,
    written: Written,
    index: int,
    start: datetime,
    end: datetime,
    zero: datetime,
    names: tuple[str, ...],
) -> Session:
    people = []
    for text in written.people:
        presence = _presence(reader, text, ("session", str(index), "people"), start, end, names)
        if presence is not None:
            name, since, until = presence
            people.append(Presence(name, (since - zero) // QUARTER, (until - zero) // QUARTER))
    title = written.title or _day_title(start)
    return Session(
        written.id, title, (start - zero) // QUARTER, (end - zero) // QUARTER, tuple(people)
    )


def _day_title(start: datetime) -> str:
    return f"{DAYS[start.weekday()].capitalize()} {start.day} {start:%B}"


def _presence(
    reader: _Reader,
    text: str,
    path: Sequence[str],
    start: datetime,
    end: datetime,
    names: tuple[str, ...],
) -> tuple[str, datetime, datetime] | None:
    found = _PRESENCE.match(text.strip())
    name = found["name"] if found is not None else ""
    if found is None or not name:
        reader.fault(path, repr(text)[:80], 'a name, or "name 13:00-15:00"')
        return None
    if names and name not in names:
        reader.fault(path, repr(name)[:80], "somebody of [[crew]]", nearest(name, names))
    since, until = start, end
    if found["start"]:
        begins, ends = reader.clock(found["start"], path), reader.clock(found["end"], path)
        if begins is None or ends is None:
            return None
        since = datetime.combine(start.date(), begins)
        until = datetime.combine(start.date(), ends)
        if not start <= since < until <= end:
            reader.fault(path, repr(text)[:80], f"times from {start:%H:%M} to {end:%H:%M}")
            return None
    return name, since, until


def _from_now(session: Session, zero: datetime, now: datetime) -> Session:
    """What is left of a session that has begun."""
    start = max(session.start, -((zero - now) // QUARTER))
    people = tuple(
        Presence(p.name, max(p.start, start), p.end) for p in session.people if p.end > start
    )
    return Session(session.id, session.title, start, session.end, people, session.tools)


def read_needs(build: Build, times: Times, faults: list[Fault]) -> tuple[Need, ...]:
    """The uses that the car must be allowed, each after the last session before its moment."""
    reader = _Reader(build, faults)
    found: dict[tuple[str, str], Need] = {}
    for index, wanted in enumerate(build.needs):
        for moment in _moments(reader, wanted, index, times):
            until = times.quarter(moment)
            before = [s for s in times.sessions if s.end <= until]
            if not before:
                continue  # nothing that is planned comes before it
            need = Need(wanted.use, before[-1].id, until, wanted.waive)
            old = found.get((need.use, need.session))
            if old is not None:
                first, *also = sorted({old.until, *old.also, until})
                rank = max(old.rank, wanted.waive)
                need = Need(need.use, need.session, first, rank, tuple(also))
            found[need.use, need.session] = need
    return tuple(sorted(found.values(), key=lambda n: n.until))


def _moments(reader: _Reader, wanted: WantedUse, index: int, times: Times) -> Iterator[datetime]:
    path = ("need", str(index))
    at = reader.clock(wanted.at, (*path, "at"))
    if bool(wanted.day) == bool(wanted.after):
        reader.fault(path, "neither day nor after" if not wanted.day else "both day and after",
                     "a day (a date, or Monday), or after = the id of a work session")  # fmt: skip
        return
    word = wanted.day.strip().lower().removesuffix("s")
    left_out = _left_out(reader, wanted, word, (*path, "not_on"))
    if at is None or not times.all:
        return
    if wanted.after:
        known = tuple(s.id for s in times.all)
        if wanted.after not in known:
            hint = nearest(wanted.after, known)
            reader.fault((*path, "after"), repr(wanted.after), "the id of a work session", hint)
            return
        end = times.zero + QUARTER * next(s.end for s in times.all if s.id == wanted.after)
        moment = datetime.combine(end.date(), at)
        yield moment if moment >= end else moment + timedelta(days=1)
        return
    if word in DAYS:
        every = _weekdays(DAYS.index(word), at, times)
        yield from (moment for moment in every if moment.date() not in left_out)
        return
    day = reader.day(wanted.day, (*path, "day"))
    if day is not None:
        yield datetime.combine(day, at)


def _left_out(
    reader: _Reader, wanted: WantedUse, word: str, path: Sequence[str]
) -> frozenset[date]:
    """The dates on which a day of the week is not needed."""
    if not wanted.not_on:
        return frozenset()
    if word not in DAYS:
        reader.fault(path, "dates left out", "a day of the week as day, of which they are left out")
        return frozenset()
    found = [day for text in wanted.not_on if (day := reader.day(text, path)) is not None]
    for day in found:
        if DAYS[day.weekday()] != word:
            said = DAYS[day.weekday()].capitalize()
            reader.fault(path, f"{day}, a {said}", f"the date of a {word.capitalize()}")
    return frozenset(found)


def coming(build: Build, wanted: WantedUse, now: datetime) -> tuple[date, ...]:
    """The dates of a day of the week that bear on the work from now on, those left out as well."""
    word = wanted.day.strip().lower().removesuffix("s")
    times = read_times(build, None, [])
    if word not in DAYS or not times.all:
        return ()
    first, last = times.zero.date(), times.zero + QUARTER * times.all[-1].end
    every = (moment.date() for moment in _weekdays(DAYS.index(word), last.time(), times))
    return tuple(day for day in every if day >= max(now.date(), first))


def _weekdays(weekday: int, at: time, times: Times) -> Iterator[datetime]:
    """That day of every week, up to the first one after the last session."""
    last = times.zero + QUARTER * times.all[-1].end
    day = times.zero.date() + timedelta(days=(weekday - times.zero.weekday()) % 7)
    while True:
        moment = datetime.combine(day, at)
        yield moment
        if moment >= last:
            return
        day += timedelta(days=7)


def read_budgets(
    build: Build, times: Times, purse: Purse, faults: list[Fault]
) -> tuple[Budget, ...]:
    """What may be spent by the end of each month."""
    reader = _Reader(build, faults)
    most: dict[str, float] = {}
    for index, spend in enumerate(build.budgets):
        path = ("budget", str(index))
        if reader.day(f"{spend.month}-01", (*path, "month")) is None:
            continue
        amount = _amount(reader, spend.most, (*path, "most"), purse)
        if amount is not None:
            most[spend.month] = min(amount, most.get(spend.month, amount))
    monthly = _amount(reader, build.work.budget_per_month, ("work", "budget_per_month"), purse)
    if monthly is not None:
        for count, month in enumerate(_months(times), start=1):
            most[month] = min(monthly * count, most.get(month, monthly * count))
    found = []
    for month, amount in sorted(most.items()):
        inside = tuple(s.id for s in times.sessions if _month(times, s) <= month)
        if inside:
            found.append(Budget(f"spent by the end of {month}", inside, amount))
    return tuple(found)


def _amount(reader: _Reader, text: str, path: Sequence[str], purse: Purse) -> float | None:
    try:
        amount = purse.amount(text)
    except ValueError:
        reader.fault(path, repr(text)[:80], EXPECTED)
        return None
    if text and amount is None:
        reader.fault(
            path, repr(text)[:80], f"an amount in {purse.currency}, or its rate in [work] rates"
        )
    return amount


def _month(times: Times, session: Session) -> str:
    return f"{times.zero + QUARTER * session.start:%Y-%m}"


def _months(times: Times) -> tuple[str, ...]:
    """Every month from the first session's to the last one's."""
    if not times.all:
        return ()
    first = times.zero + QUARTER * times.all[0].start
    last = _month(times, times.all[-1])
    found = [f"{first:%Y-%m}"]
    year, month = first.year, first.month
    while found[-1] < last:
        year, month = (year + 1, 1) if month == 12 else (year, month + 1)
        found.append(f"{year:04d}-{month:02d}")
    return tuple(found)


def read_arrival(
    build: Build, text: str, path: Sequence[str], times: Times, faults: list[Fault]
) -> int:
    """The quarter from which something is in hand; 0 where nothing is said."""
    if not text:
        return 0
    moment = _Reader(build, faults).moment(text, path)
    return 0 if moment is None else max(0, times.quarter(moment))
