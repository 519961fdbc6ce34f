"""Commands of the work that read a plan or make one: plan, cards, while-apart, quote."""

from __future__ import annotations

import argparse
import json
from collections.abc import Collection
from dataclasses import replace
from datetime import datetime
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING, Any

import drybuild
from drybuild.cli.refused import Refused, in_utf8

if TYPE_CHECKING:
    from drybuild.show.cards_paper import Kind
    from drybuild.work.at_hand import AtHand
    from drybuild.work.model import NoPlan, Plan
    from drybuild.work.plan_file import Kept
    from drybuild.work.sheets import Sheets

PLAN_EXTRA = (
    "Planning needs a solver that is not installed. Install it with: pip install "
    "'drybuild[plan]' (in a copy of the source: pip install '.[plan]')"
)


def run_plan(arguments: argparse.Namespace) -> int:
    """``drybuild plan``: the kept plan while it holds; else a new one, near to the old."""
    from drybuild.show.near import plan_before
    from drybuild.show.no_plan import no_plan_text
    from drybuild.show.planning import plan_text
    from drybuild.work import plan_file
    from drybuild.work.answer import answer
    from drybuild.work.as_json import no_plan_json, plan_json
    from drybuild.work.as_planned import staying, steps_left
    from drybuild.work.model import NoPlan
    from drybuild.work.risk import simulate

    if arguments.former:
        return _former(arguments)
    trial = arguments.first is not None or arguments.percentile is not None
    desk = at_desk(arguments)
    opened, problem = desk.opened, desk.todo.problem
    kept = None if trial else plan_file.read(opened, problem)
    changed = plan_file.stale(opened, kept) if kept is not None else ()
    if kept is not None and plan_file.unknown(problem, kept.plan):
        over = "the plan has what is over by now and not written down"
        changed = changed if changed else (over,)
    if kept is not None and kept.plan.supposed and arguments.suppose_nothing:
        changed = (*changed, "the plan in the folder supposes what nobody knows yet")
    plan: Plan | NoPlan
    if kept is not None and not changed and not arguments.anew:
        plan, said = kept.plan, [f"as planned on {kept.made:%Y-%m-%d}; --anew plans again"]
    else:
        rests_on = plan_file.fingerprint(opened)
        before = plan_before(opened) if kept is not None else None
        plan = _planned(desk, arguments, kept)
        said = [f"planned again: {why}" for why in changed]
        if isinstance(plan, NoPlan):
            said += ["the plan in the folder stays as it was"] if kept is not None else []
        elif trial:
            said.append("only tried: the plan in the folder stays as it was")
        else:
            numbers = {} if arguments.anew else staying(opened, kept)
            left = steps_left(kept.plan, opened) if kept is not None else ()
            path = plan_file.keep(opened, problem, plan, rests_on=rests_on, numbers=numbers)
            said.append(f"kept in {path}")
            if kept is not None and not arguments.json:
                said += _instead(desk, kept.plan, before, plan, left, arguments)
    if isinstance(plan, NoPlan):
        if arguments.json:
            print_json(no_plan_json(plan, build=desk.name, version=drybuild.__version__))
        else:
            print(no_plan_text(plan, problem, folder=arguments.dir, name=desk.name))
            print("\n".join(said))
        return 1
    outlook = simulate(desk.todo, plan, learned=desk.learned())
    other = _by_region(desk, plan, arguments.seed) if arguments.by_region else None
    found = answer(opened, desk.todo, plan, greedy=other, outlook=outlook, lessons=desk.lessons)
    if arguments.json:
        print_json(plan_json(found, build=desk.name, version=drybuild.__version__))
        return 0
    print(plan_text(found, folder=arguments.dir, name=desk.name, everything=arguments.all))
    print("\n" + "\n".join(said))
    return 0


def _instead(
    desk: AtHand, kept: Plan, before: Any, plan: Plan, left: Collection[Any],
    arguments: argparse.Namespace,
) -> list[str]:
    """What the new plan makes of the one before, and how that one is taken again."""
    from drybuild.show.happened_words import NOTHING_MOVES
    from drybuild.show.lines import wrapped
    from drybuild.show.near import what_moved
    from drybuild.work import plan_file

    anew = "" if arguments.anew else f"drybuild plan {arguments.dir} --anew"
    rows, how = what_moved(desk.opened, desk, kept, before, plan, left, anew)
    lines = [line for words in how for line in wrapped(words, 2)]
    lines += [line for words in rows for line in wrapped(f"  {words}", 4)]
    back = plan_file.former(desk.opened) is not None and bool(rows)
    so = f"the plan before, as it was: drybuild plan {arguments.dir} --former"
    return ["", *([] if rows else [NOTHING_MOVES]), *lines, *([so] if back else [])]


