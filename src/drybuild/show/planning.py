"""The plan as its user reads it: the car on the days it is needed, then who does what."""

from __future__ import annotations

from collections.abc import Iterable

from drybuild.examine import Owed
from drybuild.findings.words import uses
from drybuild.show.as_found_words import outside_text, since_text
from drybuild.show.cards_words import also_text, apart_text, clock, short_day
from drybuild.show.clauses import clause_lines
from drybuild.show.hours import NO_BREAKS, hours_text, person_hours, two
from drybuild.show.left_words import half_done_lines
from drybuild.show.lines import wrapped
from drybuild.show.sentences import joint_text
from drybuild.show.work_list import aim_text, far_uses, idle_text, little_text
from drybuild.show.work_outlook import chance_text, named, stay_text
from drybuild.show.work_supposed import (
    MOST,
    NOT_COVERED,
    REFUSE,
    RELEASES_NOTHING,
    bears_text,
    before_text,
    count_text,
    counted,
    in_order,
    one_text,
    to_measure_text,
)
from drybuild.work.answer import Answer, Needed
from drybuild.work.half_done import half_done
from drybuild.work.model import Aim, Effect, NoPlan, Plan, Problem, Session, Step
from drybuild.work.openings import Comparison, Opening, title_of
from drybuild.work.standing import Standing, Stop
from drybuild.work.wayback import WayBack

CLOSING = (
    "A plan is a proposal. No result here says that the car may be driven or that anybody may be "
    "under it: hand checks, the maker's data, local rules and licensed people decide. Bleeding, "
    "tightening, leak and road checks are never shortened to make a day."
)


NAMED = 3
"""Checks without an answer that are named one by one at a session's end; more are counted."""
ALL_DONE = "everything of the plan is done"
NO_CARD = "Everything of the plan is done, and no card is left."


def plan_text(said: Answer, *, folder: str, name: str, everything: bool = False) -> str:
    """The answer of ``drybuild plan``. everything: each step, opening, clause and way back."""
    problem, plan = said.todo.problem, said.plan
    if said.left is not None:
        done = [*wrapped(f"{name} · {ALL_DONE}", 2), *_end_lines(problem, said.left, "now")]
        lines = [*done, *owed_lines(said.left.owed), "", book_line(folder), ""]
        return "\n".join([*lines, *wrapped(CLOSING, 0)])
    jobs, days = len(problem.jobs) - len(problem.done), len(used(problem, plan))
    lines = wrapped(
        f"{name} · {jobs} job{'s' if jobs != 1 else ''} in {days} work session"
        f"{'s' if days != 1 else ''} · time for each task: enough "
        f"{problem.percentile * 100:.0f} in 100; {NO_BREAKS}", 2,
    )  # fmt: skip
    lines += ["", *_supposed_lines(plan, folder, everything), *_needed_lines(said)]
    lines += _whole_lines(said, folder)
    half = half_done_lines(problem, half_done(problem, dict(said.ends)))
    lines += ["", *half] if half else []
    for session in used(problem, plan):
        lines += ["", *session_lines(said, session)]
    spare = [s for s in (idle_text(problem, plan), little_text(problem, plan)) if s]
    lines += ["", *(line for said_ in spare for line in wrapped(said_, 2))] if spare else []
    lines += ["", *_aim_lines(problem, plan.aims)]
    if said.against is not None:
        lines += against_lines(said.against, everything)
    elif isinstance(said.greedy, NoPlan):
        why = "; ".join(said.greedy.why)
        lines += wrapped(f"  one region of the car after the other there is no plan: {why}", 4)
    lines += ["", *opening_lines(said, everything)]
    lines += ["", *clause_lines(problem, plan.clauses, everything)]
    lines += ["", *way_back_lines(problem, said.back, everything)]
    lines += ["", *_brackets(said, folder, everything), f"next: drybuild cards {folder}"]
    lines += [f"when it is done: drybuild done {folder} card 1 --who NAME", ""]
    return "\n".join([*lines, *wrapped(CLOSING, 0)])


def owed_lines(owed: Iterable[Owed]) -> list[str]:
    """Hand checks that are still to be written down, by name."""
    titles = sorted({one.title for one in owed})
    checks = f"{len(titles)} hand check{'s' if len(titles) != 1 else ''}"
    return wrapped(f"  owed, {checks}: {'; '.join(titles)}", 4) if titles else []


def book_line(folder: str) -> str:
    """Where it goes on when everything of the plan is done."""
    return f"next: drybuild book {folder}; hand checks that are owed: drybuild check {folder}"


