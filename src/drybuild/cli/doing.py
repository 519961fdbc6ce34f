"""The command ``done``: what was worked and what happened, and the rest planned again."""

from __future__ import annotations

import argparse
import shlex
from collections.abc import Sequence
from dataclasses import replace
from datetime import date, datetime
from typing import TYPE_CHECKING, Any

import drybuild
from drybuild.cli.refused import Refused
from drybuild.cli.working import at_desk, moment, need_solver, print_json

if TYPE_CHECKING:
    from drybuild.cli.named import Named
    from drybuild.examine import OpenBuild
    from drybuild.work.at_hand import AtHand
    from drybuild.work.doing import Told
    from drybuild.work.errors import WorkFaults
    from drybuild.work.happened import Happening
    from drybuild.work.model import Plan, Problem, Step, ToDo
    from drybuild.work.plan_file import Kept
    from drybuild.work.replan import Replanned
    from drybuild.work.wanted import Earlier

MOST_NEXT = 6
PLANNED = "planned"
"""What is said in place of a day: that on which the plan has what is told."""


def run_done(arguments: argparse.Namespace) -> int:
    """``drybuild done``."""
    from drybuild.build import ChangeRefused
    from drybuild.cli.unnamed import unnamed_of_jobs
    from drybuild.cli.waiting import telling
    from drybuild.show.cards_words import unseen_text
    from drybuild.show.happened_words import happened_text
    from drybuild.show.replanned import replanned_text
    from drybuild.work import plan_file
    from drybuild.work.as_json_replan import done_json
    from drybuild.work.as_planned import steps_left
    from drybuild.work.doing import write_done
    from drybuild.work.errors import WorkFaults
    from drybuild.work.evidence import unseen
    from drybuild.work.model import NoPlan
    from drybuild.work.numbering import stays
    from drybuild.work.replan import replan
    from drybuild.work.turned import least_hours

    need_solver()
    desk = _desk(arguments)
    kept = plan_file.read(desk.opened, desk.todo.problem)
    if kept is None:
        raise Refused(f"there is no plan yet: drybuild plan {arguments.dir}")
    named = _named(desk, kept, arguments.dir)
    steps = _steps(named, arguments)
    _as_of_plan(named.problem, steps, arguments)
    told = _told(desk.todo.problem, steps, arguments)
    happened = _happened(desk.todo.problem, arguments)
    if not told and not happened:
        raise Refused(
            "\n".join(["say what was done or what happened. Next in the plan:",
                       *named.lines(named.left[:MOST_NEXT]), "More: drybuild done --help"])
        )
    if not arguments.who:
        raise Refused("say who writes it down: --who NAME")
    _refuse_open(named, steps, arguments)
    before = desk.todo
    happened += _ahead(before.problem, kept.plan, steps, arguments)
    changed = bool(plan_file.stale(desk.opened, kept))
    done = None if changed or _otherwise(arguments) else steps
    upto = len(desk.opened.journal.entries())
    blind = unseen(desk.opened, named.problem, steps)
    try:
        write_done(desk.opened, desk.todo.problem, told, who=arguments.who)
    except ChangeRefused as error:
        raise Refused(f"not written down. {error}: say --and-before in place of --alone") from None
    try:
        worked = at_desk(arguments)
    except WorkFaults as faults:
        raise Refused("\n".join(_not_planned(desk, upto, faults, arguments))) from None
    for one in happened:
        worked.opened.journal.happened(
            one.kind, one.body, who=arguments.who, words=arguments.words,
            at=f"{_now(arguments):%Y-%m-%d}" if arguments.as_of else "",
        )  # fmt: skip
    written = len(worked.opened.journal.entries())
    rests_on = plan_file.fingerprint(worked.opened)
    left = steps_left(kept.plan, worked.opened)
    least = least_hours(kept.plan, left, happened) if not changed else None
    found = replan(
        worked.opened, worked.todo, kept.plan, happened=happened, seconds=arguments.seconds,
        seed=arguments.seed, suppose=False if arguments.suppose_nothing else None,
        say=lambda one: happened_text(before, one), done=done, tell=telling(arguments.json),
    )  # fmt: skip
    if not isinstance(found.plan, NoPlan):
        plan_file.keep(
            worked.opened, found.todo.problem, found.plan, rests_on=rests_on,
            numbers=stays(named.problem, kept.plan, kept.numbers),
        )  # fmt: skip
    tasks = [one.task for one in told]
    if arguments.json:
        print_json(done_json(
            before, found, tasks, happened, build=desk.name, version=drybuild.__version__,
            left=left, least=least,
        ))  # fmt: skip
    else:
        print(replanned_text(
            before, found, tasks, happened, folder=arguments.dir, name=desk.name,
            entries=range(upto + 1, written + 1), left=left, least=least,
            earlier=_earlier(worked.opened, replace(before, problem=named.problem), kept, found),
            beside=[
                *_ahead_lines(before.problem, steps, told, arguments),
                *([unseen_text(blind)] if blind else []),
                *unnamed_of_jobs(worked.opened, told, arguments.dir),
                *_owed(worked.opened, told, arguments),
            ],
        ))  # fmt: skip
    return 1 if isinstance(found.plan, NoPlan) else 0


