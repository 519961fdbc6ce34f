"""The sheet of one work session: a row per person on a scale of time, and how the car ends the day.

A box is a card in somebody's hands, from its first task to its last; inside, a mark where each task
begins, with its words on a leader below. A dashed box is help with another's card.
"""

from __future__ import annotations

from dataclasses import dataclass

from drybuild.show.cards_words import (
    CAUTION,
    clock,
    day_text,
    may_lines,
    need_line,
    needs_of,
    there_from,
)
from drybuild.show.drawing import SCREEN, Anchor, Drawing, Face
from drybuild.show.duties import duties_line
from drybuild.show.hours import NO_BREAKS, person_hours
from drybuild.show.left_words import left_lines
from drybuild.show.lines import numbers_text
from drybuild.show.to_set import axle_lines
from drybuild.show.work_supposed import first_session_line
from drybuild.values import System
from drybuild.work.cards import Card
from drybuild.work.model import QUARTERS_AN_HOUR, Session, Step
from drybuild.work.sheets import Sheets

WIDE = 1120.0
LEFT = 130.0
"""Where the scale of time begins; names stand before it."""

RIGHT = WIDE - 24.0
BAND = 58.0
PITCH = 19.0
LEAST = 50.0
"""Width that a title needs in a box; a narrower box has its number alone."""

USES = 160.0
"""Width of the names of uses of which one thing is said."""

SMALL, TEXT, TITLE = 13.0, 15.0, 26.0
NUMBER = 24.0
"""Letters of a card's number, where its box has room."""


@dataclass(frozen=True)
class Spell:
    """A card in one person's hands. steps: that they take part in; own: whether they lead it."""

    card: Card
    steps: tuple[Step, ...]
    own: bool

    @property
    def start(self) -> int:
        return self.steps[0].start

    @property
    def end(self) -> int:
        return max(step.end for step in self.steps)


def spells(sheets: Sheets, session: str, person: str) -> tuple[Spell, ...]:
    """What a person does in a session, card by card; split where another card comes between."""
    found: list[Spell] = []
    for step in sheets.plan.of(session):
        mine = person in step.who or (not person and not step.who)
        card = next((c for c in sheets.cards if step in c.steps), None)
        if not mine or card is None:
            continue
        own = not step.who or step.who[0] == person
        last = found[-1] if found else None
        if last is not None and last.card is card and last.own == own and last.end == step.start:
            found[-1] = Spell(card, (*last.steps, step), own)
        else:
            found.append(Spell(card, (step,), own))
    return tuple(found)


def _words(spell: Spell) -> str:
    """What stands in the box of a card."""
    return spell.card.title if spell.own else f"with {spell.steps[0].who[0]}"


def sheet_svg(
    sheets: Sheets, session: str, *, face: Face = SCREEN, system: System = "metric"
) -> str:
    """The sheet as an SVG text, with the words for who cannot see it."""
    return _Sheet(sheets, session, face, system).svg()


