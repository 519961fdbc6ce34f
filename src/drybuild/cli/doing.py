"""The command ``done``: what was worked and what happened, and the rest planned again."""

from __future__ import annotations

import argparse
from datetime import date, datetime
from typing import TYPE_CHECKING, Any

import drybuild
from drybuild.cli.refused import Refused
from drybuild.cli.working import at_desk, need_solver, print_json

if TYPE_CHECKING:
    from drybuild.work.doing import Told
    from drybuild.work.happened import Happening
    from drybuild.work.model import Plan, Problem, Step


def run_done(arguments: argparse.Namespace) -> int:
    """``drybuild done``."""
    from drybuild.show.happened_words import happened_text
    from drybuild.show.replanned import replanned_text
    from drybuild.work import plan_file
    from drybuild.work.as_json_replan import done_json
    from drybuild.work.as_planned import steps_left
    from drybuild.work.doing import write_done
    from drybuild.work.model import NoPlan
    from drybuild.work.replan import replan
    from drybuild.work.turned import least_hours

    need_solver()
    desk = at_desk(arguments)
    kept = plan_file.read(desk.opened, desk.todo.problem)
    if kept is None:
        raise Refused(f"there is no plan yet: drybuild plan {arguments.dir}")
    told = _told(desk.todo.problem, kept.plan, arguments)
    happened = _happened(desk.todo.problem, arguments)
    if not told and not happened:
        raise Refused(
            f"say what was done or what happened. Next in the plan: {_next(kept.plan)}. "
            "More: drybuild done --help"
        )
    if not arguments.who:
        raise Refused("say who writes it down: --who NAME")
    before = desk.todo
    happened += _ahead(before.problem, kept.plan, arguments)
    changed = bool(plan_file.stale(desk.opened, kept))
    done = None if changed or _otherwise(arguments) else _steps(
        before.problem, kept.plan, arguments
    )  # fmt: skip
    upto = len(desk.opened.journal.entries())
    write_done(desk.opened, desk.todo.problem, told, who=arguments.who)
    worked = at_desk(arguments)
    for one in happened:
        worked.opened.journal.happened(one.kind, one.body, who=arguments.who, words=arguments.words)
    written = len(worked.opened.journal.entries())
    rests_on = plan_file.fingerprint(worked.opened)
    left = steps_left(kept.plan, worked.opened)
    least = least_hours(kept.plan, left, happened) if not changed else None
    found = replan(
        worked.opened, worked.todo, kept.plan, happened=happened, seconds=arguments.seconds,
        seed=arguments.seed, suppose=False if arguments.suppose_nothing else None,
        say=lambda one: happened_text(before, one), done=done,
    )  # fmt: skip
    if not isinstance(found.plan, NoPlan):
        plan_file.keep(worked.opened, found.todo.problem, found.plan, rests_on=rests_on)
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
        ))  # fmt: skip
    return 1 if isinstance(found.plan, NoPlan) else 0


def _otherwise(arguments: argparse.Namespace) -> bool:
    """Whether something is said of how it went: then it was not as planned."""
    said = (arguments.hours, arguments.left)
    return bool(arguments.started or arguments.ended) or any(one is not None for one in said)


def _ahead(
    problem: Problem, plan: Plan, arguments: argparse.Namespace
) -> tuple[Happening, ...]:
    """That a session named whole is worked before its day, where it is."""
    from drybuild.work.happened import worked_ahead

    if not arguments.session or arguments.left is not None:
        return ()
    done = [step.key for step in _steps(problem, plan, arguments)]
    now = datetime.now(problem.zero.tzinfo)
    found = worked_ahead(problem, plan, arguments.session, done, now=now)
    return (found,) if found is not None else ()


def _told(problem: Problem, plan: Plan, arguments: argparse.Namespace) -> list[Told]:
    """The tasks named, each with its times as far as somebody said them."""
    steps = _steps(problem, plan, arguments)
    if len(steps) > 1 and (arguments.started or arguments.ended or arguments.hours is not None):
        raise Refused("--started, --ended and --hours are of one task: name one, or none of them")
    if len(steps) != 1 and arguments.left is not None:
        raise Refused("--left is of one task that was stopped: name it")
    return [_one(problem, step, arguments) for step in steps]


def _steps(problem: Problem, plan: Plan, arguments: argparse.Namespace) -> list[Step]:
    found = []
    if arguments.session:
        found = list(plan.of(arguments.session))
        if not found:
            known = ", ".join(dict.fromkeys(step.session for step in plan.steps))
            raise Refused(f"nothing is planned for {arguments.session!r}; there is for: {known}")
    for word in arguments.task:
        found.append(_step(problem, plan, word))
    return list(dict.fromkeys(found))


def _step(problem: Problem, plan: Plan, word: str) -> Step:
    """The next step of the plan that a word names: its key, or its job's id."""
    from drybuild.build.errors import nearest
    from drybuild.show.lines import wrapped

    for step in plan.steps:
        if word in (step.key, step.what if step.kind == "job" else ""):
            return step
    keys = tuple(dict.fromkeys(_words(step) for step in plan.steps))
    lines = [f"no task {word!r} in the plan. {nearest(word, keys)}".strip(), "Jobs in the plan:"]
    jobs = dict.fromkeys(step.what for step in plan.steps if step.kind == "job")
    lines += [f"  {name}: {problem.jobs[name].title}" for name in jobs]
    others = [step.key for step in plan.steps if step.kind != "job"]
    if others:
        lines += wrapped(f"and what is done for them, such as {', '.join(others[:4])}", 2)
    raise Refused("\n".join(lines))


def _one(problem: Problem, step: Step, arguments: argparse.Namespace) -> Told:
    """Without times it counts as ended when the plan has it end, or now if that is still to come,
    and teaches no length."""
    from drybuild.work.doing import DoneRefused, Told, day_told, ended_at

    now = datetime.now()
    try:
        told = day_told(arguments.at, now=now) if arguments.at else None
    except DoneRefused as error:
        raise Refused(f"--at: {error}") from None
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


def _clock(day: date, text: str, option: str) -> datetime:
    try:
        return datetime.combine(day, datetime.strptime(text, "%H:%M").time())
    except ValueError:
        raise Refused(f"{option}: found {text!r}, expected a time of day hh:mm") from None


def _happened(problem: Problem, arguments: argparse.Namespace) -> tuple[Happening, ...]:
    """What happened, judged before it is written down."""
    from drybuild.work.happened import Happening, HappeningRefused, after_happenings

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
    except HappeningRefused as error:
        more = "; say it as --say NAME=VALUE" if "is not said" in str(error) else ""
        raise Refused(f"{error}{more}") from None
    return (found,)


def _value(text: str) -> Any:
    """Three figures are a list, as hours are written: 1,1.5,3."""
    pieces = text.split(",")
    return [piece.strip() for piece in pieces] if len(pieces) == 3 else text


def _next(plan: Plan) -> str:
    return ", ".join(_words(step) for step in plan.steps[:6]) or "nothing"


def _words(step: Step) -> str:
    """A step as one types it."""
    return step.what if step.kind == "job" else step.key
