"""Words that cards, tags, lists and sheets share: days, quantities, reasons, what a car may do."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from datetime import datetime, timedelta

from drybuild.examine import Owed
from drybuild.findings.words import use_closure, uses
from drybuild.show.as_found_words import outside_text, since_text
from drybuild.show.hours import hours_text
from drybuild.show.lines import numbers_text
from drybuild.show.sentences import apart_words, places
from drybuild.work.at_its_hour import placed
from drybuild.work.cards import BenchPart, Card, number_of
from drybuild.work.model import Need, Presence, Problem, Renewable, Step
from drybuild.work.sheets import Imprint, Sheets
from drybuild.work.shopping import Item
from drybuild.work.standing import Standing, Stop
from drybuild.work.waits import Waits

DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
SHOWN = 16
"""Digits of the files' fingerprint that are printed: enough to tell one state from another."""

CAUTION = (
    "Nothing here says that anybody may be under the car, or that it may be driven. The maker's "
    "manual, local rules and licensed people decide."
)
TIGHTENING = (
    "Figures are the maker's alone, for that fastener and that state of its thread. A blank is "
    "looked up, never worked out."
)
HANDS = (
    "The plan counts on these records; it does not know them. Each lifts its hold when value, tool "
    "and name are written in the journal. Before every upward move: has anyone touched it since?"
)
HOLDS = 5
"""Reasons on a card; the uses that begin in the garage come first, and the rest is counted."""
LIFTS = 3
"""Things to do that are named of the reasons that are only counted."""


def day_text(moment: datetime) -> str:
    """``Sat 5 Dec 2026``, whatever the machine's language."""
    return f"{DAYS[moment.weekday()]} {moment.day} {MONTHS[moment.month - 1]} {moment.year}"


def short_day(moment: datetime) -> str:
    """``Sat 5 Dec``."""
    return day_text(moment).rsplit(" ", 1)[0]


def clock(moment: datetime) -> str:
    """``09:00``."""
    return f"{moment:%H:%M}"


def span_text(start: datetime, end: datetime) -> str:
    """``Sat 5 Dec 09:00 to 12:15``."""
    return f"{short_day(start)} {clock(start)} to {clock(end)}"


def length_text(length: timedelta) -> str:
    """How long, as ``hours_text``."""
    return hours_text(length.total_seconds() / 3600)


def quantity_text(quantity: float, unit: str) -> str:
    """``1.5 L``, ``4``."""
    number = f"{quantity:.4g}"
    return f"{number} {unit}" if unit else number


def amount_text(quantity: float, unit: str, name: str) -> str:
    """``1.5 L brake fluid``, ``4 × hose clamp``."""
    sign = " " if unit else " × "
    return f"{quantity_text(quantity, unit)}{sign}{name}"


def renewable_text(one: Renewable) -> str:
    """``4 × copper washer``."""
    return amount_text(one.quantity, one.unit, one.name)


def hands_text(card: Card) -> str:
    """Who works on a card."""
    return " and ".join(card.who) or ("outside work" if card.outside else "nobody needed")


def work_text(card: Card) -> str:
    """How long whoever has it is at it, and for how much of that with others: ``45 min``, ``5 h,
    two at it for 1 h 30``; of work that others do, how long it keeps the car."""
    hours: dict[int, float] = {}
    for task in card.tasks:
        if task.who:
            length = (task.end - task.start).total_seconds() / 3600
            hours[len(task.who)] = hours.get(len(task.who), 0.0) + length
    if not hours:
        kept = sum((t.end - t.start).total_seconds() / 3600 + t.wait for t in card.tasks)
        return hours_text(kept)
    whole = hours_text(sum(hours.values()))
    if len(hours) == 1:
        (many,) = hours
        return whole if many == 1 else f"{whole}, {count_of(many)} at it"
    more = (
        f"{count_of(many)} at it for {hours_text(length)}"
        for many, length in sorted(hours.items()) if many > 1
    )  # fmt: skip
    return ", ".join([whole, *more])


def count_of(many: int) -> str:
    """A small number of people as a word."""
    return {2: "two", 3: "three", 4: "four"}.get(many, str(many))