def _earlier(
    opened: OpenBuild, before: ToDo, kept: Kept, found: Replanned
) -> tuple[Earlier, ...]:
    """What the new plan wants in the garage earlier than the one before."""
    from drybuild.work.model import NoPlan
    from drybuild.work.shopping import shopping
    from drybuild.work.wanted import wanted_earlier

    if isinstance(found.plan, NoPlan):
        return ()
    return wanted_earlier(
        shopping(before, kept.plan, opened=opened), shopping(found.todo, found.plan, opened=opened)
    )


def _desk(arguments: argparse.Namespace) -> AtHand:
    """The work; where no session lies ahead, as it lay when the plan was made: what was done in
    the last of them can still be written down. Raises WorkFaults."""
    from drybuild.work.as_planned import as_planned
    from drybuild.work.errors import WorkFaults

    said = "" if arguments.as_of == PLANNED else arguments.as_of
    try:
        return at_desk(argparse.Namespace(**{**vars(arguments), "as_of": said}))
    except WorkFaults:
        opened = drybuild.open_build(arguments.dir)
        planned = as_planned(opened)
        if planned is None:
            raise
        return replace(planned.hand, opened=opened)


def _not_planned(
    desk: AtHand, upto: int, faults: WorkFaults, arguments: argparse.Namespace
) -> list[str]:
    """What was written down though the rest cannot be planned, and why not."""
    last = len(desk.opened.journal.entries())
    which = f"{upto + 1}-{last}" if last > upto + 1 else f"{last}"
    return [
        f"Written down: entries {which}", "to take it back: "
        f"drybuild undo {arguments.dir} {which} --who NAME", "The rest is not planned again:",
        str(faults),
    ]  # fmt: skip


def _otherwise(arguments: argparse.Namespace) -> bool:
    """Whether something is said of how it went: then it was not as planned."""
    said = (arguments.hours, arguments.left)
    return bool(arguments.started or arguments.ended) or any(one is not None for one in said)


def _ahead(
    problem: Problem, plan: Plan, steps: Sequence[Step], arguments: argparse.Namespace
) -> tuple[Happening, ...]:
    """That a session named whole is worked before its day, where it is."""
    from drybuild.work.happened import worked_ahead

    if not arguments.session or arguments.left is not None:
        return ()
    done = [step.key for step in steps]
    now = datetime.now(problem.zero.tzinfo)
    found = worked_ahead(problem, plan, arguments.session, done, now=now)
    return (found,) if found is not None else ()


def _told(problem: Problem, steps: Sequence[Step], arguments: argparse.Namespace) -> list[Told]:
    """The tasks named, each with its times as far as somebody said them."""
    if len(steps) > 1 and (arguments.started or arguments.ended or arguments.hours is not None):
        raise Refused("--started, --ended and --hours are of one task: name one, or none of them")
    if len(steps) != 1 and arguments.left is not None:
        raise Refused("--left is of one task that was stopped: name it")
    return [_one(problem, step, arguments) for step in steps]


