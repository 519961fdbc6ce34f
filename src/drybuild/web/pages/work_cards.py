"""The cards at the car: one numbered list, one card at a time, written down as it is done."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Annotated, Any

from fastapi import APIRouter, HTTPException, Query, Request
from fastapi import Path as InPath
from fastapi.responses import HTMLResponse

from drybuild.examine import Owed
from drybuild.examine.naming import unnamed_parts
from drybuild.examine.photographs import kept
from drybuild.examine.recording import undone_by
from drybuild.journal import WorkEntry
from drybuild.show.cards_text import task_more
from drybuild.show.cards_words import (
    EARLY,
    cards_text_of,
    clock,
    hands_text,
    holds_shown,
    moved_lines,
    part_text,
    place_text,
    renewable_text,
    resting_text,
    short_day,
    span_text,
    unseen_text,
    waits_lines,
    work_text,
)
from drybuild.show.holds_joined import causes
from drybuild.show.hours import hours_text
from drybuild.show.lines import numbers_text
from drybuild.show.planning import NO_CARD
from drybuild.show.since import changed_words
from drybuild.show.tag_words import down_lines, hang_lines
from drybuild.show.tightening import figure_of, source_of
from drybuild.show.to_set import aim_text, foot_text, parts_text, wheel_text
from drybuild.show.work_list import ahead_text, open_before_text, tasks_text, when_text
from drybuild.show.work_supposed import first_session_line
from drybuild.values import System
from drybuild.web.frame import Frame, framed
from drybuild.web.pages.work import SAID, work_of
from drybuild.web.remembered import remembered
from drybuild.web.workshop import Work
from drybuild.work.cards import Card, Task, notes_of
from drybuild.work.doing import Told, fitted_by
from drybuild.work.model import Step
from drybuild.work.numbering import moved
from drybuild.work.to_set import ToSet

router = APIRouter()

Number = Annotated[int, InPath(ge=1, le=10_000)]

FIELDS = (
    "value",
    "tool",
    "second",
    "hours",
    "left",
    "people",
    "day",
    "document",
    "condition",
    "shows",
)
"""What a form of a card may show again as it was typed."""
KEYS = ("7", "8", "9", "4", "5", "6", "1", "2", "3", "0", ".", "back")


@router.get("/work/cards", response_class=HTMLResponse, responses={404: SAID[404]})
def listed(request: Request, hands: Annotated[str, Query(max_length=60)] = "") -> HTMLResponse:
    """All cards, or those in one person's hands, by number."""
    frame = framed(request, "now")
    work = work_of(frame)
    problem = work.sheets.todo.problem
    people = list(dict.fromkeys(name for card in work.cards for name in card.who))
    days = [
        {
            "id": s.id, "when": when_text(problem, s),
            "cards": [_line(work, c) for c in work.cards
                      if c.session == s.id and (not hands or hands in c.who)],
        }
        for s in work.sessions()
    ]  # fmt: skip
    return frame.page(
        "work_cards.html.j2", days=days, people=people, hands=hands, following=work.next_card(),
        changed=changed_words(work.planned, work.so_far, frame.opened),
        no_card=NO_CARD,
    )  # fmt: skip


@router.get("/work/cards/{number}", response_class=HTMLResponse, responses={404: SAID[404]})
def one(
    request: Request,
    number: Number,
    written: Annotated[int, Query(ge=0, le=2**40)] = 0,
    first: Annotated[int, Query(ge=0, le=2**40)] = 0,
) -> HTMLResponse:
    """One card. written: an entry that was just written down, to be said; first: of several, the
    first of them."""
    return card_page(framed(request, "now"), number, written=written, first=first)


def card_of(work: Work, number: int) -> Card:
    """A card by number. Raises HTTPException."""
    if not work.cards:
        raise HTTPException(404, NO_CARD)
    found = next((card for card in work.cards if card.number == number), None)
    if found is None:
        have = numbers_text(card.number for card in work.cards)
        now = _now(work, number)
        raise HTTPException(404, f"no card {number} in this plan{now}; there are {have}")
    return found


