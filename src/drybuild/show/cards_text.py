"""Cards, tags, shopping list and the sheet of a day as plain text."""

from __future__ import annotations

from collections.abc import Iterable

from drybuild.build.declared import declaration
from drybuild.examine.naming import plain_name
from drybuild.findings import SIDES
from drybuild.show.cards_words import (
    CAUTION,
    HOLDS,
    TIGHTENING,
    amount_text,
    arrival_text,
    before_lines,
    clock,
    day_text,
    free_text,
    hands_text,
    holds_shown,
    imprint_lines,
    length_text,
    lift_text,
    lifted_by,
    made_text,
    may_lines,
    money_text,
    more_text,
    need_line,
    needs_of,
    off_title,
    part_text,
    place_text,
    price_text,
    quantity_text,
    renewable_text,
    short_day,
    span_text,
    there_from,
    why_text,
    work_text,
)
from drybuild.show.duties import BEFORE, by_when, duties_line, duty_text
from drybuild.show.holds_joined import causes, split
from drybuild.show.hours import NO_BREAKS, hours_text
from drybuild.show.left_words import open_lines
from drybuild.show.lines import wrapped
from drybuild.show.tag_words import (
    Group,
    down_lines,
    group_text,
    groups,
    hang_lines,
    hangs_on,
    when_hung,
)
from drybuild.show.tightening import figure_text
from drybuild.show.to_set import axle_lines, set_lines
from drybuild.show.work_supposed import first_session_line
from drybuild.values import System
from drybuild.work.cards import Card, Task, number_of
from drybuild.work.sheets import Sheets
from drybuild.work.shopping import Item
from drybuild.work.tags import Tag

LABEL = 14
KINDS = {
    "booking": "Book", "part": "Parts", "renewable": "New every time", "tool": "Borrow",
}  # fmt: skip


def cards_text(
    sheets: Sheets, *, session: str = "", numbers: Iterable[int] = (), system: System = "metric"
) -> str:
    """The cards of a plan, or of one session, or some of them by number."""
    chosen = frozenset(numbers)
    found = [
        card_text(card, sheets, system=system)
        for card in sheets.cards
        if session in ("", card.session) and (not chosen or card.number in chosen)
    ]
    foot = "\n".join([*wrapped(CAUTION, 0), *imprint_lines(sheets.imprint)])
    return "\n\n".join([*_since(sheets), *found, foot])


def _since(sheets: Sheets) -> list[str]:
    return ["\n".join(wrapped(f"{sheets.since}.", 0))] if sheets.since else []


def card_text(card: Card, sheets: Sheets, *, system: System = "metric") -> str:
    """One card."""
    lines = [
        *wrapped(f"CARD {place_text(card)}  {card.title}", 4),
        *wrapped(
            f"{span_text(card.start, card.end)} · {hands_text(card)} · "
            f"planned: {work_text(card)}",
            2,
        ),
    ]
    supposed = first_session_line(sheets.plan, card.session)
    lines += _block("not known", [supposed] if supposed else [])
    lines += _block("before", before_lines(card, sheets.cards))
    lines += _block("care", card.cautions)
    lines += _block("hang first", hang_lines(card, sheets.cards, sheets.hung))
    lines += _block("tools", card.bench)
    lines += _block("parts", map(part_text, card.parts))
    lines += _block("new", map(renewable_text, card.renew))
    lines += _block("photograph", card.photograph)
    lines += _block("bag", card.bag)
    lines += _tasks(card)
    lines += _block("set to", set_lines(card, system))
    if card.joints:
        lines += _block("tighten", (f"{j.title}: {figure_text(j, system)}" for j in card.joints))
        lines += wrapped(" " * LABEL + TIGHTENING, LABEL)
    lines += _block("check", card.verify)
    lines += _block("write down", (made_text(o) for o in card.makes))
    lines += _block("owed", (o.title for o in card.records))
    lines += _block("take down", down_lines(card))
    shown, _ = holds_shown(card.standing)
    lines += _block("it may not" if shown else "after it", _holds(card, sheets.cards))
    return "\n".join(lines)


def _block(label: str, said: Iterable[str]) -> list[str]:
    lines: list[str] = []
    for line in said:
        head = f"  {label:<{LABEL - 2}}" if not lines else " " * LABEL
        lines += wrapped(f"{head}{line}", LABEL)
    return lines


