"""Hand checks that have an hour: they stand on a card, for the page of the day comes too late.

What must be seen before the engine turns stands on the card whose work makes it owed, where the
engine runs afterwards; what is seen while a wheel hangs, on the card that lets it down; what is
seen or tightened as something goes back on, on the card that puts it back. There it is made, and
no later card asks for it again.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from drybuild.examine import Owed
from drybuild.findings import AXLES
from drybuild.work.cards import Card
from drybuild.work.ends import work_of
from drybuild.work.evidence import changes_of
from drybuild.work.model import Notes, Problem, Step
from drybuild.work.standing import NO_NOTES, Standing

BEFORE_IT_TURNS = frozenset({"turn over", "run"})
HANGING = "before it goes down, the wheels hanging"
LOOKED_AT = f"first what stands below as “{HANGING}”"
"""The step of letting down that leads to those checks."""

LIFTED = "raised_"
"""How components begin that are the car standing up at an end, or whole on a lift."""

EVERYWHERE = frozenset({*AXLES, ""})
"""The ends of the car of which places speak; an empty text: of none."""


def at_their_hour(
    problem: Problem, cards: Sequence[Card], notes: Mapping[str, Notes] = NO_NOTES
) -> tuple[Card, ...]:
    """The cards with the checks that have an hour among those that they make. notes: the library's
    words, which say what goes back on with a check."""
    found = list(cards)
    for record in _with_hour(cards, notes):
        _put(problem, found, notes, record)
    for place, card in enumerate(found):
        for owed in card.records:
            if _before_it_runs(problem, found, place, owed):
                there = found[place]
                records = tuple(o for o in there.records if o != owed)
                found[place] = replace(there, makes=(*there.makes, owed), records=records)
    return tuple(_before_it_goes_down(card) for card in found)


def _before_it_goes_down(card: Card) -> Card:
    """A card with checks of hanging wheels, with a step for them in the task that lets these down:
    who reads from the top has them in front of the jack."""
    said = (*(owed.title for owed in card.makes), *card.verify)
    if not any(line.startswith(HANGING) for line in said):
        return card
    place = next((n for n, task in enumerate(card.tasks) if letting_down(task.step)), None)
    if place is None:
        return card
    tasks = list(card.tasks)
    tasks[place] = replace(tasks[place], steps=(LOOKED_AT, *tasks[place].steps))
    return replace(card, tasks=tuple(tasks))


def placed(problem: Problem, card: Card) -> tuple[Owed, ...]:
    """The checks that stand on a card for their hour: none of its tasks makes them."""
    own = {c.target for s in card.steps for c in changes_of(problem, s) if c.kind == "verify"}
    return tuple(owed for owed in card.makes if owed.record not in own)


def _before_it_runs(problem: Problem, cards: Sequence[Card], place: int, owed: Owed) -> bool:
    """Whether a check that a card makes owed is to be made there, for the engine runs that day."""
    session, record = cards[place].session, owed.record
    rest = [n for n in range(place + 1, len(cards)) if cards[n].session == session]
    if owed.hanging or not BEFORE_IT_TURNS & set(owed.stops):
        return False
    if any(record in {o.record for o in (*cards[n].records, *cards[n].makes)} for n in rest):
        return False
    return any(work_of(problem, s).engine == "runs" for n in rest for s in cards[n].steps)


def _with_hour(cards: Sequence[Card], notes: Mapping[str, Notes]) -> tuple[str, ...]:
    """Records of which the library or the check itself says the hour."""
    said = {record for words in notes.values() for record in words.records}
    asked = (owed for card in cards for owed in (*card.records, *card.makes))
    return tuple(dict.fromkeys(o.record for o in asked if o.hanging or o.record in said))


@dataclass
class _Waiting:
    """A check that is owed: since when at each end, and where its hour is for each."""

    owed: Owed
    since: dict[str, int] = field(default_factory=dict)
    hours: dict[str, tuple[int, Step]] = field(default_factory=dict)


def _put(problem: Problem, cards: list[Card], notes: Mapping[str, Notes], record: str) -> None:
    """Put one check on the cards of its hour, and take it off those that ask for it later."""
    waiting: _Waiting | None = None
    settled: set[str] = set()
    events = sorted(_events(problem, cards, notes, record), key=lambda one: one[:3])
    makes = [(time, n) for time, kind, n, _ in events if kind == _MADE]
    for time, kind, n, step in events:
        if kind == _OWED:
            owed = next(o for o in cards[n].records if o.record == record)
            if waiting is not None and waiting.since.keys() <= waiting.hours.keys():
                settled |= _settle(cards, notes, waiting, None)
                waiting = None
            waiting = replace(waiting, owed=owed) if waiting is not None else _Waiting(owed)
            for end in _ends_of(owed) - settled:
                waiting.since.setdefault(end, time)
        elif waiting is not None and kind == _CLOSED and step is not None:
            later = next((m for at, m in makes if at >= time), None)
            _take_hour(cards, waiting, n, step, later)
        elif waiting is not None and kind == _MADE:
            _settle(cards, notes, waiting, n)
            waiting, settled = None, set()
    if waiting is not None:
        _settle(cards, notes, waiting, None)


_OWED, _CLOSED, _MADE = range(3)


def _events(
    problem: Problem, cards: Sequence[Card], notes: Mapping[str, Notes], record: str
) -> list[tuple[int, int, int, Step | None]]:
    """When a check becomes owed, when something is put back that it belongs to, when it is made:
    quarter, kind, place of the card, and the step that puts it back."""
    found: list[tuple[int, int, int, Step | None]] = []
    hanging = any(o.hanging for c in cards for o in (*c.records, *c.makes) if o.record == record)
    for n, card in enumerate(cards):
        if any(o.record == record for o in card.records):
            found.append((_worked(problem, card), _OWED, n, None))
        if any(o.record == record for o in card.makes):
            found.append((_verified(problem, card, record), _MADE, n, None))
        for step in card.steps:
            said = record in notes.get(step.key, Notes("")).records
            if letting_down(step) if hanging else said and step.kind == "refit":
                found.append((step.start, _CLOSED, n, step))
    return found


def _worked(problem: Problem, card: Card) -> int:
    """When the work of a card is over that changes the car."""
    ends = [
        s.end for s in card.steps if any(c.kind != "verify" for c in changes_of(problem, s))
    ]  # fmt: skip
    return max(ends, default=min(s.start for s in card.steps))


def _verified(problem: Problem, card: Card, record: str) -> int:
    """When the step of a card begins that makes a record."""
    begins = [
        s.start for s in card.steps
        if any(c.kind == "verify" and c.target == record for c in changes_of(problem, s))
    ]  # fmt: skip
    return min(begins, default=min(s.start for s in card.steps))


def _take_hour(
    cards: Sequence[Card], waiting: _Waiting, n: int, step: Step, later: int | None
) -> None:
    """Note what goes back on as the hour of a check. The first letting down is that of what is
    seen hanging, the last going on before it is asked for that of all else; where nothing asks for
    it, the last of that day. What only a later card of the day asks for hanging stays there, unless
    it stops the car's being moved."""
    owed = waiting.owed
    asked = later is not None and later != n and cards[later].session == cards[n].session
    if owed.hanging and "move" not in owed.stops and asked:
        return
    for end in _ends_at(step, owed.hanging) & waiting.since.keys():
        had = waiting.hours.get(end)
        other_day = had is not None and cards[had[0]].session != cards[n].session
        if had is None or not (owed.hanging or (later is None and other_day)):
            waiting.hours[end] = (n, step)