def _now(work: Work, number: int) -> str:
    """Under which cards the work of one is that a plan before this one had."""
    todo = work.sheets.todo
    there = moved(number, work.planned.kept.numbers, {c.number: c.steps for c in work.cards})
    lines = moved_lines(there, lambda step: notes_of(todo, step).title, todo.problem)
    return "".join(f"; {line.strip()}" for line in lines)


def card_page(
    frame: Frame,
    number: int,
    *,
    refused: str = "",
    about: str = "",
    at: str = "",
    typed: dict[str, str] | None = None,
    status: int = 200,
    written: int = 0,
    first: int = 0,
    ask: dict[str, str] | None = None,
    resting: Sequence[Step] = (),
    blind: Sequence[Owed] = (),
    early: bool = False,
    check: str = "",
) -> HTMLResponse:
    """A card as a page. refused: what was not written down and why; about: which form it was;
    at: which of its fields; written: the entry that was just made, from first on; ask: the form as
    it was sent, to be sent once more or not; early: because its day lies ahead; resting: because
    what it rests on is open; blind: because hand checks are owed that stop what it does; check: it
    is the form of this hand check, else of a task.
    """
    work = work_of(frame)
    card = card_of(work, number)
    left = work.left(card)
    who = remembered(frame.request)
    stops, _ = holds_shown(card.standing, most=len(card.standing.stops))
    order = [one.number for one in work.cards]
    here = order.index(number)
    tasks = [_task(work, task, place) for place, task in enumerate(card.tasks, 1)]
    keys = {step.key for step in card.steps}
    photographs = [k for k in kept(frame.opened) if k.task in keys]
    return frame.page(
        "work_card.html.j2",
        status,
        card=card,
        place=place_text(card),
        earlier=order[here - 1] if here > 0 else 0,
        later=order[here + 1] if here + 1 < len(order) else 0,
        mark=work.planned.mark,
        when=span_text(card.start, card.end),
        hands=hands_text(card),
        hours=work_text(card),
        progress=tasks_text(len(card.steps) - len(left), len(card.steps)),
        parts=[part_text(p) for p in card.parts],
        renew=[renewable_text(r) for r in card.renew],
        tasks=tasks,
        unnamed=_unnamed(frame, work, card),
        following=next((t for t in tasks if not t["done"]), None),
        left=len(left),
        to_set=[_to_set(one, frame.opened.build.head.units) for one in card.to_set],
        to_set_foot=foot_text(card) if card.to_set else "",
        joints=[_joint(frame, work, card, place) for place in range(len(card.joints))],
        checks=[_check(frame, work, card, o) for o in card.makes],
        owed=[o.title for o in card.records],
        holds=causes(stops, work.cards),
        down=down_lines(card),
        hang=hang_lines(card, work.cards, work.sheets.hung),
        last=_last(work),
        next_card=work.next_card(number, who),
        who=who,
        people=_people(work, card),
        keys=KEYS,
        photographs=photographs,
        to_take=[w for w in card.photograph if w not in {k.shows for k in photographs}],
        changed=changed_words(work.planned, work.so_far, frame.opened),
        supposed=first_session_line(work.planned.plan, card.session),
        recorded=_recorded(frame, work, card, written, first),
        before=open_before_text(work.open_before(card)),
        early=_early(work, card, written, first),
        ahead=ahead_text(card.start, work.days_ahead(card)),
        today=short_day(datetime.now()),
        ask=ask,
        ask_check=next((o for o in card.makes if o.record == check), None),
        too_early=EARLY,
        ask_ahead=early,
        ask_resting=resting_text(resting, work.cards) if resting else "",
        ask_unseen=unseen_text(blind) if blind else "",
        first=_first(work, card),
        refused=refused,
        about=about,
        amiss_at=at,
        in_form=about if at and about in _forms(card, tasks) and who else "",
        typed={**dict.fromkeys(FIELDS, ""), **(typed or {})},
    )


