"""Jobs that can never be done: tools, people or time that no session has."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence

from drybuild.build import Build, Fault
from drybuild.build.lines import line_of
from drybuild.work.durations import planned
from drybuild.work.library import Library, Where
from drybuild.work.model import QUARTERS_AN_HOUR, Component, Job, Session, Work
from drybuild.work.narrow import Narrow
from drybuild.work.times import QUARTER, Times

OWNERS = "work.toml may say otherwise, or somebody else may come"
"""What one can do about a figure of the library's own."""

SECOND = (
    "somebody else may come for part of a session, as Jo 13:00-15:30; "
    "or work.toml says how it is done with fewer"
)
"""How more people come into a session."""


def doable_faults(
    build: Build,
    library: Library,
    small: Narrow,
    sessions: Sequence[Session],
    times: Times,
    percentile: float,
    done: Collection[str],
) -> list[Fault]:
    """A fault for every open job, opening and clearing that no session can ever hold."""
    asking = _Asking(build, library, small, sessions, times, percentile, done)
    return [*asking.lacking(), *asking.fitting(), *asking.bookings()]


class _Asking:
    def __init__(
        self,
        build: Build,
        library: Library,
        small: Narrow,
        sessions: Sequence[Session],
        times: Times,
        percentile: float,
        done: Collection[str],
    ) -> None:
        self.library, self.small, self.sessions = library, small, sessions
        self.times, self.percentile = times, percentile
        self.text = build.files.get("build.toml", "")
        self.index = {job.id: str(n) for n, job in enumerate(build.jobs)}
        self.jobs = {n: j for n, j in small.jobs.items() if n not in done}
        self.cleared = {effect for job in self.jobs.values() for effect in job.clears}

    def job_at(self, name: str, key: str = "") -> Where:
        keys = ("job", self.index[name], *((key,) if key else ()))
        return Where("build.toml", line_of(self.text, keys), ".".join(keys))

    def lacking(self) -> Iterator[Fault]:
        """What a job or a clearing wants and nothing provides."""
        for name, words in self.small.lacking.items():
            kind, _, what = name.partition(":")
            if kind == "effect" and what in self.cleared:
                continue
            where = self.job_at(what) if kind == "job" else self.library.where("effect", what)
            title = self.jobs[what].title if kind == "job" else self.small.effects[what].title
            verb = "can never be done" if kind == "job" else "can never be cleared"
            for word in words:
                yield where.fault(f"{title} ({what}) {verb}", word)

    def fitting(self) -> Iterator[Fault]:
        """Tasks that want more people or time than any session has.

        Those of the library that want more people than ever are there together are said in one.
        """
        there = max((most_at_once(session) for session in self.sessions), default=0)
        alone: dict[int, list[tuple[str, Work]]] = {}
        for title, work, fault in self._tasks():
            if work.people > there and fault.hint == OWNERS:
                alone.setdefault(work.people, []).append((title, work))
            else:
                yield fault
        for wanted, tasks in sorted(alone.items()):
            yield self._too_few(there, wanted, tasks)

    def _too_few(self, there: int, wanted: int, alone: Sequence[tuple[str, Work]]) -> Fault:
        each = "; ".join(
            f"{title}, {planned(work.hours, self.percentile) / QUARTERS_AN_HOUR:g} h"
            for title, work in sorted(alone, key=lambda one: one[0])
        )
        found = "nobody is in any session" if not there else (
            f"never more than {'one person' if there == 1 else f'{there} people'} at a time"
        )  # fmt: skip
        where = Where("build.toml", line_of(self.text, ("session",)), "session")
        return where.fault(found, f"{wanted} people at once for: {each}", SECOND)

    def _tasks(self) -> Iterator[tuple[str, Work, Fault]]:
        for name, job in self.jobs.items():
            key = "booked" if job.sessions else "hours"
            yield from self._fits(job, job.work, self.job_at(name, key))
        for name, component in self.small.components.items():
            root = name.partition("~")[0]
            for key, work in (("take", component.take), ("refit", component.refit)):
                where = self.library.where("component", root, key)
                yield from self._fits(component, work, where)
        for name, effect in self.small.effects.items():
            if effect.clearing is not None and name not in self.cleared:
                where = self.library.where("effect", name, "clear")
                yield from self._fits(effect.clearing, effect.clearing.work, where)

    def _fits(
        self, task: Job | Component, work: Work, where: Where
    ) -> Iterator[tuple[str, Work, Fault]]:
        length = planned(work.hours, self.percentile)
        who = task.who if isinstance(task, Job) else ()
        named = task.sessions if isinstance(task, Job) else ()
        earliest = task.earliest if isinstance(task, Job) else 0
        chosen = [s for s in self.sessions if not named or s.id in named]
        most = max((_longest(s, work.people, who, earliest) for s in chosen), default=0)
        if most >= length and chosen:
            return
        people = f"{work.people} people" if work.people != 1 else "one person"
        sure = f"{100 * self.percentile:.0f} % sure"
        hours = f"{length / QUARTERS_AN_HOUR:g} h with {people} ({sure})"
        where_in = f"any of {', '.join(named)}" if named else "any session"
        late = f" after {self._day(earliest)}" if earliest else ""
        fault = where.fault(
            f"{task.title} ({task.id}) takes {hours}",
            f"no more than {where_in} has{late}: {most / QUARTERS_AN_HOUR:g} h",
            OWNERS if where.file.startswith("work library") else "",
        )
        yield task.title, work, fault

    def _day(self, quarter: int) -> str:
        return f"{self.times.zero + QUARTER * quarter:%Y-%m-%d}"

    def bookings(self) -> Iterator[Fault]:
        """Bookings that overlap: several jobs for one session that cannot all be in it."""
        for session in self.sessions:
            booked = [j for j in self.jobs.values() if j.sessions == (session.id,)]
            apart = [j for j in booked if j.kind in ("outside", "align", "test")]
            length = sum(planned(j.work.hours, self.percentile) for j in apart)
            if len(apart) > 1 and length > session.end - session.start:
                names = ", ".join(j.id for j in apart)
                yield self.job_at(apart[1].id, "booked").fault(
                    f"{names} overlap: {length / QUARTERS_AN_HOUR:g} h booked in {session.id}",
                    f"no more than its {(session.end - session.start) / QUARTERS_AN_HOUR:g} h",
                )


def most_at_once(session: Session) -> int:
    """How many people are there at the same time, at most."""
    return max(
        (sum(p.start <= one.start < p.end for p in session.people) for one in session.people),
        default=0,
    )


def _longest(session: Session, people: int, who: Collection[str], earliest: int) -> int:
    """Longest stretch, quarters, in which that many people are there at the same time."""
    start = max(session.start, earliest)
    if people == 0:
        return max(0, session.end - start)
    there = [p for p in session.people if not who or len(who) < people or p.name in who]
    if who and len(who) < people:
        named = [p for p in session.people if p.name in who]
        there = list(session.people) if named else []
    ends = sorted({p.end for p in there})
    starts = sorted({max(p.start, start) for p in there})
    return max(
        (
            end - begin
            for begin in starts for end in ends
            if end > begin
            and sum(p.start <= begin and p.end >= end for p in there) >= people
        ),
        default=0,
    )  # fmt: skip