def _brackets(said: Answer, folder: str, everything: bool) -> list[str]:
    """What the names in brackets are for."""
    plan, sessions = said.plan, used(said.todo.problem, said.plan)
    told = [f"a session: drybuild cards {folder} --session {sessions[0].id}"] if sessions else []
    shown = in_order(plan.supposed) if everything else []
    checks = [one.check for one in shown] + [c.check for c in plan.clauses]
    check = next((name for name in checks if name), "")
    told += [f"a check: drybuild workings {folder} {check}"] if check else []
    return wrapped(f"in [ ]: {'; '.join(told)}", 2) if told else []


def used(problem: Problem, plan: Plan) -> list[Session]:
    """The sessions in which the plan does anything."""
    names = {step.session for step in plan.steps}
    return [session for session in problem.sessions if session.id in names]


def _supposed_lines(plan: Plan, folder: str, everything: bool) -> list[str]:
    """What the plan supposes, before anything else is said of it: by what to measure for it."""
    if not plan.supposed:
        return []
    lines = wrapped(f"SUPPOSED while planning: {count_text(plan.supposed)}.", 2)
    lines += wrapped(
        f"  The first of it must be known before {before_text(plan.supposed)}; {NOT_COVERED}. "
        f"{RELEASES_NOTHING}", 4,
    )  # fmt: skip
    for number, m in enumerate(plan.measure if everything else plan.measure[:MOST]):
        head = "measure first" if not number else "then"
        lines += wrapped(f"  {head}: {to_measure_text(m)}, {bears_text(m)}", 4)
    if not everything:
        return [*lines, f"  check by check: --all; {REFUSE.format(folder=folder)}", ""]
    for one in in_order(plan.supposed):
        lines += wrapped(f"  {', '.join(one.uses)}: {one_text(one)}  [{one.check}]", 6)
    return [*lines, *wrapped(f"  {REFUSE.format(folder=folder)}", 4), ""]


def _needed_lines(said: Answer) -> list[str]:
    if not said.needed:
        return ["No use is needed on any day: say which in build.toml under [[need]]"]
    lines = ["What the car may do when it is needed"]
    for needed in said.needed:
        lines += _one_needed(said.todo.problem, needed)
    if said.outlook is not None and any(needed.chance is not None for needed in said.needed):
        lines += wrapped(f"  in time: {stay_text(said.outlook)}", 4)
    owed = sorted({o.title for n in said.needed for o in n.standing.owed_for(n.need.use)})
    if owed:
        checks = f"{len(owed)} hand check{'s' if len(owed) != 1 else ''}"
        lines += wrapped(
            f"  beside that {checks}, each when its work is done: only they, written down, release "
            "what they concern", 4,
        )  # fmt: skip
    return lines


def _whole_lines(said: Answer, folder: str) -> list[str]:
    """The weakest line of a plan: whether all of it gets done, and what is likeliest left over."""
    outlook = said.outlook
    if outlook is None:
        return []
    told = f"  all of it done within these work sessions: {chance_text(outlook.finished)}"
    weakest = max(outlook.left, key=lambda left: left.chance, default=None)
    if weakest is not None:
        title = named(said.todo, weakest.what, weakest.title)
        told += f"; likeliest left undone: {title}, {chance_text(weakest.chance)}"
    return wrapped(f"{told}; what the chances hang on: drybuild quote {folder}", 4)


def _one_needed(problem: Problem, needed: Needed) -> list[str]:
    at = problem.at(needed.need.until)
    head = f"  {short_day(at)}, {clock(at)}".ljust(28)
    if needed.met:
        made = f"; in time: {chance_text(needed.chance)}" if needed.chance is not None else ""
        said = f"{head}{needed.need.use}: nothing in the plan and nothing calculated stops it{made}"
        said = "; ".join(filter(None, (said, outside_text(needed.standing, [needed.need.use]))))
        return wrapped(said + also_text(problem, needed.need), 28)
    if not needed.stopped_by:
        open_ = counted(len({stop.what for stop in needed.supposed}))
        said = (
            f"{head}{needed.need.use}: SUPPOSED: only what nobody can answer yet stops it "
            f"({open_}); all that is computed enough at once: {joint_text(needed.enough)}"
        )
        made = f"; work in time: {chance_text(needed.chance)}" if needed.chance is not None else ""
        return wrapped(said + made + also_text(problem, needed.need), 28)
    reasons = [stop.why for stop in needed.standing.stopping(needed.need.use)]
    said = f"{head}{needed.need.use}: stopped: {'; '.join(reasons)}"
    return wrapped(said + also_text(problem, needed.need), 28)