def _first(work: Work, card: Card) -> list[str]:
    """What must be done before what is left of a card and is not written down: task by task what
    it rests on itself, then the cards on which that rests."""
    left = work.left(card)
    if not left:
        return []
    rests = work.rests_on(card)
    named = {step for one in rests for step in one.steps}
    further = cards_text_of(
        c.number for c in work.open_before(card) if not named & set(c.steps)
    )
    return [
        *waits_lines(rests, left[0], work.cards), *([f"before those, {further}"] if further else [])
    ]  # fmt: skip


def _to_set(one: ToSet, units: System) -> dict[str, str]:
    """A row of what an alignment sets, and where its reading is typed in."""
    return {
        "what": wheel_text(one), "aim": aim_text(one, units), "parts": parts_text(one),
        "at": f"corner.{one.corner}.{one.angle}_now",
    }  # fmt: skip


def _forms(card: Card, tasks: list[dict[str, Any]]) -> set[str]:
    """The forms with fields that a card shows, as ``about`` names them."""
    own = {f"{what}-{t['place']}" for t in tasks if not t["done"] for what in ("task", "left")}
    joints = {f"joint-{place}" for place in range(1, len(card.joints) + 1)}
    return own | joints | {owed.record for owed in card.makes} | {"photographs"}


def _batch(work: Work, card: Card, written: int, first: int) -> list[str]:
    """Titles of the tasks of a card that were written down together."""
    done = ((task.title, work.done(task.step)) for task in card.tasks)
    return [title for title, e in done if e is not None and (first or written) <= e.id <= written]


def _several(titles: Sequence[str], card: Card) -> str:
    """``3 tasks of card 12: front up on axle stands; …``; of one its title."""
    said = "; ".join(titles)
    return f"{len(titles)} tasks of card {card.number}: {said}" if len(titles) > 1 else said


def _recorded(frame: Frame, work: Work, card: Card, written: int, first: int = 0) -> str:
    """What was just written down, and what is next: for whoever does not see the page."""
    entries = frame.opened.journal.entries() if written else ()
    entry = next((e for e in entries if e.id == written), None)
    if entry is None:
        return ""
    task = next((s for s, e in work.so_far.done.items() if e.id == written), None)
    titles = [t.title for c in work.cards for t in c.tasks if t.step == task]
    together = _several(_batch(work, card, written, first), card) if first else ""
    what = together or [*titles, str(entry.body.get("joint", ""))][0]
    said = "Taken back" if entry.kind == "undo" else "Written down"
    left = work.left(card)
    if left:
        following = next(t.title for t in card.tasks if t.step == left[0])
        next_ = f"Next on this card: {following}."
    else:
        after = work.next_card(card.number, remembered(frame.request))
        next_ = f"Next: card {after.number}, {after.title}." if after else "All is written down."
        owed = [o.title for o in card.makes if not _check(frame, work, card, o)["written"]]
        checks = f"Hand checks of this card not written down: {'; '.join(owed)}. " if owed else ""
        next_ = checks + next_
    return f"{said}{f': {what}' if what else ''}. {next_}"


def _early(work: Work, card: Card, written: int, first: int = 0) -> dict[str, Any] | None:
    """What of this card was just written down though cards before it are open, or its day lies
    ahead; last: of several, the one that is taken back first."""
    if not work.open_before(card) and not work.days_ahead(card):
        return None
    done = ((t, work.done(t.step)) for t in card.tasks)
    last = next((t.title for t, e in done if e is not None and e.id == written), None)
    if last is None:
        return None
    titles = _batch(work, card, written, first)
    return {
        "title": _several(titles, card), "entry": written,
        "last": last if len(titles) > 1 else "",
    }  # fmt: skip


def _line(work: Work, card: Card) -> dict[str, Any]:
    left = len(work.left(card))
    count = len(card.steps)
    return {
        "number": card.number, "title": card.title, "at": clock(card.start),
        "hands": hands_text(card), "hours": work_text(card), "done": not left,
        "part": f"{count - left} of {count} tasks done" if 0 < left < count else "",
    }  # fmt: skip