def _tasks(card: Card) -> list[str]:
    lines = []
    for number, task in enumerate(card.tasks, 1):
        lines += wrapped(f"  {number:>2}  {clock(task.start)}  {task_heading(task)}", LABEL)
        for step in task.steps:
            lines += wrapped(f"{' ' * LABEL}[ ] {step}", LABEL + 4)
    return lines


def task_heading(task: Task, person: str = "") -> str:
    """Title of a task, and ``task_more``."""
    return f"{task.title} · {task_more(task, person)}"


def task_more(task: Task, person: str = "", *, timed: bool = True) -> str:
    """Length of a task, the ways chosen, who helps, what waits afterwards.

    person: who reads it; else the first of its hands. timed: with its length.
    """
    said = [*([length_text(task.end - task.start)] if timed else []), *task.ways]
    others = [name for name in task.who if name != (person or task.who[0])]
    if others:
        said.append(f"with {' and '.join(others)}")
    if task.wait:
        said.append(f"then {hours_text(task.wait)} that need nobody{_and_after(task)}")
    return " · ".join(said)


def _and_after(task: Task) -> str:
    """What is said of a wait that is longer than the session."""
    if task.over is None:
        return ""
    day = f"{short_day(task.over)} " if task.over.date() != task.end.date() else ""
    return f", to {day}{clock(task.over)}, after the session: {COMES_BACK}"


COMES_BACK = "whoever does the last of it comes back, or does it before the car is used again"


def _holds(card: Card, cards: tuple[Card, ...]) -> list[str]:
    stops, _ = holds_shown(card.standing, most=len(card.standing.stops))
    found, more = split(causes(stops, cards), HOLDS)
    if not found:
        return [free_text(card.standing)]
    said = [f"{one.uses}: {one.why} → {one.lift}" for one in found]
    shown = [stop for one in found for stop in one.stops]
    return [*said, *([more_text(more, lifted_by(card.standing, shown, cards))] if more else [])]


def tags_text(sheets: Sheets) -> str:
    """The tags to hang, by the session at whose end they are hung."""
    lines: list[str] = []
    for session in sheets.ends:
        hung = [tag for tag in sheets.tags if tag.session == session]
        lines += hung_lines(sheets, session)
        lines += wrapped(f"Hang at the end of {sheets.todo.problem.session(session).title}", 2)
        if not hung:
            lines.append("  nothing new")
        for tag in hung:
            lines += tag_lines(tag, sheets, _hung_by(sheets, tag))
    return "\n".join([*lines, *imprint_lines(sheets.imprint)])


def hung_lines(sheets: Sheets, session: str) -> list[str]:
    """The tags that a session's cards ask for, each with the card that hangs it."""
    lines: list[str] = []
    here = (tag for tag in sheets.hung if tag.by is not None and tag.by.session == session)
    for group in groups(sheets.cards, here):
        lines += wrapped(f"  {_hung_at(group)}: {group_text(sheets.cards, group)}", 4)
    if lines:
        lines[:0] = wrapped(f"Hang during {sheets.todo.problem.session(session).title}", 2)
    return lines


def _hung_at(group: Group) -> str:
    return when_hung(group) if group[2][0].after else f"before card {group[0]}"


def _hung_by(sheets: Sheets, tag: Tag) -> str:
    """Which card of the session hangs it already."""
    here = (h for h in sheets.hung if h.by is not None and h.by.session == tag.session)
    found = (g for g in groups(sheets.cards, here) if g[1] == tag.command)
    return next((f"card {g[0]}" for g in found if hangs_on(g, tag.session)), "")


def tag_lines(tag: Tag, sheets: Sheets, hung_by: str = "") -> list[str]:
    """One tag in a few lines. hung_by: the card after which it hangs there already."""
    already = f", the one that {hung_by} hangs" if hung_by else ""
    lines = wrapped(f"  {tag.command} ({tag.place}{already})", 4)
    for words in tag.words:
        lines += wrapped(f"      because: {words}", 15)
    for stop in tag.stops:
        said = f"{why_text(stop)} → {lift_text(stop, sheets.cards)}"
        lines += wrapped(f"      because: {said}", 15)
    return lines


def shopping_text(sheets: Sheets) -> str:
    """What to buy, book and borrow, and by when."""
    found = sheets.shopping
    lines: list[str] = [BEFORE] if sheets.duties else []
    for duty in sheets.duties:
        by = f"by {short_day(by_when(duty, sheets))}"
        lines += wrapped(f"  {by:<15} {duty_text(duty, sheets)}", 18)
    for kind, title in KINDS.items():
        items = found.of(kind)
        if items:
            lines += ["", title] if lines else [title]
            for item in items:
                lines += wrapped(f"  {day_words(item):<15} {item_text(item, sheets)}", 18)
    lines += ["", *wrapped(total_text(sheets), 0), *imprint_lines(sheets.imprint)]
    return "\n".join(lines)