def _named(desk: AtHand, kept: Kept, folder: str) -> Named:
    """The kept plan as it is spoken of; with cards as they are printed, though a session is over"""
    from drybuild.cli.named import Named
    from drybuild.work import plan_file
    from drybuild.work.as_planned import as_planned, steps_left, taken_back_now

    problem, plan = desk.todo.problem, kept.plan
    if plan_file.unknown(problem, plan):
        then = as_planned(desk.opened)
        problem = then.hand.todo.problem if then is not None else problem
    back = frozenset(one.task for one in taken_back_now(desk.opened))
    left = steps_left(plan, desk.opened)
    return Named(desk.todo, problem, plan, left, kept.numbers, back, folder)


def _steps(named: Named, arguments: argparse.Namespace) -> list[Step]:
    """What is told: of a session, by name, and what comes before it where that is told as well."""
    found: list[Step] = []
    if arguments.session:
        found = list(named.plan.of(arguments.session))
        if not found:
            known = ", ".join(dict.fromkeys(step.session for step in named.plan.steps))
            raise Refused(f"nothing is planned for {arguments.session!r}; there is for: {known}")
        _refuse_ahead(named, found, arguments)
        found = [step for step in found if step in named.left] or found
    found = list(dict.fromkeys([*found, *named.steps(arguments.task)]))
    if not arguments.and_before:
        return found
    whole = {*found, *_open_before(named, found)}
    return [step for step in named.plan.steps if step in whole]


def _open_before(named: Named, steps: Sequence[Step]) -> tuple[Step, ...]:
    from drybuild.work.before import open_before

    over = [step for step in named.plan.steps if step not in named.left]
    return open_before(named.problem, named.plan, steps, over)


def _refuse_open(named: Named, steps: Sequence[Step], arguments: argparse.Namespace) -> None:
    """What rests on open tasks is never written down as if they were done: somebody says which."""
    before = _open_before(named, steps)
    if before and not arguments.alone and arguments.left is None:
        raise Refused("\n".join(_before_lines(named, steps, before, arguments)))


def _before_lines(
    named: Named, found: Sequence[Step], before: Sequence[Step], arguments: argparse.Namespace
) -> list[str]:
    """That what is told rests on what is not written down, and how one says either."""
    count = "1 task" if len(before) == 1 else f"{len(before)} tasks"
    own = " ".join(shlex.quote(word) for word in arguments.task)
    own = own or f"--session {arguments.session}"
    own += f" --at {arguments.at}" if arguments.at else ""
    command = f"drybuild done {arguments.dir} {own} --who {arguments.who or 'NAME'}"
    it = named.title(found[0]) if len(found) == 1 else "this"
    return [
        f"not written down. {it} rests on {count} that {'is' if len(before) == 1 else 'are'} open "
        "in the plan:",
        *named.lines(before),
        f"all of it is done: {command} --and-before",
        f"only what is named, the rest is as it was: {command} --alone",
    ]


def _refuse_ahead(named: Named, steps: Sequence[Step], arguments: argparse.Namespace) -> None:
    """A whole session that lies ahead is done on a day that somebody says, or not at all."""
    from drybuild.show.cards_words import short_day

    day, today = named.problem.at(steps[0].start), date.today()
    if day.date() <= today or arguments.at or arguments.as_of:
        return
    days = (day.date() - today).days
    ahead = "tomorrow" if days == 1 else f"{days} days ahead"
    raise Refused(
        f"not written down: {short_day(day)} is {ahead}. If all of it is done already, say on "
        f"which day: --at {today}; to play it through as on its own day: --as-of {PLANNED}"
    )


def _as_of_plan(problem: Problem, steps: Sequence[Step], arguments: argparse.Namespace) -> None:
    """The day on which the plan has the last of what is told, where that is the day one plans from:
    an example is played through on days of its own, whatever the clock says."""
    if arguments.as_of == PLANNED and steps:
        arguments.as_of = f"{problem.at(max(step.end for step in steps)):%Y-%m-%d}"


