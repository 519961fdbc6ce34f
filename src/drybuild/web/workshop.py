"""The work as the app holds it: the kept plan, its cards, and how far it has come.

Cards are made once a plan (some seconds); what was written down since is read anew each time.
"""

from __future__ import annotations

import contextlib
import threading
from dataclasses import dataclass, replace
from datetime import datetime

from fastapi import Request

from drybuild.build import BuildProblem, ChangeRefused
from drybuild.examine import OpenBuild
from drybuild.journal import JournalProblem, WorkEntry
from drybuild.show.left_now import left_now_text
from drybuild.work.as_planned import AsPlanned, SoFar, as_planned, mark_of, so_far
from drybuild.work.at_hand import AtHand, at_hand, planned_from
from drybuild.work.before import Before
from drybuild.work.cards import Card
from drybuild.work.evidence import changes_of
from drybuild.work.model import Session, Step
from drybuild.work.on_the_way import OnTheWay, on_the_way
from drybuild.work.risk import Outlook, simulate
from drybuild.work.sheets import Sheets, as_came_off, sheets
from drybuild.work.waits import Waits, rests_on


@dataclass(frozen=True)
class Work:
    """The kept plan on the table. now: the moment by which a session counts as over; wants: what a
    measurement would settle on the way."""

    planned: AsPlanned
    sheets: Sheets
    so_far: SoFar
    now: datetime
    wants: tuple[OnTheWay, ...] = ()

    @property
    def cards(self) -> tuple[Card, ...]:
        """Every card, in order."""
        return self.sheets.cards

    def sessions(self) -> tuple[Session, ...]:
        """Sessions in which the plan does anything."""
        return tuple(self.sheets.todo.problem.session(name) for name in self.sheets.ends)

    def done(self, step: Step) -> WorkEntry | None:
        """The entry by which a step is written down."""
        return self.so_far.done.get(step)

    def left(self, card: Card) -> tuple[Step, ...]:
        """Steps of a card that are not written down yet."""
        return tuple(step for step in card.steps if step not in self.so_far.done)

    def next_card(self, after: int = 0, who: str = "") -> Card | None:
        """The first card after that of a number on which something is left to do and whose turn has
        come; else the first of all; where none's has, the first that is left. who: somebody whose
        own card of that session goes before those of others."""
        place = next((n for n, card in enumerate(self.cards, 1) if card.number == after), 0)
        waiting = [card for card in self.cards if self.left(card)]
        before = Before(self.sheets.todo.problem, self.planned.plan)
        over = self.so_far.done.keys()
        ready = [card for card in waiting if not before.open(self.left(card)[:1], over)]
        behind = [card for card in self.cards[place:] if card in ready]
        order = [*behind, *ready]
        mine = [c for c in order if who in c.who and c.session == order[0].session]
        return next(iter((*mine, *order, *waiting)), None)

    def open_before(self, card: Card) -> tuple[Card, ...]:
        """Cards on which what is left of this one rests, and that are not done as far as it does.

        What the plan only happens to have earlier, and what others have in hand meanwhile, is none
        of them.
        """
        before = Before(self.sheets.todo.problem, self.planned.plan)
        rests = set(before.open(self.left(card), self.so_far.done.keys()))
        return tuple(c for c in self.cards if rests & set(c.steps))

    def rests_on(self, card: Card) -> tuple[Waits, ...]:
        """The tasks of those cards on which what is left of this one rests itself."""
        before = Before(self.sheets.todo.problem, self.planned.plan)
        cut = [c.steps for c in self.cards]
        return rests_on(before, cut, self.left(card), self.so_far.done.keys())

    def checked_on(self, record: str, card: Card) -> tuple[Step, ...]:
        """The steps of a card that make a hand check."""
        problem = self.sheets.todo.problem
        return tuple(
            step for step in card.steps
            if any(c.kind == "verify" and c.target == record for c in changes_of(problem, step))
        )  # fmt: skip

    def open_for(self, record: str, card: Card) -> tuple[Step, ...]:
        """What the work of a hand check rests on and nobody has written down."""
        mine = [s for s in self.checked_on(record, card) if s not in self.so_far.done]
        before = Before(self.sheets.todo.problem, self.planned.plan)
        return before.open(mine, self.so_far.done.keys())

    def open_for_any(self, record: str) -> tuple[Step, ...]:
        """The same of a hand check of the record's page: of the card that is nearest to it."""
        found = [self.open_for(record, c) for c in self.cards
                 if record in {o.record for o in c.makes}]  # fmt: skip
        return min(found, key=len, default=())

    def undone_since(self, record: str, card: Card, entry: int) -> Step | None:
        """What first came off after a hand check of what the work of it rests on."""
        before = Before(self.sheets.todo.problem, self.planned.plan)
        rests = {one for step in self.checked_on(record, card) for one in before.all(step)}
        later = [
            (e.id, s) for s, e in self.so_far.done.items()
            if s in rests and s.kind == "take" and e.id > entry
        ]
        return min(later, key=lambda pair: pair[0])[1] if later else None

    def left_now(self) -> str:
        """What is left of the plan and when it ends; empty before the first tick."""
        so_far = self.so_far
        return left_now_text(
            self.sheets.todo.problem, self.planned.plan, so_far.done.keys(), so_far.stopped,
            bool(self.overdue()),
        )  # fmt: skip

    def next_session(self) -> Session | None:
        """The first session of the plan in which something is left to do."""
        names = {step.session for card in self.cards for step in self.left(card)}
        return next((s for s in self.sessions() if s.id in names), None)

    def days_ahead(self, card: Card) -> int:
        """Days by the clock until a card's session; 0 on the day, and when it is over."""
        session = self.sheets.todo.problem.session(card.session)
        day = self.sheets.todo.problem.at(session.start).date()
        return max(0, (day - datetime.now().date()).days)

    def begun(self, card: Card) -> bool:
        """Whether anything of a card's session is written down."""
        return any(step.session == card.session for step in self.so_far.done)

    def overdue(self) -> tuple[Session, ...]:
        """Sessions that are over and were not finished."""
        at = self.sheets.todo.problem.at
        names = {step.session for card in self.cards for step in self.left(card)}
        return tuple(s for s in self.sessions() if at(s.end) <= self.now and s.id in names)