class _Sheet:
    """One sheet under way; y is where the next thing is drawn."""

    def __init__(self, sheets: Sheets, session: str, face: Face, system: System) -> None:
        self.sheets, self.system = sheets, system
        self.problem = sheets.todo.problem
        self.day: Session = self.problem.session(session)
        self.d = Drawing(face)
        self.y = 0.0
        steps = sheets.plan.of(session)
        self.begin = min([self.day.start, *(s.start for s in steps)])
        self.end = max([self.day.end, *(s.end for s in steps)])

    def x(self, quarter: float) -> float:
        return LEFT + (RIGHT - LEFT) * (quarter - self.begin) / (self.end - self.begin)

    def svg(self) -> str:
        self._head()
        top, ground = self.y, len(self.d.parts)
        for person in self.day.people:
            since = there_from(self.sheets, self.day.id, person)
            self._row(person.name, since, person.end)
        if any(not step.who for step in self.sheets.plan.of(self.day.id)):
            self._row("", self.begin, self.end)
        self._scale(top, ground)
        self._how_it_ends()
        return self.d.svg(WIDE, self.y + 6, self._told())

    def _told(self) -> str:
        names = ", ".join(person.name for person in self.day.people)
        return f"{self.day.title}: who does what when ({names}), and how the car ends the day"

    def _head(self) -> None:
        start, end = self.problem.at(self.day.start), self.problem.at(self.day.end)
        steps = self.sheets.plan.of(self.day.id)
        hours = sum(len(s.who) * (s.end - s.start) for s in steps) / QUARTERS_AN_HOUR
        numbers = sorted({c.number for c in self.sheets.cards if c.session == self.day.id})
        cards = f"cards {numbers_text(numbers)}" if len(numbers) > 1 else "one card"
        self.d.text(12, 34, self.day.title, size=TITLE, heavy=True)
        said = f"{day_text(start)} · {clock(start)} to {clock(end)} · {cards} · "
        said += f"{person_hours(hours)} of work planned · {NO_BREAKS}"
        self.d.text(12, 58, said, size=TEXT)
        self.y = 100.0
        for line in self._known_before():
            self.d.text(12, self.y - 20, line, size=TEXT, heavy=True)
            self.y += 22.0

    def _known_before(self) -> list[str]:
        """What the plan supposes until the first day, and what is done before this one."""
        said = (first_session_line(self.sheets.plan, self.day.id),
                duties_line(self.sheets, self.day.id))  # fmt: skip
        return [
            line for words in said if words
            for line in self.d.broken(words, RIGHT - 12, size=TEXT, heavy=True)
        ]  # fmt: skip

    def _scale(self, top: float, ground: int) -> None:
        """Hours along the top, carried down in thin lines that lie under everything else."""
        rows = self.d.parts[ground:]
        del self.d.parts[ground:]
        first = -(-self.begin // QUARTERS_AN_HOUR) * QUARTERS_AN_HOUR
        for quarter in range(first, self.end + 1, QUARTERS_AN_HOUR):
            x = self.x(quarter)
            self.d.line([(x, top - 14), (x, self.y)], width=0.4, dash="1 4")
            self.d.text(x, top - 18, clock(self.problem.at(quarter)), size=SMALL, anchor="middle")
        self.d.line([(LEFT, top - 12), (RIGHT, top - 12)], width=1.2)
        for quarter in range(self.begin, self.end + 1):
            tall = 8 if quarter % QUARTERS_AN_HOUR == 0 else 4
            self.d.line([(self.x(quarter), top - 12), (self.x(quarter), top - 12 + tall)])
        self.d.parts += rows

    def _row(self, name: str, start: int, end: int) -> None:
        top, d = self.y + 6, self.d
        d.text(12, top + 24, name or self._nobody(), size=18, heavy=True)
        if (start, end) != (self.begin, self.end):
            there = f"{clock(self.problem.at(start))} to {clock(self.problem.at(end))}"
            d.text(12, top + 44, there, size=SMALL)
        middle = top + BAND / 2
        d.line([(self.x(start), middle), (self.x(end), middle)], width=0.8)
        done = spells(self.sheets, self.day.id, name)
        for spell in done:
            self._spell(spell, top)
        depth = self._labels(done, name, top + BAND)
        self.y = top + BAND + max(1, depth) * PITCH + 16
        d.line([(12, self.y), (RIGHT, self.y)], width=0.6)

    def _named(self, spell: Spell, step: Step) -> bool:
        """Whether the box of a card has room for its title, and the title is the task's."""
        task = next(t for t in spell.card.tasks if t.step == step)
        return spell.own and self._holds(spell) and task.title == spell.card.title

    def _holds(self, spell: Spell) -> bool:
        """Whether a box has room for words beside its number, and none of them is cut."""
        longest = max(_words(spell).split(), key=len)
        return self._room(spell) >= max(LEAST, self.d.long(longest, size=SMALL))

    def _room(self, spell: Spell) -> float:
        """Width beside the card's number for words in its box."""
        return self.x(spell.end) - self.x(spell.start) - self._digits(spell) - 16

    def _digits(self, spell: Spell) -> float:
        """Width of a card's number; digits are wider than a usual letter."""
        return 1.2 * self.d.long(str(spell.card.number), size=NUMBER, heavy=True)

    def _nobody(self) -> str:
        """What stands where no name does: others work elsewhere, or it waits."""
        cards = [c for c in self.sheets.cards if c.session == self.day.id and not c.who]
        return "elsewhere" if any(card.outside for card in cards) else "nobody"

    def _spell(self, spell: Spell, top: float) -> None:
        d, left, right = self.d, self.x(spell.start), self.x(spell.end)
        d.box(
            left, top, right - left, BAND, width=1.8 if spell.own else 1.2,
            dash="" if spell.own else "6 4", fill="#fff",
        )  # fmt: skip
        for step in spell.steps[1:]:
            x = self.x(step.start)
            d.line([(x, top + BAND - 9), (x, top + BAND)], width=1.2)
        number = str(spell.card.number)
        room = self._room(spell)
        if not self._holds(spell):
            size = min(NUMBER, max(SMALL, NUMBER * (right - left - 8) / self._digits(spell)))
            foot = top + 30 + size / 3
            d.text((left + right) / 2, foot, number, size=size, heavy=True, anchor="middle")
            return
        d.text(left + 7, top + 30, number, size=NUMBER, heavy=True)
        words = _words(spell)
        x = left + 11 + self._digits(spell)
        said = d.broken(words, room, size=TEXT)
        if len(said) <= 2:
            d.lines(x, top + 26, said, size=TEXT, pitch=1.08)
        else:
            d.lines(x, top + 15, d.broken(words, room, size=SMALL, most=3), size=SMALL)

    def _labels(self, done: tuple[Spell, ...], name: str, foot: float) -> int:
        """Each task's words on a leader below its place, on the first line with room; lines used.

        Leaders first: one that passes behind words is broken there. Words that would leave the
        sheet end at their leader. The job that a box names already is not said again.
        """
        free: list[float] = []
        placed: list[tuple[float, float, str, Anchor]] = []
        for spell, step in ((p, s) for p in done for s in p.steps if not self._named(p, s)):
            words = self._said(spell, step, name)
            long = self.d.long(words, size=SMALL) + 18
            x = self.x(step.start)
            back = x + long > RIGHT
            left = x - long if back else x
            line = next((i for i, used in enumerate(free) if used <= left), len(free))
            free[line : line + 1] = [left + long]
            y = foot + (line + 1) * PITCH
            self.d.line([(x, foot), (x, y - 4), (x - 5 if back else x + 5, y - 4)], width=0.5)
            placed.append((x - 8 if back else x + 8, y, words, "end" if back else "start"))
        for x, y, words, anchor in placed:
            self.d.text(x, y, words, size=SMALL, over=True, anchor=anchor)
        return len(free)

    def _said(self, spell: Spell, step: Step, name: str) -> str:
        task = next(t for t in spell.card.tasks if t.step == step)
        others = [one for one in step.who if one != name]
        return task.title + (f", with {' and '.join(others)}" if others and spell.own else "")

    def _how_it_ends(self) -> None:
        """Two columns: what the car may do, and what is off or left so."""
        car, half = self.sheets.ends[self.day.id], 0.52 * WIDE
        d = self.d
        today = [card for card in self.sheets.cards if card.session == self.day.id]
        for words in axle_lines(today, self.system):
            said = d.broken(words, RIGHT - 12, size=TEXT)
            self.y = d.lines(12, self.y + 22, said, size=TEXT) - 16
        top = self.y + 30
        d.text(12, top, "What it may do at the end", size=18, heavy=True)
        y = top + 22
        for need in needs_of(self.problem, self.day.id):
            said = d.broken(need_line(self.sheets, need), half - 12, size=TEXT)
            y = d.lines(12, y, said, size=TEXT) + 2
        for use, words in may_lines(car, self.sheets.cards):
            named = d.broken(use, USES - 12, size=TEXT, heavy=True)
            foot = d.lines(12, y, named, size=TEXT, heavy=True)
            told = d.broken(words, half - USES, size=TEXT, most=3)
            y = 4 + max(foot, d.lines(USES + 8, y, told, size=TEXT))
        right, room = half + 20, RIGHT - half - 20
        below = d.lines(right, top, ["How it is left"], size=18, heavy=True)
        for line in left_lines(self.sheets, self.day.id):
            below = d.lines(right, below, d.broken(line, room, size=TEXT), size=TEXT) + 4
        below = d.lines(right, below + 6, d.broken(CAUTION, room, size=SMALL), size=SMALL)
        self.y = max(y, below)