def session_lines(said: Answer, session: Session) -> list[str]:
    """One session: who does what, and how the car stands when it is over."""
    problem = said.todo.problem
    steps = said.plan.of(session.id)
    at, end = problem.at(session.start), problem.at(session.end)
    people = ", ".join(_present(problem, session))
    lines = wrapped(f"{short_day(at)}, {clock(at)} to {clock(end)} · {people}  [{session.id}]", 2)
    for step in steps:
        who = " and ".join(step.who) or "waits"
        long = hours_text((step.end - step.start) / 4)
        lines += wrapped(
            f"  {clock(problem.at(step.start)):>5}  {long:>6}  {who:<{_widest(session)}}  "
            f"{title_of(problem, step, said.todo.notes)}{_ways(problem, step)}",
            17 + _widest(session),
        )  # fmt: skip
    standing = dict(said.ends)[session.id]
    return lines + _end_lines(problem, standing)


def _present(problem: Problem, session: Session) -> list[str]:
    said = []
    for person in session.people:
        times = ""
        if (person.start, person.end) != (session.start, session.end):
            times = f" {clock(problem.at(person.start))} to {clock(problem.at(person.end))}"
        said.append(f"{person.name}{times}")
    return said


def _widest(session: Session) -> int:
    names = [person.name for person in session.people]
    return max((len(n) for n in (*names, " and ".join(names[:2]), "waits")), default=6)


def _ways(problem: Problem, step: Step) -> str:
    """What was chosen where a task had a choice, of tools alone: the rest is seen in the steps."""
    chosen = [c.name for way in step.ways for c in way if c.kind == "tool"]
    return f" (using {', '.join(dict.fromkeys(chosen))})" if chosen else ""


def _left(effect: Effect, by_nobody: bool) -> str:
    """What is left to do; what waits for a distance that no session follows is the owner's."""
    yours = " (yours, outside these sessions)" if effect.between and by_nobody else ""
    return f"{effect.title}{yours}"


def _end_lines(problem: Problem, standing: Standing, when: str = "then") -> list[str]:
    off = [problem.components[name].title for name in standing.off]
    by_nobody = {s.what for s in standing.stops if s.kind == "pending" and s.by is None}
    pending = [_left(problem.effects[name], name in by_nobody) for name in standing.pending]
    lines = []
    if off:
        lines += wrapped(f"  stays off: {', '.join(off)}", 4)
    if pending:
        lines += wrapped(f"  left to do: {', '.join(pending)}", 4)
    free = () if apart_text(standing) else far_uses(standing)
    if free:
        said = f"nothing in the plan and nothing calculated stops {' or '.join(free)}"
        said = "; ".join(filter(None, (said, outside_text(standing, free))))
        lines += wrapped(f"  {when} {said}", 4)
    stops = [stop for stop in standing.stops if stop.roots]
    # what can only be done after driving stops no drive: it stands by itself
    now = [s for s in stops if not (s.kind == "pending" and problem.effects[s.what].between)]
    later = [stop for stop in stops if stop not in now]
    for head, these in ((f"{when} stopped:", now), ("once it was driven, for", later)):
        lines += wrapped(f"  {head} {_stopped_text(these)}", 4) if these else []
    return lines


def _stopped_text(stops: list[Stop]) -> str:
    """Uses that the reasons themselves stop, as on cards and screens, and the reasons; others
    follow from them."""
    names = [u.name for u in uses() if any(u.name in stop.roots for stop in stops)]
    why = list(dict.fromkeys(f"{s.why}{since_text(s)}" for s in stops if not s.waits_for))
    unknown = {s.what: s.why for s in stops if s.waits_for}
    if len(unknown) <= NAMED:
        why += dict.fromkeys(unknown.values())
    else:
        first = next(iter(unknown.values()))
        why.append(f"{counted(len(unknown))} that nobody can answer yet, as {first}")
    return f"{', '.join(names)}: {'; '.join(why)}"


def _aim_lines(problem: Problem, aims: Iterable[Aim]) -> list[str]:
    lines = ["How good it is"]
    for aim in aims:
        lines += wrapped(f"  {aim_text(problem, aim)}", 4)
    if any(aim.near for aim in aims):
        lines.append("  kept near the plan before; --anew looks at all plans")
    return lines