def _former(arguments: argparse.Namespace) -> int:
    """The plan before in the place of the kept one."""
    from drybuild.work import plan_file

    opened = drybuild.open_build(arguments.dir)
    rest = plan_file.is_rest(opened)
    made = plan_file.made(opened, plan_file.FORMER)
    plan_file.take_former(opened)
    if made is not None:
        print(f"the plan of {made.made:%Y-%m-%d %H:%M} is the plan again")
    print(f"next: drybuild cards {arguments.dir}")
    if not rest:
        print(f"the one it took the place of: drybuild plan {arguments.dir} --former")
    return 0


def _by_region(desk: AtHand, plan: Plan, seed: int) -> Plan | NoPlan:
    from drybuild.work.greedy import by_region

    need_solver()
    return by_region(replace(desk.todo.problem, clauses=plan.clauses), seed=seed)


def _planned(desk: AtHand, arguments: argparse.Namespace, kept: Kept | None) -> Plan | NoPlan:
    from drybuild.cli.waiting import telling
    from drybuild.work.planned import plan_telling

    need_solver()
    near = kept.plan if kept is not None and not arguments.anew else None
    try:
        return plan_telling(
            desk, telling(arguments.json), seconds=arguments.seconds, seed=arguments.seed,
            near=near, suppose=False if arguments.suppose_nothing else None,
        )  # fmt: skip
    except KeyboardInterrupt:
        raise KeyboardInterrupt("planning was stopped; nothing was kept") from None


def run_cards(arguments: argparse.Namespace) -> int:
    """``drybuild cards``: what goes on paper, into the calendar and to the shop."""
    from drybuild.cli.named import Named
    from drybuild.show.cards_text import cards_text, sheet_text, shopping_text, tags_text
    from drybuild.show.lines import wrapped
    from drybuild.show.since import marked, since_text
    from drybuild.work import plan_file
    from drybuild.work.as_json_cards import cards_json
    from drybuild.work.as_planned import taken_back_now
    from drybuild.work.sheets import sheets

    desk, plan, said = kept_plan(arguments)
    if not plan.steps and not arguments.json:
        return _nothing_left(arguments, arguments.paper or arguments.calendar)
    now = drybuild.open_build(arguments.dir) if said else desk.opened
    since = since_text(now, desk.todo, said[:-1])  # the last of it is what to do about it
    staying = plan_file.numbers(desk.opened)
    made = sheets(desk.opened, desk.todo, plan, lessons=desk.lessons, numbers=staying)
    found = marked(made, since)
    sessions = tuple(found.ends)
    if arguments.session and arguments.session not in sessions:
        raise Refused(
            f"nothing is planned for {arguments.session!r}; there is for: {', '.join(sessions)}"
        )
    system = desk.opened.build.head.units
    said += _written(arguments, found, system)
    if arguments.json:
        print_json(cards_json(found, build=desk.name, version=drybuild.__version__))
        return 0
    chosen = [arguments.session] if arguments.session else list(sessions)
    if since:
        found = replace(found, since=f"{since}. Plan again: drybuild plan {arguments.dir}")
        if arguments.shopping or arguments.tags:
            print("\n".join(wrapped(f"{found.since}.", 0)) + "\n")
    if arguments.shopping:
        print(shopping_text(found))
    elif arguments.tags:
        print(tags_text(found))
    elif arguments.sheet:
        print("\n\n".join(sheet_text(found, session) for session in chosen))
    else:
        numbers = tuple(arguments.card or ())
        known = {card.number for card in found.cards}
        if set(numbers) - known:
            back = frozenset(one.task for one in taken_back_now(now))
            named = Named(
                desk.todo, desk.todo.problem, plan, plan.steps, staying, back, arguments.dir
            )  # fmt: skip
            raise Refused(named.no_card(min(set(numbers) - known)))
        whole = not numbers and not arguments.session
        if whole and said and (arguments.paper or arguments.calendar):  # 58 cards nobody asked for
            cards = "1 card" if len(known) == 1 else f"{len(known)} cards"
            days = "1 work session" if len(sessions) == 1 else f"{len(sessions)} work sessions"
            print(f"{cards} in {days}")
            print("\n".join(said))
            return 0
        print(cards_text(found, session=arguments.session or "", numbers=numbers, system=system))
        said = [*_done_so(found, numbers, arguments), *said]
    _print_said(said)
    return 0


