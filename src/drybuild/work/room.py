"""What makes room where no plan meets every need, as ways of which each by itself is enough.

``explain`` gives up one kind of constraint at a time, and several at once where no single kind is
enough; the least that it can show in its time may be much. Here whole ways are tried one by one,
the smallest first: work sessions more, days of need given up, jobs left out. Each try is a look
without times; the first of each kind that holds is laid out in time as well.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import chain, combinations, islice, product
from math import ceil

from drybuild.work.amount import Amount, least_work, saved_by, shared, there, without
from drybuild.work.longer import one_longer
from drybuild.work.model import Need, NoPlan, Plan, Problem, Relaxation, Session
from drybuild.work.solve import solve
from drybuild.work.solve.explain import MOST_LEFT_OUT, given_up, plain_reasons
from drybuild.work.solve.loose import DAY, WEEK, with_extra
from drybuild.work.solve.strict import need_name

LOOK, TIMED = 1.0, 5.0
"""The solver's measure of a look, and of a search for one plan with times."""

MOST_LOOKS = 60
"""Ways of one kind that are tried."""

MOST_REFUTED = 3
"""Of them, those that a search with times may show to be none, before one is taken as it is."""

TOGETHER, MOST_TOGETHER = 3.0, 2
"""The same measure for what is shown to be enough together, and how many such sets are tried."""

MOST_DAYS = 3
"""Work sessions more, at most."""


@dataclass(frozen=True, slots=True)
class Way:
    """Sessions that are added, needs that are given up, jobs that are left out."""

    more: tuple[Session, ...] = ()
    needs: tuple[Need, ...] = ()
    jobs: tuple[str, ...] = ()

    def taken(self, problem: Problem) -> Problem:
        """The problem with it."""
        sessions = tuple(sorted((*problem.sessions, *self.more), key=lambda s: s.start))
        kept = [need for need in problem.needs if need not in self.needs]
        kept += weeks_more(problem, sessions)
        needs = tuple(dict.fromkeys(n for need in kept for n in _placed(need, sessions)))
        return without(replace(problem, sessions=sessions, needs=needs), self.jobs)


def with_room(problem: Problem, said: NoPlan, near: Plan | None = None) -> NoPlan:
    """The answer with ways out that stand each by itself, in place of one that has several kinds
    in it or leaves much out. near: a plan of before."""
    if _elsewhere(problem, said):
        return said
    said = replace(said, relax=tuple(_one_longer(problem, one, near) for one in said.relax))
    if not _poor(said):
        return said
    said_well = {r.kind for r in said.relax if not _mixed(r) and (r.why or not r.at_least)}
    found = [_relaxation(problem, way, laid) for way, laid in ways(problem)]
    found = [one for one in found if one.kind not in said_well or one.kind == "job"]
    kinds = {one.kind for one in found}
    kept = [r for r in said.relax if r.kind not in kinds and not (found and _mixed(r))]
    if all(one.at_least for one in (*found, *kept)):
        found = [*_shown(problem), *found]
    return replace(said, relax=(*found, *kept))


def _one_longer(problem: Problem, one: Relaxation, near: Plan | None) -> Relaxation:
    return one_longer(
        problem, one, near, lambda more: _roomy(more) and _divides(more), _times
    )


def _shown(problem: Problem) -> Iterator[Relaxation]:
    """Work sessions more and days of need given up, all together, with which a plan was laid out
    in time as well, where nothing that is smaller was shown to be enough."""
    every = chain.from_iterable(_more(problem, count) for count in range(MOST_DAYS + 1))
    roomy = (more for more in every if _roomy(Way(more=more).taken(problem)))
    for more in islice(roomy, MOST_TOGETHER):
        given = given_up(Way(more=more).taken(problem), seconds=TOGETHER)
        if given is not None and (given or more):
            yield replace(_relaxation(problem, Way(more=more, needs=given), True), why=LESS)
            return


LESS = "a plan was laid out with all of it together, and less may do"


def why_no_room(problem: Problem, said: NoPlan) -> tuple[str, ...]:
    """The hours, where it is a matter of work sessions; nothing where a rule or a check is."""
    if _elsewhere(problem, said):
        return ()
    kinds = {one.kind for one in said.relax}
    if _roomy(problem) and kinds and not kinds & {"time", "session", "job"}:
        return ()
    return tuple(hours_lines(problem))


def _elsewhere(problem: Problem, said: NoPlan) -> bool:
    """Whether the cause is seen without counting hours, or not known."""
    checks = any(c.waits_for or (not c.done and not c.not_done) for c in problem.clauses)
    return said.open or checks or not saved_by(problem) or bool([*plain_reasons(problem)])


def ways(problem: Problem) -> list[tuple[Way, bool]]:
    """The smallest way of each kind that holds, and whether a plan with times was found with it."""
    found = []
    for tried in (_days(problem), _needs(problem), _jobs(problem)):
        refuted = 0
        for way in islice(tried, MOST_LOOKS):
            if not _holds(problem, way):
                continue
            laid = _laid(problem, way) if refuted < MOST_REFUTED else None
            if laid is not False:
                found.append((way, bool(laid)))
                break
            refuted += 1
    return found


