"""While it is apart, in words: what else lies open, and what may wait."""

from __future__ import annotations

from drybuild.show.cards_words import money_text, short_day
from drybuild.show.hours import two
from drybuild.show.lines import wrapped
from drybuild.values import number_of, stepped, unsigned
from drybuild.work.apart import Apart, Likely, MayWait, WhileThere
from drybuild.work.model import ToDo

MOST_WAIT = 6
LEAST_FREED = 0.5
"""Person-hours freed below which a job that may wait is not spoken of."""

PRACTICE = "common practice"

NOTHING = "nothing else that this build knows of lies behind what is opened"
WAITING = "What may be left for a later opening: where it is it shares none, or less"
LIVES = (
    "“Due” is failed or worn out, not having been so until now. Lives are common practice unless "
    "said otherwise, and differ from car to car: the second figures are for longer and shorter "
    "ones. Look before you buy: what is seen in the open car says more than any of this. How to "
    "judge it, and its limits, are in the maker's manual."
)


def apart_text(todo: ToDo, apart: Apart) -> str:
    """The answer of ``while-apart``. todo: whose plan it is, for dates and titles."""
    lines = [f"While it is apart: {ahead_text(apart)}"]
    for note in assumed_lines(apart):
        lines += wrapped(f"  {note}", 4)
    for title, items in groups(apart):
        lines += ["", title]
        for item in items:
            lines += _item(todo, apart, item)
    if not apart.found:
        lines += wrapped(f"  {NOTHING}", 4)
    lines += _waiting(todo, apart)
    return "\n".join([*lines, "", *wrapped(LIVES, 0)])


def groups(apart: Apart) -> list[tuple[str, list[WhileThere]]]:
    """What else lies open, by whether it pays; groups with nothing in them are left out."""
    pays = [item for item in apart.found if item.pays]
    unknown = [item for item in apart.found if item.wanted is None]
    leave = [item for item in apart.found if item.wanted is not None and not item.pays]
    found = (
        ("Worth doing while it is open, what saves most first", pays),
        ("Open as well; how long they last is not known", unknown),
        ("Open as well, and better left: not expected to pay", leave),
    )
    return [(title, items) for title, items in found if items]


def ahead_text(apart: Apart) -> str:
    """``the next 5 years, 12,000 km a year``."""
    return f"the next {two(apart.years)} years, {apart.yearly:,.0f} km a year"


def assumed_lines(apart: Apart) -> list[str]:
    """What nobody said and was assumed."""
    notes = []
    if "distance a year" in apart.assumed:
        notes.append(f"nobody said how far it is driven a year: {apart.yearly:,.0f} km is assumed")
    missing = [name for name in ("age", "distance") if name in apart.assumed]
    if missing:
        notes.append(f"the car's {' and '.join(missing)} are not said: [work] age, odometer")
    if apart.hour is None:
        notes.append("an hour has no price ([work] labour_rate): ranked by hours")
    return notes


def _item(todo: ToDo, apart: Apart, item: WhileThere) -> list[str]:
    first, *more = item_lines(todo, apart, item)
    lines = wrapped(f"  {first}", 6)
    for said in more:
        lines += wrapped(f"      {said}", 8)
    return lines


def item_lines(todo: ToDo, apart: Apart, item: WhileThere) -> list[str]:
    """One thing that lies open: what it costs and saves; then what else is to be known of it."""
    problem = todo.problem
    day = short_day(problem.at(problem.session(item.session).start))
    said = [f"{two(item.now)} h now, {two(item.later)} h later"]
    if item.wanted is not None:
        said.append(f"due by then: {_likely(item.wanted)}")
    if item.saving is not None:
        said.append(_saving(item.saving, apart.currency))
    elif item.saving_hours is not None:
        said.append(_saving(item.saving_hours, "h"))
    price = "price not known"
    if item.part is not None:
        price = money_text(item.part, apart.currency)
    said.append(f"part: {price}")
    behind = f", {problem.components[item.open[0]].title} off" if item.open else ""
    lines = [f"{item.title} ({day}{behind}): {'; '.join(said)}"]
    if item.besides:
        titles = ", ".join(problem.components[name].title for name in item.besides)
        lines.append(f"take off besides: {titles}")
    if not item.fits:
        lines.append("no room in that session as planned: plan again with it")
    if item.source and item.source != PRACTICE:
        lines.append(f"life: {item.source}")
    return lines


def _likely(chance: Likely) -> str:
    low, middle, high = (round(100 * x) for x in (chance.low, chance.middle, chance.high))
    about = f"about {middle} in 100"
    return f"{about} ({low} to {high})" if low != high else about


def _saving(saving: Likely, unit: str) -> str:
    """What doing it now changes: ``saves about 310 EUR, 120 to 420``, ``costs about 310 EUR more,
    120 to 420``; ``saves about 1 h: from 0.1 h lost to 2 h saved`` where it may go either way."""
    told = stepped(saving.middle, saving.low, saving.high)
    likely, low, high = map(number_of, told)
    middle, least, most = (_spaced(unsigned(figure)) for figure in told)
    verb, more = ("costs", " more") if likely < 0 or low < 0 >= high else ("saves", "")
    if low < 0 < high:
        said = f"{verb} about {middle} {unit}{more}" if likely else "about even"
        return f"{said}: from {least} {unit} lost to {most} {unit} saved"
    if verb == "costs":
        least, most = most, least
    if middle in (least, most) and least != most:  # longer or shorter lives change one side alone
        end = f"at least {least}" if middle == most else f"at most {most}"
        return f"{verb} about {middle} {unit}{more}, {end}"
    return f"{verb} about {middle} {unit}{more}, {least} to {most}"


def _spaced(figure: str) -> str:
    """Whole figures from a thousand on are parted: ``1 200``."""
    return f"{int(figure):,}".replace(",", " ") if abs(float(figure)) >= 1000 else figure


def _waiting(todo: ToDo, apart: Apart) -> list[str]:
    rows = waiting_lines(todo, apart)
    lines = ["", WAITING] if rows else []
    for row in rows:
        lines += wrapped(f"  {row}", 4)
    return lines


def waiting_lines(todo: ToDo, apart: Apart) -> list[str]:
    """Jobs that may be left for a later opening, what frees most first."""
    rows = [w for w in apart.may_wait if w.frees >= LEAST_FREED or w.better]
    lines = [wait_text(todo, row) for row in rows[:MOST_WAIT]]
    more = len(rows) - MOST_WAIT
    return [*lines, f"and {more} more"] if more > 0 else lines


def wait_text(todo: ToDo, row: MayWait) -> str:
    """A job that may wait, in one line."""
    problem = todo.problem
    day = short_day(problem.at(problem.session(row.session).start))
    said = f"{row.title}, {day}: frees {two(row.frees)} h"
    if row.better:
        better = short_day(problem.at(problem.session(row.better).start))
        return f"{said}; on {better} it lies open anyway, which saves {two(row.saves)} h"
    lost = "costs nothing more" if row.loses < 0.05 else f"costs {two(row.loses)} h more"
    return f"{said}; done later it {lost}"