def before_lines(card: Card, cards: Iterable[Card]) -> list[str]:
    """What other hands must have done: ``rear springs off (card 2, Mikkel), for: beam off``; what
    the card begins with is not named."""
    return waits_lines(card.before, card.steps[0], cards)


def waits_lines(before: Iterable[Waits], begins: Step, cards: Iterable[Card]) -> list[str]:
    """What stands before work that begins with a step, card by card."""
    found = tuple(cards)
    titles = {t.step: t.title for one in found for t in one.tasks}
    lines = []
    for one in before:
        said = ", ".join(titles[step] for step in one.steps)
        number = number_of(found, one.steps[0])
        later = f", for: {titles[one.goes_on]}" if one.goes_on != begins else ""
        lines.append(f"{said} (card {number}{f', {one.hand}' if one.hand else ''}){later}")
    return lines


def resting_text(steps: Sequence[Step], cards: Iterable[Card]) -> str:
    """That something rests on open tasks: the last of them, each with its card."""
    titles = {t.step: f"{t.title} (card {one.number})" for one in cards for t in one.tasks}
    said = [titles[step] for step in steps if step in titles]
    more = f", and {len(said) - RESTING} before that" if len(said) > RESTING else ""
    count = "a task that is" if len(said) == 1 else f"{len(said)} tasks that are"
    return f"It rests on {count} not written down: {', '.join(said[-RESTING:])}{more}"


def unseen_text(owed: Sequence[Owed]) -> str:
    """That hand checks are owed which stop what a task has the car do."""
    said = [one.title for one in owed]
    more = f", and {len(said) - RESTING} more" if len(said) > RESTING else ""
    count = "A hand check that stops" if len(said) == 1 else f"{len(said)} hand checks that stop"
    return f"{count} it {'is' if len(said) == 1 else 'are'} not written down: " + (
        f"{'; '.join(said[:RESTING])}{more}"
    )


EARLY = "A check of work that is still to be done holds nothing: it is owed again after it"
RESTING = 3
"""Tasks that are named of those on which one rests, the last: they say most."""


def arrival_text(item: Item) -> str:
    """When the lots of an item are said to come, and whether that is too late."""
    days = {lot.arrives.date(): lot for lot in item.lots if lot.arrives is not None}
    said = [
        short_day(lot.arrives) + (": TOO LATE" if lot.late else "")
        for _, lot in sorted(days.items()) if lot.arrives is not None
    ]  # fmt: skip
    return f"said to come {', '.join(said)}" if said else ""


def part_text(part: BenchPart) -> str:
    """``2 × Tolland front damper``."""
    title = part.title if not part.maker or part.maker in part.title else (
        f"{part.maker} {part.title}"
    )  # fmt: skip
    return f"{part.count} × {title}" if part.count > 1 else title


def money_text(amount: float, currency: str) -> str:
    """``1 460 AUD``, cents only where there are any."""
    said = f"{amount:,.2f}".replace(",", " ").removesuffix(".00")
    return f"{said} {currency}".strip()


def price_text(item: Item, currency: str) -> str:
    """What an item costs, as far as anybody stated it."""
    if item.price is not None:
        return money_text(item.price, currency)
    if item.price_text:
        if item.price_text.endswith(" the set") and len(item.lots) == 1 and item.quantity > 1:
            return f"{item.price_text} of {quantity_text(item.quantity, item.unit)}"
        bare = len(item.price_text.split()) == 2  # what says more, as "the pair", says it itself
        return f"{item.price_text} each" if item.quantity > 1 and bare else item.price_text
    return ""


def why_text(stop: Stop) -> str:
    """A reason with its places: ``front, both sides: the rim's barrel meets the caliper``.

    What is not measured of a part that a later job changes is of the one that is there until then.
    """
    where = places(stop.subjects)
    until = stop.waits_for == "measuring" and stop.by is not None and stop.by.kind == "job"
    why = stop.why + (" (as fitted until then)" if until else "") + since_text(stop)
    return f"{where}: {why}" if where else why