def _holds(problem: Problem, way: Way) -> bool:
    return _divides(way.taken(problem))


def _divides(problem: Problem) -> bool:
    return isinstance(solve(problem, look=True, seconds=LOOK), Plan)


def _laid(problem: Problem, way: Way) -> bool | None:
    return _times(way.taken(problem))


def _times(problem: Problem) -> bool | None:
    """Whether a plan with times is found; None where the search had to stop before it knew."""
    heard: list[Plan] = []
    found = solve(problem, seconds=TIMED, heard=heard.append, enough=lambda: bool(heard))
    return True if isinstance(found, Plan) else None if found.open else False


def _days(problem: Problem) -> Iterator[Way]:
    """Sessions more, with every need kept; then with one given up, then with all."""
    given_up: list[list[tuple[Need, ...]]] = [
        [()],
        [(need,) for need in sorted(problem.needs, key=lambda need: need.rank)],
        [problem.needs] if len(problem.needs) > 1 else [],
    ]
    for given, count in product(given_up, range(1, MOST_DAYS + 1)):
        for needs, more in product(given, _more(problem, count)):
            way = Way(more=more, needs=needs)
            if _roomy(way.taken(problem)):
                yield way


def _more(problem: Problem, count: int) -> Iterator[tuple[Session, ...]]:
    """So many sessions more: after the last, each a week later; one also the day after another."""
    extra = with_extra(problem, count).sessions[len(problem.sessions):]
    wanted = (*problem.needs, *weeks_more(problem, (*problem.sessions, *extra)))
    if not any(_in_use(wanted, one) for one in extra):
        yield extra
    if count == 1:
        yield from ((one,) for one in _days_after(problem) if not _in_use(wanted, one))