def _done_so(
    found: Sheets, numbers: Collection[int], arguments: argparse.Namespace
) -> list[str]:
    """How the first of the cards that are shown is written down."""
    shown = (
        card.number for card in found.cards
        if (not numbers or card.number in numbers) and arguments.session in (None, card.session)
    )  # fmt: skip
    so = f"when it is done: drybuild done {arguments.dir} card"
    return [f"{so} {number} --who NAME" for number in [*shown][:1]]


def _written(arguments: argparse.Namespace, found: Any, system: Any) -> list[str]:
    """The files that were asked for."""
    from drybuild.show.calendar import CalendarExtraMissing, write_calendar
    from drybuild.show.cards_paper import PaperExtraMissing, PaperRefused, pages_in, write

    said = []
    try:
        if arguments.paper:
            note = write(
                Path(arguments.paper), found, only=_kinds(arguments),
                session=arguments.session or "",
                numbers=tuple(arguments.card or ()), system=system,
            )  # fmt: skip
            pages = pages_in(Path(arguments.paper))
            count = f", {pages} pages" if pages > 1 else ", 1 page" if pages else ""
            said += [f"written: {arguments.paper}{count}", *([note] if note else [])]
            said += _less_paper(arguments, found)
        if arguments.calendar:
            write_calendar(Path(arguments.calendar), found)
            said.append(f"written: {arguments.calendar}")
    except (PaperExtraMissing, PaperRefused, CalendarExtraMissing) as error:
        raise Refused(str(error)) from None
    return said


def _less_paper(arguments: argparse.Namespace, found: Sheets) -> list[str]:
    """Of several sessions on paper: how to have the next one alone."""
    asked = arguments.session or arguments.card or _kinds(arguments) == ("list",)
    if asked or len(found.ends) < 2:
        return []
    session = next(iter(found.ends))
    return [
        f"the next work session alone: drybuild cards {arguments.dir} --session {session} "
        f"--paper {arguments.paper}"
    ]


def _kinds(arguments: argparse.Namespace) -> tuple[Kind, ...]:
    """The kinds of page that were asked for; unset: all."""
    from drybuild.show.cards_paper import KINDS_OF_PAGE

    asked: dict[Kind, bool] = {
        "list": arguments.shopping, "tags": arguments.tags, "day": arguments.sheet,
    }  # fmt: skip
    return tuple(kind for kind, wanted in asked.items() if wanted) or KINDS_OF_PAGE


def run_while_apart(arguments: argparse.Namespace) -> int:
    """``drybuild while-apart``: what else lies open, and what may wait."""
    from drybuild.show.work_apart import apart_text
    from drybuild.work.apart import while_apart
    from drybuild.work.as_json_risk import apart_json

    desk, plan, said = kept_plan(arguments)
    if not plan.steps and not arguments.json:
        return _nothing_left(arguments)
    found = while_apart(desk.todo, plan, years=arguments.years)
    if arguments.json:
        print_json(apart_json(found, build=desk.name, version=drybuild.__version__))
        return 0
    print(apart_text(desk.todo, found))
    _print_said(said)
    return 0