def lift_text(stop: Stop, cards: Iterable[Card], *, brief: bool = False) -> str:
    """What lifts it: ``card 9: first map flashed``, or the next physical action.

    brief: ``card 9`` alone, where whoever reads it has the card in hand.
    """
    if stop.passes is not None:
        return f"{stop.lift} by {short_day(stop.passes)} {clock(stop.passes)}"
    found = tuple(cards)
    number = number_of(found, stop.by)
    if number is None:
        return stop.lift
    if brief:
        return f"card {number}"
    title = next(t.title for card in found for t in card.tasks if t.step == stop.by)
    return f"card {number}: {title}"


def by_hand_text(owed: int, counted_on: int = 0) -> str:
    """``by hand first: 5 checks, 2 of them on the cards``.

    owed: those that no card makes by then; counted_on: those that cards make. With none, the words
    that keep it no permission.
    """
    many = owed + counted_on
    if not many:
        return "no hand check is owed; look it over by hand all the same"
    said = f"by hand first: {many} check{'' if many == 1 else 's'}"
    if not counted_on:
        return said
    if many == 1:
        return f"{said}, on a card"
    return f"{said}, {'all' if not owed else f'{counted_on} of them'} on the cards"


def free_text(car: Standing) -> str:
    """What is said of a car that nothing stops."""
    return open_text(car, [use.name for use in uses()])


def open_text(car: Standing, names: Iterable[str]) -> str:
    """What is said of uses that nothing stops: how the car stands where it is apart, then their
    hand checks, counted once."""
    found = tuple(names)
    owed = {o.record for use in found for o in car.owed_for(use)}
    counted = {o.record for use in found for o in car.counted_on_for(use)}
    rules = outside_text(car, found)
    said = "; ".join(filter(None, (
        "nothing recorded stops it", rules, by_hand_text(len(owed), len(counted - owed))
    )))  # fmt: skip
    apart = apart_text(car)
    return f"{apart}: {said}" if apart else said


def apart_text(car: Standing) -> str:
    """How the car stands while it may not be moved or driven for what is off or open; else nothing:
    ``the car is apart (front up on axle stands; brake hydraulics opened; 6 more)``."""
    off = [stop.why for stop in car.stops if stop.kind == "off"]
    left = [s.why for s in car.stops if s.kind == "pending" and {"creep", "run"} & set(s.uses)]
    if not off:
        return ""
    return apart_words([*off[:2], *left[:1]], len(off) + len(left))


def made_text(record: Owed) -> str:
    """A record to write down, with what it takes: ``brakes bled: value, name, second person``."""
    takes = [*record.evidence, *(["a second person"] if record.second_person else [])]
    return f"{record.title}: {', '.join(takes)}"


def more_text(reasons: int, where: str) -> str:
    """``and 3 more reasons: cards 4, 5 and the page Why not yet``; empty for none."""
    if reasons <= 0:
        return ""
    return f"and {reasons} more reason{'s' if reasons > 1 else ''}: {where}"


def cards_text_of(numbers: Iterable[int]) -> str:
    """``card 4``, ``cards 1 to 15, 18``; empty for none."""
    found = sorted(set(numbers))
    return f"card{'s' if len(found) > 1 else ''} {numbers_text(found)}" if found else ""


def holds_shown(car: Standing, most: int = HOLDS) -> tuple[list[Stop], int]:
    """The first reasons in the order of the uses, and how many more there are."""
    ranks = {use.name: i for i, use in enumerate(uses())}
    order = sorted((s for s in car.stops if s.roots), key=lambda s: ranks[s.roots[0]])
    shown = order if len(order) <= most + 1 else order[:most]
    return shown, len(order) - len(shown)


def lifted_where(car: Standing, shown: Iterable[Stop], cards: Iterable[Card], session: str) -> str:
    """Where the reasons that are not shown of a card stand: with the cards of its day that lift
    them, and what is left at the day's end on its page."""
    found, seen = tuple(cards), set(map(id, shown))
    rest = [stop for stop in car.stops if stop.roots and id(stop) not in seen]
    numbers = {number_of(found, stop.by) for stop in rest}
    today = {c.number for c in found if c.session == session}
    own = cards_text_of(n for n in numbers if n is not None and n in today)
    left = [WHY_NOT] if not numbers <= today else []
    return " and ".join([*([own] if own else []), *left])