def _in_use(needs: Iterable[Need], session: Session) -> bool:
    """Whether the car is wanted on that day before the session is over: till when, nobody says."""
    moments = [moment for need in needs for moment in (need.until, *need.also)]
    return any(m // DAY == session.start // DAY and m < session.end for m in moments)


def weeks_more(problem: Problem, sessions: Sequence[Session]) -> list[Need]:
    """Days of need that come with sessions after the last: a use that was wanted on the same day of
    several weeks is wanted on it again, up to the first one after all of the sessions."""
    if not sessions or not problem.sessions:
        return []
    old, new = problem.sessions[-1].end, sessions[-1].end
    same: dict[tuple[str, int], list[tuple[int, int]]] = {}
    for need in problem.needs:
        for moment in (need.until, *need.also):
            same.setdefault((need.use, moment % WEEK), []).append((moment, need.rank))
    found = []
    for (use, _), moments in same.items():
        (last, rank), several = max(moments), len(moments) > 1
        while several and old <= last < new:
            last += WEEK
            found.append(Need(use, sessions[-1].id, last, rank))
    return found


def _days_after(problem: Problem) -> Iterator[Session]:
    """Each session once more the day after it, where no other begins by then."""
    begins = {s.start // DAY for s in problem.sessions}
    for session in problem.sessions:
        if session.start // DAY + 1 not in begins:
            people = tuple(
                replace(p, start=p.start + DAY, end=p.end + DAY) for p in session.people
            )
            yield replace(
                session, id=f"after-{session.id}", start=session.start + DAY,
                end=session.end + DAY, people=people,
            )  # fmt: skip


def _needs(problem: Problem) -> Iterator[Way]:
    """Needs given up, one of the lowest rank first, then two."""
    if not _roomy(problem):
        return
    ranked = sorted(problem.needs, key=lambda need: need.rank)
    for count in (1, 2):
        yield from (Way(needs=these) for these in combinations(ranked, count))


def _jobs(problem: Problem) -> Iterator[Way]:
    """Jobs left out: few before many, and of as many those with the least work first."""
    names = sorted(problem.jobs.keys() - problem.done)
    for count in range(1, min(MOST_LEFT_OUT, len(names) - 1) + 1):
        left = [(Way(jobs=jobs), without(problem, jobs)) for jobs in combinations(names, count)]
        roomy = [(least_work(rest).hours, way) for way, rest in left if _roomy(rest)]
        yield from (way for _, way in sorted(roomy, key=lambda row: (-row[0], row[1].jobs)))


def _roomy(problem: Problem) -> bool:
    """Whether the sessions have the hours, all else aside."""
    work, here = least_work(problem), there(problem.sessions)
    return work.hours <= here.hours and work.together <= here.together


def _placed(need: Need, sessions: Iterable[Session]) -> Iterator[Need]:
    """A need after the last session that is over by then; for a further day of it too, where one
    lies between."""
    found: dict[str, Need] = {}
    for until in (need.until, *need.also):
        over = [s.id for s in sessions if s.end <= until]
        one = replace(need, session=over[-1] if over else need.session, until=until, also=())
        found.setdefault(one.session, one)
    yield from found.values()


def _poor(said: NoPlan) -> bool:
    """Whether what makes room, as it was found, is more than it may need."""
    return all(r.at_least or _mixed(r) or "+" in r.what for r in said.relax)


def _mixed(one: Relaxation) -> bool:
    return ", together with " in one.words


# ---- in words ----

NAMED = 6
"""Jobs whose hours are said one by one."""

LEAST_SAID = 0.05
"""Hours that are worth a word."""


def hours_lines(problem: Problem) -> Iterator[str]:
    """How many person-hours the work takes at least and how many there are; of which jobs."""
    work, here = least_work(problem), there(problem.sessions)
    each = ", ".join(
        f"{_day(problem, s)} {_exact(there([s]).hours)}" for s in problem.sessions
    )
    lacking = work.hours - here.hours
    if lacking > 0:
        said = f"{ceil(lacking)} too few"
    elif work.together > here.together:
        said = "enough of them, but not with two people at once"
    else:
        said = "enough if nothing were opened twice: it is the order or the days of need"
    yield (
        f"person-hours: the work takes {_exact(work.hours)} at least, the work sessions have "
        f"{_exact(here.hours)} ({each}): {said}"
    )
    if work.together > here.together:
        yield (
            f"two people at once: {_figure(work.together)} h of it at least, and two are there for "
            f"{_figure(here.together)} h"
        )
    rows = [f"{problem.jobs[n].title} {_exact(saved)}" for n, saved in saved_by(problem)]
    smaller = len(rows) - NAMED
    if smaller > 1:
        small = sum(saved for _, saved in saved_by(problem)[NAMED:])
        rows = [*rows[:NAMED], f"and {smaller} smaller ones {_exact(small)}"]
    if len(rows) > 1:
        yield f"person-hours less where one job is left out: {'; '.join(rows)}"
    opening, after = shared(problem)
    rest = {
        "opening and closing for several": opening,
        "what is set, bled, checked and driven after several": after,
    }
    told = [f"{words} {_exact(hours)}" for words, hours in rest.items() if hours >= LEAST_SAID]
    if len(rows) > 1 and told:
        yield f"the rest of the {_exact(work.hours)} goes with no job alone: {'; '.join(told)}"


def _relaxation(problem: Problem, way: Way, laid: bool) -> Relaxation:
    uses = {n.use: joined([_until(problem, m) for m in way.needs if m.use == n.use])
            for n in way.needs}  # fmt: skip
    needs = " and ".join(f"do without {use} on {days}" for use, days in uses.items())
    if way.more:
        words = f"{_more_words(problem, way.more)}{', and ' if needs else ''}{needs}"
        what = "+".join(s.id for s in way.more)
        return Relaxation("session", what, words, at_least=not laid)
    if way.needs:
        what = "+".join(need_name(n) for n in way.needs)
        return Relaxation("need", what, needs, at_least=not laid)
    titles = [problem.jobs[name].title for name in way.jobs]
    words = f"leave out {joined(titles)}"
    return Relaxation("job", "+".join(way.jobs), words, at_least=not laid)


COUNT = ("no", "one more", "two more", "three more")


def _more_words(problem: Problem, more: tuple[Session, ...]) -> str:
    days, each = joined([_long_day(problem, s) for s in more]), there(more[:1])
    count = COUNT[len(more)]
    several = "s" if len(more) > 1 else ""
    each_ = " each" if several else ""
    who = joined([person.name for person in more[0].people])
    return f"add {count} work session{several}, such as {days} ({who}): {_hours(each)}{each_}"


def _hours(amount: Amount) -> str:
    both = f", {_figure(amount.together)} h with two" if amount.together else ""
    return f"{_figure(amount.hours)} person-hours{both}"


def _figure(hours: float) -> str:
    return f"{hours:.0f}" if hours >= 20 else f"{hours:.1f}".removesuffix(".0")


def _exact(hours: float) -> str:
    """In quarters, so that a lack of less than one is seen, and what is added up agrees."""
    return f"{hours:.2f}".rstrip("0").removesuffix(".")


def _until(problem: Problem, need: Need) -> str:
    when = problem.at(need.until)
    return f"{when:%A} {when.day} {when:%B}"


def _long_day(problem: Problem, session: Session) -> str:
    when = problem.at(session.start)
    return f"{when:%A} {when.day} {when:%B}"


def _day(problem: Problem, session: Session) -> str:
    when = problem.at(session.start)
    return f"{when:%a} {when.day} {when:%b}"


def joined(words: list[str]) -> str:
    """A list in words; one of lists with semicolons."""
    if len(words) < 2:
        return "".join(words)
    if any(" and " in word or ", " in word for word in words):
        return f"{'; '.join(words[:-1])}; and {words[-1]}"
    return f"{', '.join(words[:-1])} and {words[-1]}"