def _task(work: Work, task: Task, place: int) -> dict[str, Any]:
    entry, stopped = work.done(task.step), work.so_far.stopped.get(task.step.key)
    left = hours_text(stopped.left or 0.0) if stopped and entry is None else ""
    return {
        "stopped": f"{left} left, {stopped.who}, entry {stopped.id}" if stopped and left else "",
        "place": place, "title": task.title, "at": clock(task.start),
        "more": task_more(task) if task.who else hours_text(task.wait) if task.wait else "",
        "steps": task.steps, "people": ", ".join(task.who), "done": entry is not None,
        "entry": entry.id if entry else 0,
        "said": _said(entry, task) if entry else "",
    }  # fmt: skip


def _unnamed(frame: Frame, work: Work, card: Card) -> dict[int, list[tuple[str, str]]]:
    """By the place of a task that is done: parts that it fitted and that nobody has named yet."""
    build, found = frame.opened.build, {}
    for place, step in enumerate((task.step for task in card.tasks), 1):
        entry = work.done(step)
        if entry is not None:
            changes = fitted_by(build, [Told(step.key, "", "", ())])
            found[place] = unnamed_parts(build, changes)
    return found


def _said(entry: WorkEntry, task: Task) -> str:
    """By whom it was written down, and of which day where that is not the planned one."""
    day = datetime.fromisoformat(entry.at[:10])
    other = f"{short_day(day)}, " if day.date() != task.end.date() else ""
    return f"{other}{entry.who}, entry {entry.id}"


def _last(work: Work) -> dict[str, Any] | None:
    """What was written down last, for whoever takes it back."""
    if work.so_far.last is None:
        return None
    step, entry = work.so_far.last
    card = next(c for c in work.cards if step in c.steps)
    title = next(t.title for t in card.tasks if t.step == step)
    return {"entry": entry.id, "title": title, "who": entry.who, "card": card.number}


def _joint(frame: Frame, work: Work, card: Card, place: int) -> dict[str, Any]:
    joint = card.joints[place]
    figure = figure_of(joint, frame.opened.build.head.units)
    keys = {step.key for step in card.steps}
    written = [
        t for t in frame.opened.journal.torques()
        if t.id > work.planned.upto and t.joint == joint.title and t.task in keys
    ]  # fmt: skip
    return {
        "place": place + 1, "title": joint.title, "figure": figure,
        "source": source_of(joint) if figure else "", "document": joint.document or "",
        "condition": joint.condition or "", "one_time": joint.one_time, "laden": joint.laden,
        "written": [f"{t.figure}, {t.tool}, {t.who}, entry {t.id}" for t in written],
    }  # fmt: skip


def _check(frame: Frame, work: Work, card: Card, owed: Owed) -> dict[str, Any]:
    """A hand check as it was written down; void: apart, what later work undid, with that work."""
    journal = frame.opened.journal
    gone = undone_by(journal.deeds(), frame.opened.registry.records)
    titles, written, void = {e.id: t.title for t, e in _ticks(work)}, [], []
    for lift in journal.lifts():
        if lift.record != owed.record or lift.id <= work.planned.upto:
            continue
        said = f"{lift.evidence.get('value', '')}, {lift.who}, entry {lift.id}"
        by, off = gone.get((lift.id, lift.record)), work.undone_since(owed.record, card, lift.id)
        entries = [work.so_far.done[off].id] if off is not None else []
        entries += [by.id] if by is not None else []
        if not entries:
            written.append(said)
            continue
        first = min(entries)
        # a deed is written right behind the task that it is of
        title = titles.get(first) or titles.get(first - 1) or "later work"
        void.append((said, f"{title}, entry {first}"))
    return {"owed": owed, "written": written, "void": void}


def _ticks(work: Work) -> list[tuple[Task, WorkEntry]]:
    """Tasks that are written down, each with its entry."""
    found = ((t, work.done(t.step)) for card in work.cards for t in card.tasks)
    return [(task, entry) for task, entry in found if entry is not None]


def _people(work: Work, card: Card) -> list[str]:
    """Who may be the one at the car: those of the session."""
    session = work.sheets.todo.problem.session(card.session)
    return [person.name for person in session.people]