_Made = tuple[tuple[str, str], AsPlanned, Sheets, tuple[OnTheWay, ...]]


def _work(kept: _Made, opened: OpenBuild) -> Work:
    _, planned, made, wants = kept
    now = planned_from(opened) or datetime.now()
    so = so_far(planned, opened)
    ends = as_came_off(made.todo.problem, planned.plan, made.ends, opened.journal, so.done)
    return Work(planned, replace(made, ends=ends), so, now, wants)


class Workshop:
    """Keeps what is dear to make. Methods may be called from any thread."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._sheets: _Made | None = None
        self._hand: tuple[tuple[str, str, str], AtHand] | None = None
        self._outlook: tuple[AsPlanned, Outlook] | None = None

    def work(self, opened: OpenBuild) -> Work | None:
        """The kept plan with its cards; None where there is none.

        Raises PlanProblem for one that is of no use any more, WorkFaults, ChangeRefused.
        """
        with self._lock:
            key = (opened.build.inputs_hash, mark_of(opened))
            if self._sheets is None or self._sheets[0] != key:
                planned = as_planned(opened)
                if planned is None:
                    return None
                hand = planned.hand
                made = sheets(
                    hand.opened, hand.todo, planned.plan, lessons=hand.lessons,
                    numbers=planned.kept.numbers,
                )  # fmt: skip
                self._sheets = (key, planned, made, on_the_way(made, hand.lessons))
            kept = self._sheets
        return _work(kept, opened)

    def ready(self, opened: OpenBuild) -> Work | None:
        """The same where the cards are made already; None rather than wait for them."""
        kept = self._sheets
        if kept is None or kept[0] != (opened.build.inputs_hash, mark_of(opened)):
            return None
        return _work(kept, opened)

    def outlook(self, work: Work) -> Outlook:
        """How the plan fares in many draws: counted once a plan."""
        with self._lock:
            kept = self._outlook
            if kept is None or kept[0] is not work.planned:
                hand = work.planned.hand
                made = simulate(hand.todo, work.planned.plan, learned=hand.learned())
                kept = self._outlook = (work.planned, made)
            return kept[1]

    def ahead(self, opened: OpenBuild) -> None:
        """Make the cards before somebody asks; what stands against it is left to the page."""
        with contextlib.suppress(BuildProblem, ChangeRefused, JournalProblem):
            work = self.work(opened)
            if work is not None and work.cards:
                self.outlook(work)

    def hand(self, opened: OpenBuild) -> AtHand:
        """The work as it lies before one now. Raises WorkFaults."""
        head = str(opened.journal.head())
        key = (opened.build.inputs_hash, head, f"{datetime.now():%Y-%m-%d %H:%M}")
        with self._lock:
            if self._hand is None or self._hand[0] != key:
                self._hand = (key, at_hand(opened))
            return self._hand[1]


def workshop(request: Request) -> Workshop:
    """The workshop of the app that a request came to."""
    kept: Workshop = request.app.state.desk.workshop
    return kept
