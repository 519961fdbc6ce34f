"""What is written down at the car: done, taken back, tightened, seen by hand."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Annotated

from fastapi import APIRouter, Form, Request
from fastapi.responses import RedirectResponse, Response
from pydantic import BaseModel, Field

from drybuild.build import ChangeRefused
from drybuild.examine.recording import RecordIncomplete, verification
from drybuild.journal import Entry, EntryRefused, Journal
from drybuild.web.frame import Frame, framed
from drybuild.web.hours import hours_of
from drybuild.web.pages.work import SAID, work_of
from drybuild.web.pages.work_cards import Number, card_of, card_page
from drybuild.web.remembered import remember, remembered
from drybuild.web.workshop import Work
from drybuild.work.as_planned import comes_first, steps_done
from drybuild.work.before import open_before
from drybuild.work.cards import Card, number_of
from drybuild.work.doing import (
    DoneRefused,
    Judge,
    Told,
    day_told,
    ended_at,
    take_back,
    write_done,
)
from drybuild.work.evidence import unseen
from drybuild.work.model import Step

router = APIRouter()

Short = Annotated[str, Field(max_length=60)]
Long = Annotated[str, Field(max_length=400)]

Refusal = DoneRefused | ChangeRefused | EntryRefused | RecordIncomplete
REFUSALS = (DoneRefused, ChangeRefused, EntryRefused, RecordIncomplete)
PLANNED_ANEW = "the work was planned again meanwhile: the cards have new numbers"
NO_NAME = "say who you are first"


class Sent(BaseModel):
    """What every form of a card sends. mark: of the plan that it was shown with."""

    mark: Annotated[str, Field(pattern=r"^[0-9a-f]{12}$")]

    def typed(self) -> dict[str, str]:
        """All of it as text, for the form that is shown again."""
        return {name: str(value) for name, value in self.model_dump(exclude={"mark"}).items()}


class DoneSent(Sent):
    """A task that is done, or what it still wants. task 0: all that is left on the card; ahead:
    whoever sends it was told that its day lies ahead, or what it rests on is open."""

    task: Annotated[int, Field(ge=0, le=1000)] = 0
    hours: Short = ""
    left: Short = ""
    people: Long = ""
    day: Annotated[str, Field(max_length=20)] = ""
    ahead: bool = False


class UndoSent(Sent):
    """An entry to be taken back."""

    entry: Annotated[int, Field(ge=1, le=2**40)]


class Evidence(Sent):
    """What was found, with what, and who else saw it."""

    value: Long = ""
    tool: Short = ""
    second: Short = ""


class TightSent(Evidence):
    """A joint that was tightened: its place on the card, where its figure stands, its threads."""

    joint: Annotated[int, Field(ge=1, le=1000)]
    document: Long = ""
    condition: Short = ""


class SeenSent(Evidence):
    """A hand check. ahead: whoever sends it was told that what its work rests on is open."""

    record: Annotated[str, Field(max_length=80)]
    ahead: bool = False


@router.post("/work/cards/{number}/who", status_code=303, responses=SAID)
def name(
    request: Request, number: Number, who: Annotated[str, Form(max_length=60)] = ""
) -> Response:
    """Who stands at the car with this phone, from now on."""
    frame = framed(request, "now", role="cards")
    if not who.strip():
        return card_page(frame, number, refused=NO_NAME, about="who", status=409)
    answer = RedirectResponse(f"/work/cards/{number}", 303)
    remember(answer, who)
    return answer


@router.post("/work/cards/{number}/done", status_code=303, responses=SAID)
def done(request: Request, number: Number, sent: Annotated[DoneSent, Form()]) -> Response:
    """Write down a task of a card; task 0: all that is left on it."""
    frame = framed(request, "now", role="cards")
    work = work_of(frame)
    card = card_of(work, number)
    who = remembered(request).strip()
    try:
        _as_shown(work, sent.mark, who)
        steps = _steps(work, card, sent.task)
        first = bool(work.days_ahead(card)) and not work.begun(card)
        took, wants = hours_of(sent.hours), hours_of(sent.left, "left")
        told = _told(work, steps, hours=took, left=wants, people=sent.people, day=sent.day)
        resting = _resting(work, steps) if wants is None else ()
        early = first and not sent.day.strip()
        blind = unseen(frame.opened, work.sheets.todo.problem, steps) if wants is None else ()
        if (early or resting or blind) and not sent.ahead:
            return card_page(
                frame, number, ask=sent.typed(), resting=resting, blind=blind, early=early,
                status=409,
            )  # fmt: skip
        problem = work.sheets.todo.problem
        entries = write_done(frame.opened, problem, told, who=who, judge=_judge(work, steps))
    except REFUSALS as error:
        about = f"{'left' if sent.left.strip() else 'task'}-{sent.task}"
        return _again(frame, number, error, about, sent)
    where = "#early" if work.open_before(card) or first else _where_next(card, work, steps)
    return _to(number, entries[-1], where, first=entries[0])


@router.post("/work/cards/{number}/undo", status_code=303, responses=SAID)
def undo(request: Request, number: Number, sent: Annotated[UndoSent, Form()]) -> Response:
    """Take back what was written down, by further entries; it stays readable."""
    frame = framed(request, "now", role="cards")
    work = work_of(frame)
    card_of(work, number)
    who = remembered(request).strip()
    try:
        _as_shown(work, sent.mark, who)
        step = next((s for s, e in work.so_far.done.items() if e.id == sent.entry), None)
        if step is None:
            raise DoneRefused(f"entry {sent.entry} does not stand as work of this plan")
        undone = take_back(
            frame.opened, work.sheets.todo.problem, sent.entry, who=who, why="taken back at the car"
        )
    except REFUSALS as error:
        return card_page(frame, number, refused=str(error), about="undo", status=409)
    back = card_of(work, number_of(work.cards, step) or number)
    place = [t.step for t in back.tasks].index(step) + 1
    return _to(back.number, undone[-1], f"#task-{place}")


@router.post("/work/cards/{number}/tight", status_code=303, responses=SAID)
def tight(request: Request, number: Number, sent: Annotated[TightSent, Form()]) -> Response:
    """Write down a joint that was tightened: the figure that was set, and with what."""
    frame = framed(request, "now", role="cards")
    work = work_of(frame)
    card = card_of(work, number)
    who = remembered(request).strip()
    about = f"joint-{sent.joint}"
    try:
        _as_shown(work, sent.mark, who)
        if sent.joint > len(card.joints):
            raise DoneRefused(f"card {number} has no joint {sent.joint}")
        main = next((s for s in card.steps if s.kind in ("job", "clear")), card.steps[0])
        entry = frame.opened.journal.tightened(
            card.joints[sent.joint - 1].title, figure=sent.value.strip(),
            tool=sent.tool.strip(), who=who,
            second=sent.second.strip(), task=main.key, document=sent.document.strip(),
            condition=sent.condition.strip(),
        )  # fmt: skip
    except REFUSALS as error:
        return _again(frame, number, error, about, sent)
    return _to(number, entry, f"#{about}")


@router.post("/work/cards/{number}/seen", status_code=303, responses=SAID)
def seen(request: Request, number: Number, sent: Annotated[SeenSent, Form()]) -> Response:
    """Write a hand check of a card down, as the page of the records does."""
    frame = framed(request, "now", role="cards")
    work = work_of(frame)
    card = card_of(work, number)
    who = remembered(request).strip()
    try:
        _as_shown(work, sent.mark, who)
        if sent.record not in {o.record for o in card.makes}:
            raise DoneRefused(f"card {number} makes no record {sent.record!r}")
        spec = frame.opened.registry.records[sent.record]
        change = verification(
            spec, name=who, value=sent.value, tool=sent.tool, second=sent.second
        )
        resting = work.open_for(sent.record, card)
        if resting and not sent.ahead:
            return card_page(
                frame, number, ask=sent.typed(), resting=resting, check=sent.record, status=409
            )
        frame.opened.present.state.after([change])
        entry = frame.opened.journal.did([change], who=who)
    except REFUSALS as error:
        return _again(frame, number, error, sent.record, sent)
    return _to(number, entry, f"#{sent.record}")


def _to(number: int, entry: Entry, mark: str, *, first: Entry | None = None) -> Response:
    """To the card, which says that the entry, or all from the first to it, are written and what is
    next."""
    since = f"&first={first.id}" if first is not None and first.id != entry.id else ""
    return RedirectResponse(f"/work/cards/{number}?written={entry.id}{since}{mark}", 303)


FIELDS = {"figure": "value"}
"""What a refusal names → the field of the form in which it is typed, where it is another word."""


def _again(frame: Frame, number: int, error: Refusal, about: str, sent: Sent) -> Response:
    """The card with why it was refused, and the form as it was filled."""
    at = FIELDS.get(error.field, error.field) if not isinstance(error, ChangeRefused) else ""
    return card_page(
        frame, number, refused=str(error), about=about, at=at, typed=sent.typed(), status=409
    )


def _as_shown(work: Work, mark: str, who: str) -> None:
    if mark != work.planned.mark:
        raise DoneRefused(PLANNED_ANEW)
    if not who:
        raise DoneRefused(NO_NAME)


def _steps(work: Work, card: Card, task: int) -> tuple[Step, ...]:
    if task > len(card.tasks):
        raise DoneRefused(f"card {card.number} has no task {task}")
    if task:
        return (card.tasks[task - 1].step,)
    steps = work.left(card)
    if not steps:
        raise DoneRefused("all of this card is written down already")
    return steps


def _judge(work: Work, steps: Sequence[Step]) -> Judge:
    """Looks once more when nobody else can write: is it done already, is its turn come?"""
    plan = work.planned.plan

    def judge(journal: Journal) -> None:
        made = steps_done(plan, journal, work.planned.upto)
        for step in steps:
            if step in made:
                entry = made[step]
                raise DoneRefused(
                    f"{_title(work, step)} is written down already: {entry.who}, entry {entry.id}"
                )
            first = comes_first(plan, step, (*made, *steps))
            if first is not None:
                number = number_of(work.cards, first)
                said = f"{_title(work, first)} (card {number}) comes before {_title(work, step)}"
                raise DoneRefused(f"{said}, and is not written down")

    return judge


def _title(work: Work, step: Step) -> str:
    return next(t.title for c in work.cards for t in c.tasks if t.step == step)


def _resting(work: Work, steps: Sequence[Step]) -> tuple[Step, ...]:
    """What these rest on and nobody has written down."""
    problem, plan = work.sheets.todo.problem, work.planned.plan
    return open_before(problem, plan, steps, work.so_far.done.keys())


def _told(
    work: Work,
    steps: Sequence[Step],
    *,
    hours: float | None,
    left: float | None,
    people: str,
    day: str,
) -> list[Told]:
    if len(steps) > 1 and (hours is not None or left is not None):
        raise DoneRefused("hours are of one task: write it down by itself")
    names = tuple(n.strip() for n in people.split(",") if n.strip())
    who = [names or step.who for step in steps]
    ended = [_ended(work, step, day).isoformat(timespec="minutes") for step in steps]
    return [
        Told(step.key, "", end, crew, hours, left)
        for step, end, crew in zip(steps, ended, who, strict=True)
    ]


def _ended(work: Work, step: Step, day: str) -> datetime:
    """Now; of a day that is told, and in an example that has its own, as the plan has it end."""
    now = datetime.now()
    return ended_at(
        work.sheets.todo.problem.at(step.end), now=now,
        day=day_told(day, now=now) if day.strip() else None,
        as_planned=bool(work.planned.hand.opened.build.work.as_of),
    )  # fmt: skip


def _where_next(card: Card, work: Work, steps: Sequence[Step]) -> str:
    rest = [
        place
        for place, task in enumerate(card.tasks, 1)
        if work.done(task.step) is None and task.step not in steps
    ]
    return f"#task-{rest[0]}" if rest else ""