def day_words(item: Item) -> str:
    """``by Fri 11 Dec``: the day before it is used; ``for Thu 14 Jan``, of a booking."""
    return f"{'for' if item.kind == 'booking' else 'by'} {short_day(item.have)}"


def item_text(item: Item, sheets: Sheets) -> str:
    """One line of the list."""
    counts = item.kind in ("part", "renewable") and (item.quantity != 1 or item.unit)
    said = [amount_text(item.quantity, item.unit, item.title) if counts else item.title]
    if len(item.lots) > 1 and item.kind in ("part", "renewable"):
        days: dict[str, float] = {}
        for lot in item.lots:
            days[short_day(lot.have)] = days.get(short_day(lot.have), 0.0) + lot.quantity
        said += [
            f"{quantity_text(much, item.unit)} by {day}" for day, much in days.items()
            if len(days) > 1
        ]  # fmt: skip
    elif len(item.lots) > 1:
        booked = item.kind == "booking"
        others = (short_day(lot.by if booked else lot.have) for lot in item.lots[1:])
        said.append("also " + ", ".join(others))
    said += [after_text(item), arrival_text(item), price_text(item, sheets.shopping.currency)]
    return " · ".join(one for one in said if one)


def after_text(item: Item) -> str:
    """``after its marking is written down``: what a part waits for before it is paid for."""
    if item.after is None:
        return ""
    own = item.after.note_as.startswith(f"part.{item.what}.")
    sides = SIDES if item.after.both_sides else ()
    named = plain_name(".".join(w for w in item.after.note_as.split(".") if w not in sides))
    known = declaration(item.after.input.removeprefix("base:"))
    if own and known is not None:
        named = f"its {known.plain}"
    return f"after {named} is written down"


def total_text(sheets: Sheets) -> str:
    """What the list comes to, as far as prices are stated."""
    found = sheets.shopping
    said = f"Prices that are stated come to {money_text(found.known, found.currency)}"
    if found.unpriced:
        lines = "1 line has" if found.unpriced == 1 else f"{found.unpriced} lines have"
        said += f"; {lines} none"
    return said + "."


def sheet_text(sheets: Sheets, session: str, *, system: System = "metric") -> str:
    """The sheet of one day: who does what when, and what the car may do at its end."""
    problem = sheets.todo.problem
    day = problem.session(session)
    lines = [f"{day.title}, {day_text(problem.at(day.start))} · {NO_BREAKS}"]
    supposed = first_session_line(sheets.plan, session)
    lines += wrapped(f"  {supposed}", 4) if supposed else []
    lines += wrapped(f"  {sheets.since}", 4) if sheets.since else []
    before = duties_line(sheets, session)
    lines += wrapped(f"  {before}", 4) if before else []
    for person in day.people:
        since = there_from(sheets, session, person)
        there = f"{clock(problem.at(since))} to {clock(problem.at(person.end))}"
        lines.append(f"  {person.name} ({there})")
        for step in sheets.plan.of(session):
            if person.name in step.who:
                number = number_of(sheets.cards, step)
                task = next(t for c in sheets.cards for t in c.tasks if t.step == step)
                said = f"    {clock(task.start)}  card {number:>2}  "
                lines += wrapped(said + task_heading(task, person.name), 20)
    aligning = [card for card in sheets.cards if card.session == session]
    for words in axle_lines(aligning, system):
        lines += wrapped(f"    {words}", 8)
    lines.append("  at the end")
    lines += [f"    {need_line(sheets, need)}" for need in needs_of(problem, session)]
    for use, said in may_lines(sheets.ends[session], sheets.cards):
        lines += wrapped(f"    {use}: {said}", 8)
    lines += off_lines(sheets, session)
    return "\n".join([*lines, *wrapped(CAUTION, 0), *imprint_lines(sheets.imprint)])


def off_lines(sheets: Sheets, session: str) -> list[str]:
    """What is off the car at a session's end, in the order in which it came off."""
    titles = [off_title(sheets, name) for name in sheets.ends[session].off]
    lines = ["  off, in the order in which it came off" if titles else "  nothing is off"]
    for number, title in enumerate(titles, 1):
        lines += wrapped(f"    {number:>2}  {title}", 8)
    for words in open_lines(sheets, session):
        lines += wrapped(f"  {words}", 4)
    return lines