def against_lines(found: Comparison, everything: bool, most: int = 6) -> list[str]:
    """What the plan saves against grouping by region, part by part."""
    lines = wrapped(
        f"  one region of the car after the other, each on a day of its own as long as it takes: "
        f"{person_hours(found.other_hours)} on {found.other_days} days; the plan saves "
        f"{two(found.other_hours - found.hours)} h, {found.saved_share:.0%}", 4,
    )  # fmt: skip
    rows = found.rows if everything else [r for r in found.rows if r.saved][:most]
    width = max((len(row.title) for row in rows), default=0)
    for row in rows:
        times = "once" if row.times == 1 else f"{row.times} times"
        lines.append(
            f"    {row.title:<{width}}  {times} in place of {row.other_times}, {_saved(row.saved)}"
        )
    rest = [r for r in found.rows if r not in rows]
    if rest:
        lines.append(
            f"    {len(rest)} more: {_saved(sum(r.saved for r in rest))} (--all lists them)"
        )
    return lines


def _saved(hours: float) -> str:
    """``+1 h 15``; a minus where the plan takes longer."""
    return f"{'-' if hours < 0 else '+'}{hours_text(abs(hours))}"


def opening_lines(said: Answer, everything: bool) -> list[str]:
    """What is opened once for several jobs."""
    problem = said.todo.problem
    tasks = {o: tasks_behind(o, said.openings) for o in said.openings}
    shared = [o for o in said.openings if len(tasks[o]) > 1]
    shown = list(said.openings) if everything else shared
    shown = shown or list(said.openings)
    many = len(said.openings)
    opened = f"{many} opening{'s' if many != 1 else ''}"
    lines = [f"What is opened: {opened}, {len(shared)} shared by several tasks"]
    for opening in shown:
        lines += _opening(problem, opening, tasks[opening])
    return lines


def tasks_behind(opening: Opening, all_of_them: Iterable[Opening]) -> tuple[str, ...]:
    """Jobs and clearings that an opening is for: those that need it off, and those that need off
    what comes off behind it meanwhile."""
    found, waiting, seen = dict.fromkeys(opening.serves), [opening], {opening}
    while waiting:
        one = waiting.pop(0)
        inner = [o for o in all_of_them if o.component in one.behind and _meanwhile(o, one)]
        waiting += [o for o in inner if o not in seen]
        seen.update(inner)
        found |= dict.fromkeys(key for o in inner for key in o.serves)
    return tuple(found)


def _meanwhile(inner: Opening, outer: Opening) -> bool:
    """Whether two openings lie open at once."""
    def from_to(one: Opening) -> tuple[float, float]:
        return (
            one.taken.start if one.taken is not None else -1.0,
            one.refitted.end if one.refitted is not None else float("inf"),
        )

    (begins, ends), (first, last) = from_to(inner), from_to(outer)
    return begins < last and first < ends


def _opening(problem: Problem, opening: Opening, tasks: Iterable[str]) -> list[str]:
    when = "off already"
    if opening.taken is not None:
        when = short_day(problem.at(opening.taken.start))
    serves = [_served(problem, key) for key in tasks]
    reached = ", ".join(problem.components[name].title for name in opening.behind)
    what = "; ".join(dict.fromkeys(serves)) or f"to reach {reached}"
    return wrapped(f"  {when}: {opening.title}: {what}", 4)


def _served(problem: Problem, key: str) -> str:
    if key in problem.jobs:
        return problem.jobs[key].title
    clearing = problem.effects[key.removeprefix("clear:")].clearing
    return clearing.title if clearing is not None else key


def way_back_lines(problem: Problem, back: Iterable[WayBack], everything: bool) -> list[str]:
    """The way back to the last drivable state, from the fullest moment of each session."""
    lines = ["The way back to the last state that may drive, from where most is off"]
    for way in back:
        lines += _way_back(problem, way, everything)
    return lines if len(lines) > 1 else [*lines, "  nothing in the plan takes the car away from it"]


def _way_back(problem: Problem, way: WayBack, everything: bool) -> list[str]:
    at = problem.at(way.at)
    days = {s.id: short_day(problem.at(s.start)) for s in problem.sessions}
    to = f"as after {days.get(way.to, way.to)}" if way.to else "as the car is now"
    head = f"  {short_day(at)}, {clock(at)}, back to {to}: "
    if not way.steps:
        return wrapped(head + (way.why or "nothing to do"), 4)
    undone = ", ".join(problem.jobs[j].title for j in way.undone)
    said = f"{person_hours(way.hours)}, {len(way.steps)} steps" + (
        f"; taken back: {undone}" if undone else "; no job is taken back"
    )
    lines = wrapped(head + said, 4)
    if everything:
        for step in way.steps:
            lines += wrapped(f"       {_back_title(problem, step)}", 9)
    return lines


def _back_title(problem: Problem, step: Step) -> str:
    if step.kind == "job":
        name = step.what.partition(".")[2] or step.what
        return f"take back: {problem.jobs[name].title}" if name in problem.jobs else step.what
    return title_of(problem, step)