def _settle(
    cards: list[Card], notes: Mapping[str, Notes], waiting: _Waiting, made: int | None
) -> set[str]:
    """Write a check on the card of its last hour, and on those of the hours before a line to look:
    a record speaks of all its places at once. made: the card that asks for it later; where an end
    has no hour before, it is written down there. Returns the ends that had an hour."""
    hours = waiting.hours
    rows = sorted({(step.start, n, step) for n, step in hours.values()}, key=lambda row: row[:2])
    if not rows:
        return set()
    if made is None or waiting.since.keys() <= hours.keys():
        last = rows[-1][1]
        _made_at(cards, waiting.owed, last, made, _told(cards, rows, last, waiting.owed, notes))
    else:
        last = made
    for n in dict.fromkeys(n for _, n, _ in rows if n != last):
        mine = [row for row in rows if row[1] == n]
        line = _told(cards, mine, n, waiting.owed, notes) + waiting.owed.title
        line += f"; written down on card {cards[last].number}"
        cards[n] = replace(cards[n], verify=(*cards[n].verify, line))
    return set(hours)


def _made_at(cards: list[Card], owed: Owed, at: int, made: int | None, said: str) -> None:
    """Have a card make a check, and no more the one that asks for it later."""
    record = owed.record
    if made is not None:
        owed = next(o for o in cards[made].makes if o.record == record)
        rest = tuple(o for o in cards[made].makes if o.record != record)
        cards[made] = replace(cards[made], makes=rest)
    told = replace(owed, title=said + owed.title)
    records = tuple(o for o in cards[at].records if o.record != record)
    cards[at] = replace(cards[at], makes=(*cards[at].makes, told), records=records)


def _told(
    cards: Sequence[Card],
    rows: Sequence[tuple[int, int, Step]],
    at: int,
    owed: Owed,
    notes: Mapping[str, Notes],
) -> str:
    """What a check's hour is, before its title: of the card at hand, and of others by number."""
    if owed.hanging:
        others = dict.fromkeys(f"card {cards[n].number}" for _, n, _ in rows if n != at)
        return f"{HANGING}, also as on {' and '.join(others)}: " if others else f"{HANGING}: "
    said = (
        notes[step.key].title + (f" (card {cards[n].number})" if n != at else "")
        for _, n, step in rows
    )
    return f"{', '.join(dict.fromkeys(said))}: "


def _ends_of(owed: Owed) -> set[str]:
    return {_end_of(place) for place in owed.places}


def _end_of(place: str) -> str:
    return next((axle for axle in AXLES if axle in place.split(".")), "")


def _ends_at(step: Step, hanging: bool) -> set[str]:
    """The ends of which a check is made with what goes back on: that which its name speaks of."""
    if hanging:
        return letting_down(step)
    name = step.what.partition("~")[0]
    return {axle for axle in AXLES if axle in name.split("_")} or set(EVERYWHERE)


def letting_down(step: Step) -> set[str]:
    """The ends of the car that a step lets down."""
    if step.kind != "refit" or not step.what.startswith(LIFTED):
        return set()
    return {axle for axle in AXLES if step.what == LIFTED + axle} or set(AXLES)


def counted(cards: Sequence[Card], session: str, car: Standing) -> Standing:
    """The car at a session's end, with what its cards and those before it mean to have made among
    what is counted on."""
    last = max(n for n, card in enumerate(cards) if card.session == session)
    made: dict[str, bool] = {}
    for card in cards[: last + 1]:
        made |= {o.record: False for o in card.records}
        made |= {o.record: True for o in card.makes}
    on_cards = tuple(o for o in car.owed if made.get(o.record))
    left = tuple(o for o in car.owed if o not in on_cards)
    return replace(car, owed=left, counted_on=(*car.counted_on, *on_cards))