def run_quote(arguments: argparse.Namespace) -> int:
    """``drybuild quote``: how long, how sure, and what it costs."""
    from drybuild.show.lines import wrapped
    from drybuild.show.work_outlook import outlook_text
    from drybuild.show.work_quote import quote_text
    from drybuild.show.work_supposed import supposed_line
    from drybuild.work.as_json_risk import quote_json
    from drybuild.work.risk import quote, simulate

    desk, plan, said = kept_plan(arguments)
    if not plan.steps and not arguments.json:
        return _nothing_left(arguments)
    outlook = simulate(desk.todo, plan, learned=desk.learned())
    made = quote(
        desk.todo, plan, outlook, confidence=arguments.confidence / 100, round_to=arguments.round
    )
    if arguments.json:
        print_json(quote_json(desk.todo, plan, outlook, made, build=desk.name,
                              version=drybuild.__version__))  # fmt: skip
        return 0
    supposed = "\n".join(wrapped(supposed_line(plan), 2)) if plan.supposed else ""
    counted = quote_text(made, outlook, desk.todo)
    parts = (_left_now(desk, plan), counted, supposed, outlook_text(desk.todo, outlook))
    print("\n\n".join(part for part in parts if part))
    _print_said(said)
    return 0


def _left_now(desk: AtHand, plan: Plan) -> str:
    """What is left of a plan of which some is written down; empty before that."""
    from drybuild.show.left_now import AS_MADE, left_now_text
    from drybuild.show.lines import wrapped
    from drybuild.work.as_planned import as_planned, so_far

    planned = as_planned(desk.opened)
    if planned is None:
        return ""
    far = so_far(planned, desk.opened)
    said = left_now_text(desk.todo.problem, plan, far.done, far.stopped)
    return "\n".join(wrapped(f"{said[:1].upper()}{said[1:]}; {AS_MADE}", 2)) if said else ""


def at_desk(arguments: argparse.Namespace) -> AtHand:
    """The build and its work, from the day that was asked for. Raises WorkFaults."""
    from drybuild.work.at_hand import at_hand

    opened = drybuild.open_build(arguments.dir)
    percentile = getattr(arguments, "percentile", None)
    return at_hand(
        opened, as_of=moment(arguments.as_of) if arguments.as_of else None,
        percentile=percentile / 100 if percentile is not None else None,
        first=getattr(arguments, "first", None),
    )  # fmt: skip


def kept_plan(arguments: argparse.Namespace) -> tuple[AtHand, Plan, list[str]]:
    """The plan in the folder with its work, and what must be said of it. Of a plan that has
    sessions which are over, the work is as when it was made. Refused where there is none."""
    from drybuild.work import plan_file
    from drybuild.work.as_planned import as_planned
    from drybuild.work.errors import WorkFaults

    again = f"plan again: drybuild plan {arguments.dir}"
    try:
        desk = at_desk(arguments)
        kept = plan_file.read(desk.opened, desk.todo.problem)
    except WorkFaults:  # no session lies ahead
        desk, kept = None, None
    if desk is not None and kept is None:
        raise Refused(f"there is no plan yet: drybuild plan {arguments.dir}")
    if desk is not None and kept is not None:
        changed = plan_file.stale(desk.opened, kept)
        if not plan_file.unknown(desk.todo.problem, kept.plan):
            return desk, kept.plan, [*changed, *([again] if changed else [])]
    opened = drybuild.open_build(arguments.dir)
    planned = as_planned(opened)
    if planned is None:
        raise Refused(f"there is no plan yet: drybuild plan {arguments.dir}")
    over = "as planned before: a work session of it is over, and not all of it is written down"
    return planned.hand, planned.plan, [*plan_file.stale(opened, planned.kept), over, again]


def _nothing_left(arguments: argparse.Namespace, file: str = "") -> int:
    """The answer when the plan has no step: there is a book to make. file: that was asked for."""
    from drybuild.show.planning import NO_CARD, book_line

    if file:
        raise Refused(f"{NO_CARD} Nothing is written to {file}\n{book_line(arguments.dir)}")
    print(f"{NO_CARD}\n{book_line(arguments.dir)}")
    return 0


def need_solver() -> None:
    """Refused, with how to install it, where the solver is not there."""
    if find_spec("ortools") is None:
        raise Refused(PLAN_EXTRA)


def moment(text: str) -> datetime:
    """A day, with its time of day if need be, as typed."""
    try:
        return datetime.fromisoformat(text).replace(tzinfo=None)
    except ValueError:
        raise Refused(f"found {text!r}, expected a day: yyyy-mm-dd") from None


def _print_said(said: list[str]) -> None:
    if said:
        print("\n" + "\n".join(said))


def print_json(data: dict[str, Any]) -> None:
    """An answer for other programs."""
    print(json.dumps(data, ensure_ascii=not in_utf8(), indent=1, allow_nan=False))