def lifted_by(car: Standing, shown: Iterable[Stop], cards: Iterable[Card]) -> str:
    """The cards that lift the reasons that are not shown of one; of the rest the first things to
    do that no reason said before, and where all of them are."""
    found, before = tuple(cards), tuple(shown)
    seen = set(map(id, before))
    rest = [stop for stop in car.stops if stop.roots and id(stop) not in seen]
    numbers = [number_of(found, stop.by) for stop in rest]
    said = {one for stop in before for one in _things(lift_text(stop, found))}
    other = dict.fromkeys(
        one for stop, n in zip(rest, numbers, strict=True) if n is None
        for one in _things(lift_text(stop, found)) if one not in said
    )
    named = cards_text_of(n for n in numbers if n is not None)
    first, more = list(other)[:LIFTS], len(other) - LIFTS
    left = [f"and {more} more: drybuild check"] if more > 0 else []
    if not named and not other and rest:
        return "the same lifts them"
    return "; ".join([*([named] if named else []), *first, *left])


def _things(lift: str) -> list[str]:
    """What is to be done, thing by thing; not what comes only after the first of them was seen."""
    return lift.partition("; if it ")[0].removesuffix(" first").split("; ")


def uses_text(stop: Stop) -> str:
    """Uses that a reason stops, without those that follow from them."""
    return ", ".join(stop.roots)


EVERY_USE = "every use"
WHY_NOT, BY_HAND = "the page Why not yet", "the page By hand"


def place_text(card: Card) -> str:
    """Which card it is: ``3 of 64``; where numbers have gaps, ``81; 65 are open``."""
    return f"{card.number} of {card.of}" if card.left in (0, card.of) else (
        f"{card.number}; {card.left} are open"
    )  # fmt: skip


def moved_lines(
    there: Mapping[int, Collection[Step]], title: Callable[[Step], str], problem: Problem
) -> list[str]:
    """Where the work of a card that is gone is: ``8 mm return line: card 81 now, Sat 12 Dec``."""
    lines = []
    for number, steps in there.items():
        day = short_day(problem.at(min(step.start for step in steps)))
        said = " and ".join(dict.fromkeys(title(step) for step in steps))
        lines.append(f"  {said}: card {number} now, {day}")
    return lines


def may_lines(car: Standing, cards: Iterable[Card]) -> list[tuple[str, str]]:
    """What is known of the uses, each thing said once: ``move, turn over`` and what is said of
    them. Never a bare permission: what nobody checked stands by.

    Open uses with the same records owed go together, with all that the plan counts on for them.
    """
    found, said = tuple(cards), dict[tuple[str, ...], list[str]]()
    for use in uses():
        said.setdefault(same_said(car, use.name, found), []).append(use.name)
    if len(said) == 1:
        return [(EVERY_USE, _may_text(car, [use.name for use in uses()], found))]
    return [(", ".join(names), _may_text(car, names, found)) for names in said.values()]


def same_said(car: Standing, use: str, cards: tuple[Card, ...] = ()) -> tuple[str, ...]:
    """What uses have in common of which one thing is said."""
    if car.stopping(use):
        return ("stopped", _may_text(car, [use], cards))
    counted = "counted on" if car.counted_on_for(use) else ""
    rules = car.outside.get(use, ())
    return ("open", counted, *sorted(o.record for o in car.owed_for(use)), *rules)


def _may_text(car: Standing, names: list[str], cards: tuple[Card, ...]) -> str:
    stops = car.stopping(names[0])
    direct = [s for s in stops if names[0] in s.uses]
    if not stops:
        return open_text(car, names)
    if not direct:
        through = dict.fromkeys(u for s in stops for u in s.roots if u != names[0])
        return f"stopped: needs {' and '.join(through)} first"
    first, more = direct[0], len(direct) - 1
    rest = f"; {more} more" if more else ""
    return f"stopped: {why_text(first)} ({lift_text(first, cards)}){rest}"


