"""How long, how sure: the outlook of a plan in words."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime, timedelta

from drybuild.show.cards_words import also_text, clock, short_day
from drybuild.show.hours import person_hours, two
from drybuild.show.lines import wrapped
from drybuild.show.sentences import joint_text
from drybuild.values import stepped
from drybuild.work.model import ToDo
from drybuild.work.risk import Buffer, Cause, NeedOutlook, Outlook, Pace, SessionOutlook

MOST_CAUSES = 3
MINUTES = 5

HOW = (
    "Carried out {draws:,} times with the doubt of every task; seized fasteners slow down a whole "
    "region of the car, and a person is slow or quick at everything. Each chance is good to about "
    "{error} in 100. A check may find something to put right. Nobody leaves a job out and nobody "
    "plans again on the way: with a new plan after each session the chances are better. How strong "
    "the common causes are is common practice; finished jobs in the journal correct it."
)
CLOSING = (
    "A day that is not made is an ordinary answer: bleeding, tightening, leak and road checks are "
    "never shortened to make it."
)


def outlook_text(todo: ToDo, outlook: Outlook) -> str:
    """The outlook. todo: whose plan it is, for dates and titles."""
    lines = ["How long", *_hours(outlook)]
    if outlook.needs:
        lines += ["", needs_title(outlook)]
        for need in outlook.needs:
            lines += _need(todo, need)
        if len(outlook.needs) > 1:
            lines.append(f"  all of them: {chance_text(outlook.all_needs or 0.0)}")
    lines += ["", "When each work session is over, if people stay until what is planned is done"]
    for session in outlook.sessions:
        lines += _session(todo, session)
    lines += _buffers(todo, outlook)
    lines += _undone(todo, outlook)
    lines += _learned(outlook)
    return "\n".join([*lines, "", *wrapped(how_text(outlook), 0), *wrapped(CLOSING, 0)])


def how_text(outlook: Outlook) -> str:
    """How the chances were counted, and how far they are good."""
    error = max((need.error for need in outlook.needs), default=0.0)
    return HOW.format(draws=outlook.draws, error=max(1, round(200 * error)))


def chance_text(chance: float) -> str:
    """``83 in 100``; what always or never happened did so in these draws and no more."""
    if chance >= 1.0:
        return "every time in these draws"
    return joint_text(chance) if chance > 0.0 else "never in these draws"


def _hours(outlook: Outlook) -> list[str]:
    lines: list[str] = []
    for said in hours_lines(outlook):
        lines += wrapped(f"  {said}", 4)
    return lines


def hours_lines(outlook: Outlook) -> list[str]:
    """How long the work and the waiting take, and whether the sessions hold it."""
    hours, wait = outlook.hours, outlook.waiting
    lines = [
        f"work: {person_hours(hours.p50)}, half of such jobs take no longer; 80 in 100 no longer "
        f"than {two(hours.p80)}, 90 in 100 no longer than {two(hours.p90)}; the plan gives its "
        f"tasks {two(outlook.planned)}, each by itself"
    ]
    if wait.p90 >= 0.25:
        middle, least, most = stepped(wait.p50, wait.p10, wait.p90)
        lines.append(
            f"waiting for each other or for parts: about {middle} person-hours, {least} to {most}"
        )
    return [
        *lines, f"all of it done within these work sessions: {chance_text(outlook.finished)}"
    ]  # fmt: skip


def needs_title(outlook: Outlook) -> str:
    """What the chances of the days are counted with."""
    return f"What is needed, {stay_text(outlook)}"


def stay_text(outlook: Outlook) -> str:
    """How long people are taken to stay on."""
    stay = outlook.doubts.stay
    if stay <= 0:
        return "if people go home at the end of each session"
    return f"if people stay {two(stay)} h beyond the end of a session at the most"


def _need(todo: ToDo, need: NeedOutlook) -> list[str]:
    first, *more = need_lines(todo, need)
    lines = wrapped(f"  {first}", 6)
    for said in more:
        lines += wrapped(f"      {said}", 8)
    return lines


def need_lines(todo: ToDo, need: NeedOutlook) -> list[str]:
    """The chance of a day of need; then what it is lost by."""
    at = todo.problem.at(need.need.until)
    also = also_text(todo.problem, need.need)
    lines = [f"{short_day(at)}, {clock(at)}  {need.need.use}: {chance_text(need.chance)}{also}"]
    if need.chance >= 0.995:
        return lines
    if not need.as_planned:
        return [*lines, "the plan itself does not make it: plan again"]
    lines += cause_lines(todo, need.causes[:MOST_CAUSES], need.need.session, _again(need.causes))
    where = [
        f"{region} {100 * share:.0f} %" for region, share in need.regions[:2] if share >= 0.1
    ]
    if len(need.regions) > 1 and where:
        lines.append(f"time lost by region of the car: {', '.join(where)}")
    return lines


def cause_lines(
    todo: ToDo, causes: Iterable[Cause], session: str, again: Iterable[str] = ()
) -> list[str]:
    """Causes, each with its day where that is not the one of the session that is spoken of.

    again: titles that want their day anyhow, for they stand for tasks of several sessions.
    """
    lines = []
    for cause in causes:
        said = replace(cause, title=named(todo, cause.what, cause.title))
        dated = cause.session != session or cause.title in again
        lines.append(cause_text(said, _day(todo, cause.session) if dated else ""))
    return lines


def named(todo: ToDo, what: str, title: str) -> str:
    """What a task is, as its notes have it (``rear down on its wheels``), else its title."""
    notes = todo.notes.get(what)
    return notes.title if notes is not None and notes.title else title


def _again(causes: Iterable[Cause]) -> set[str]:
    """Titles that stand for tasks of several sessions: each needs its day to be told apart."""
    where: dict[str, set[str]] = {}
    for cause in causes:
        where.setdefault(cause.title, set()).add(cause.session)
    return {title for title, sessions in where.items() if len(sessions) > 1}


def _day(todo: ToDo, session: str) -> str:
    problem = todo.problem
    return short_day(problem.at(problem.session(session).start))


def cause_text(cause: Cause, day: str = "") -> str:
    """A cause in one line, with what it would help if it were not. day: named if not the last."""
    why = {
        "step": "takes longer", "check": "finds something to put right", "parts": "parts late",
    }[cause.kind]  # fmt: skip
    title = f"{cause.title}, on {day}" if day else cause.title
    said = f"{title}: {why}, {100 * cause.share:.0f} % of what is lost"
    if cause.gain is not None and cause.gain >= 0.005:
        kept = "kept to its time" if cause.kind == "step" else "did not happen"
        return f"{said}; if it {kept}, {_more(cause.gain)}"
    return said


def _more(gain: float) -> str:
    """A chance gained: ``4 in 100 more``."""
    return f"{max(1, round(100 * gain))} in 100 more"


def _session(todo: ToDo, session: SessionOutlook) -> list[str]:
    there = todo.problem.session(session.session)
    begins = todo.problem.at(there.start)
    ends = {
        name: moment_text(begins, hours)
        for name, hours in (("p50", session.end.p50), ("p80", session.end.p80),
                            ("p90", session.end.p90))
    }  # fmt: skip
    planned = moment_text(begins, session.planned)
    late = chance_text(session.overrun)
    lines = wrapped(
        f"  {short_day(begins)}  planned until {planned}; over by {ends['p50']} (50 in "
        f"100), {ends['p80']} (80 in 100), {ends['p90']} (90 in 100); after "
        f"{clock(todo.problem.at(there.end))}: {late}", 6,
    )  # fmt: skip
    if session.overrun >= 0.05:
        for said in cause_lines(todo, session.causes[:1], session.session):
            lines += wrapped(f"      {said}", 8)
    return lines


def moment_text(begins: datetime, hours: float) -> str:
    """The time of day so many hours after a start, to five minutes; the day too, if another."""
    minutes = MINUTES * round(60 * hours / MINUTES)
    at = begins + timedelta(minutes=minutes)
    return clock(at) if at.date() == begins.date() else f"{short_day(at)} {clock(at)}"


def _buffers(todo: ToDo, outlook: Outlook) -> list[str]:
    if not outlook.buffers:
        return []
    lines = ["", "Where a buffer buys the most"]
    for buffer in outlook.buffers:
        lines += wrapped(f"  {buffer_text(todo, buffer)}", 4)
    return lines


def buffer_text(todo: ToDo, buffer: Buffer) -> str:
    """A buffer in one line: what, what it buys, what it costs."""
    problem = todo.problem
    day = short_day(problem.at(problem.session(buffer.session).start))
    need = next(n for n in problem.needs if n.session == buffer.need)
    bought = f"{need.use} on {short_day(problem.at(need.until))} {_more(buffer.need_gain)}"
    if len(problem.needs) > 1:
        bought += f", all needs {_more(buffer.gain)}" if buffer.gain >= 0.005 else ""
    if buffer.kind == "longer":
        return f"an hour more on {day}: {bought}, for {two(buffer.cost)} person-hours"
    cost = "and nothing is opened twice for it"
    if buffer.cost >= 0.05:
        cost = f"and {two(buffer.cost)} h to open it again"
    return f"{buffer.title} out of {day}, {two(buffer.frees)} h: {bought}, {cost}"


def _undone(todo: ToDo, outlook: Outlook) -> list[str]:
    if not outlook.left:
        return []
    lines = ["", "What may be left undone when the last session is over"]
    for left in outlook.left:
        title = named(todo, left.what, left.title)
        lines += wrapped(f"  {title}: {chance_text(left.chance)}", 4)
    return lines


def _learned(outlook: Outlook) -> list[str]:
    paces = outlook.learned.paces
    if not paces:
        return []
    lines = ["", f"What {outlook.learned.tasks} finished tasks taught"]
    for pace in paces:
        lines += wrapped(f"  {pace_text(pace)}", 4)
    return lines


def pace_text(pace: Pace) -> str:
    """``Ilse: about 1.2 times as long as thought, 1.1 to 1.4, from 6 tasks``."""
    tasks = f"{pace.tasks} task{'s' if pace.tasks != 1 else ''}"
    what = pace.name if pace.kind == "person" else f"{pace.name}, fasteners and the like"
    middle, low, high = stepped(pace.factor, pace.low, pace.high)
    return f"{what}: about {middle} times as long as thought, {low} to {high}, from {tasks}"