def _ahead_lines(
    problem: Problem, steps: Sequence[Step], told: Sequence[Told], arguments: argparse.Namespace
) -> list[str]:
    """That a day of what is written down lies ahead, of which day it counts as done, and how it is
    told as of its own."""
    from drybuild.show.cards_words import short_day
    from drybuild.show.lines import wrapped

    pairs = [(problem.at(s.start), one.ended) for s, one in zip(steps, told, strict=True)]
    early = [(short_day(day), end) for day, end in pairs if f"{day:%Y-%m-%d}" > end[:10]]
    if not early:
        return []
    days = tuple(dict.fromkeys(day for day, _ in early))
    then = short_day(datetime.fromisoformat(max(end for _, end in early)))
    lies = "lies" if len(days) == 1 else "lie"
    return wrapped(
        f"{', '.join(days)} {lies} ahead: written down as done on {then}. To have it as on its own "
        f"day: take it back, then done with --as-of {PLANNED}", 2,
    )  # fmt: skip


def _owed(
    opened: OpenBuild, told: Sequence[Told], arguments: argparse.Namespace
) -> list[str]:
    """Hand checks that are owed now: work that is written down makes none of them."""
    from drybuild.cli.hand_checks import owed_lines

    head = "Hand checks are owed now; what is written down here makes none of them:"
    return owed_lines(opened, opened.present.state, arguments.dir, head) if told else []


def _one(problem: Problem, step: Step, arguments: argparse.Namespace) -> Told:
    """Without times it counts as ended when the plan has it end, or now if that is still to come,
    and teaches no length."""
    from drybuild.work.doing import DoneRefused, Told, day_told, ended_at

    now = _now(arguments)
    try:
        told = day_told(arguments.at, now=now) if arguments.at else None
    except DoneRefused as error:
        raise Refused(f"--at: {error}{_or_as_of(arguments, now)}") from None
    ended = ended_at(problem.at(step.end), now=now, day=told, as_planned=True)
    day = ended.date()
    if arguments.ended:
        ended = _clock(day, arguments.ended, "--ended")
    started = _clock(day, arguments.started, "--started") if arguments.started else None
    people = tuple(dict.fromkeys((*arguments.people, *(() if arguments.people else step.who))))
    return Told(
        step.key, started.isoformat() if started else "",
        ended.isoformat(timespec="minutes"), people, arguments.hours, arguments.left,
        arguments.words,
    )  # fmt: skip


def _or_as_of(arguments: argparse.Namespace, now: datetime) -> str:
    """How a day is told that lies ahead of the clock: in an example, all days of its plan do."""
    try:
        ahead = date.fromisoformat(arguments.at.strip()) > now.date()
    except ValueError:
        return ""
    return f"; to write it down as on that day: --as-of {arguments.at.strip()}" if ahead else ""


def _now(arguments: argparse.Namespace) -> datetime:
    """The moment by which all that is told is over: of a day from which one plans, its end."""
    if not arguments.as_of:
        return datetime.now()
    said = moment(arguments.as_of)
    return said if said.hour or said.minute else said.replace(hour=23, minute=45)


def _clock(day: date, text: str, option: str) -> datetime:
    try:
        return datetime.combine(day, datetime.strptime(text, "%H:%M").time())
    except ValueError:
        raise Refused(f"{option}: found {text!r}, expected a time of day hh:mm") from None


def _happened(problem: Problem, arguments: argparse.Namespace) -> tuple[Happening, ...]:
    """What happened, judged before it is written down."""
    from drybuild.work.happened import (
        Happening,
        HappeningRefused,
        after_happenings,
        refuse_past,
    )

    if not arguments.happened:
        if arguments.say:
            raise Refused("--say goes with --happened")
        return ()
    body: dict[str, Any] = {}
    for text in arguments.say:
        name, sign, value = text.partition("=")
        if not sign or not name.strip() or not value.strip():
            raise Refused(f"--say: found {text!r}, expected NAME=VALUE")
        body[name.strip()] = _value(value.strip())
    if body.get("task") in problem.jobs:  # as the tasks that are done are named
        body["task"] = f"job:{body['task']}"
    found = Happening(arguments.happened, body)
    try:
        after_happenings(problem, (found,))
        refuse_past(found, min(_now(arguments).date(), problem.zero.date()))
    except HappeningRefused as error:
        more = "; say it as --say NAME=VALUE" if "is not said" in str(error) else ""
        raise Refused(f"{error}{more}") from None
    return (found,)


def _value(text: str) -> Any:
    """Three figures are a list, as hours are written: 1,1.5,3."""
    pieces = text.split(",")
    return [piece.strip() for piece in pieces] if len(pieces) == 3 else text