def before_text(use: str) -> str:
    """``before it may creep``, ``before full load``."""
    return f"before {use}" if use == "full load" else f"before it may {use}"


def off_title(sheets: Sheets, name: str) -> str:
    """A component that is off, as the library says it: ``fuel pressure let off``."""
    notes = sheets.todo.notes.get(f"take:{name}")
    return notes.title if notes is not None else sheets.todo.problem.components[name].title


def hands_due(sheets: Sheets) -> dict[str, list[Owed]]:
    """Session → the hand checks to make before the uses that are wanted after it.

    A record comes up when work makes it owed; it waits for the session after which a use that it
    stops is wanted, at the latest for the last.
    """
    waiting: dict[str, None] = {}
    due: dict[str, list[Owed]] = {}
    last = list(sheets.ends)[-1] if sheets.ends else ""
    for session, car in sheets.ends.items():
        waiting.update(
            (o.record, None) for c in sheets.cards if c.session == session for o in c.records
        )
        wanted = {need.use for need in needs_of(sheets.todo.problem, session)}
        due[session] = [
            o for o in car.owed
            if o.record in waiting
            and (session == last or any(use_closure(use) & set(o.stops) for use in wanted))
        ]  # fmt: skip
        for owed in due[session]:
            del waiting[owed.record]
    return due


def there_from(sheets: Sheets, session: str, person: Presence) -> int:
    """From when somebody is there: no later than what they have in hand already when the rest of a
    day that has begun is planned again."""
    return min([person.start, *(s.start for s in sheets.plan.of(session) if person.name in s.who)])


def at_their_hour_text(sheets: Sheets, session: str) -> str:
    """Which hand checks of a session stand on a card, for they have an hour; empty for none."""
    said = [
        f"{owed.title} (card {card.number})" for card in sheets.cards if card.session == session
        for owed in placed(sheets.todo.problem, card)
    ]  # fmt: skip
    return f"On a card, for they have their hour: {'; '.join(said)}." if said else ""


def needs_of(problem: Problem, session: str) -> tuple[Need, ...]:
    """Uses that the owner wants after a session."""
    return tuple(need for need in problem.needs if need.session == session)


def need_text(problem: Problem, need: Need) -> str:
    """``wanted by Mon 7 Dec 07:00: drive``."""
    by = problem.at(need.until)
    return f"wanted by {short_day(by)} {clock(by)}: {need.use}{also_text(problem, need)}"


def also_text(problem: Problem, need: Need) -> str:
    """Further days on which it is wanted before anybody works on the car again; empty for none."""
    days = list(dict.fromkeys(short_day(problem.at(at)) for at in need.also))
    said = " and ".join(filter(None, (", ".join(days[:-1]), *days[-1:])))
    return f" (and on {said}, with no work session between)" if said else ""


def need_line(sheets: Sheets, need: Need) -> str:
    """The same with whether the plan keeps it: as it stands, or only as it supposes."""
    car, said = sheets.ends[need.session], need_text(sheets.todo.problem, need)
    until = sheets.todo.problem.at(need.until)
    stops = [s for s in car.stopping(need.use) if s.passes is None or s.passes > until]
    if not stops:
        return f"{said}, kept as planned"
    supposed = {one.check for one in sheets.plan.supposed}
    if all(stop.kind == "check" and stop.what in supposed for stop in stops):
        many = len({stop.what for stop in stops})
        comes = "a check that nobody can answer yet comes" if many == 1 else (
            f"{many} checks that nobody can answer yet come"
        )  # fmt: skip
        return f"{said}, kept only if {comes} out well"
    return f"{said}, not kept"


def fingerprint_text(digits: str) -> str:
    """The first digits in groups of four."""
    shown = digits[:SHOWN]
    return " ".join(shown[i : i + 4] for i in range(0, len(shown), 4))


def imprint_lines(imprint: Imprint) -> tuple[str, str]:
    """Two lines for the foot of every page: build and state; date and fingerprints."""
    return (
        f"{imprint.build} · {imprint.state}",
        f"printed {day_text(imprint.made)} {clock(imprint.made)} · files "
        f"{fingerprint_text(imprint.files)} · journal {imprint.journal}",
    )
