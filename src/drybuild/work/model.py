"""What work is, to the planner: components in the way, jobs, sessions, needs, and a plan of them.

Times: quarters of an hour since ``Problem.zero``; hours: low, likely, high (P10, mode, P90).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Literal

from drybuild.build import Change
from drybuild.examine.uses import anywhere
from drybuild.findings.finding import WaitsFor
from drybuild.work.notes import Notes as Notes
from drybuild.work.notes import Renewable as Renewable
from drybuild.work.papers import LookUp

QUARTERS_AN_HOUR = 4

ConditionKind = Literal["off", "on", "tool", "use", "clear"]
RelaxationKind = Literal[
    "need", "time", "session", "arrival", "booking", "budget", "tool", "job", "fix", "measure"
]
StepKind = Literal["take", "refit", "job", "clear"]
JobKind = Literal[
    "fit", "adjust", "inspect", "flash", "fill", "align", "test", "outside", "record"
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class Hours:
    """Working time of one task, h: 0 ≤ low ≤ likely ≤ high, read as P10, mode and P90.

    A task whose three figures are equal is of fixed length.
    """

    low: float
    likely: float
    high: float

    @property
    def fixed(self) -> bool:
        """Whether nothing is in doubt about it."""
        return self.low == self.high


@dataclass(frozen=True, slots=True)
class Condition:
    """What must hold throughout a task.

    off    the component ``name`` is off
    on     the component ``name`` is fitted
    tool   the work session has ``name`` (lift, press, spring compressor, trailer …)
    use    nothing in the plan stops the use ``name``: no component off and no effect pending that
           stops it, prerequisites of the use followed
    clear  the effect ``name`` is not pending
    """

    kind: ConditionKind
    name: str

    def __str__(self) -> str:
        return f"{self.name} {self.kind}" if self.kind in ("off", "on") else f"{self.name}"


Requirement = tuple[tuple[Condition, ...], ...]
"""Any one of the alternatives, each all of its conditions: lift, or stands and a spanner."""


@dataclass(frozen=True, slots=True)
class Work:
    """One stretch of work. people: held throughout (0: it only waits, as for cooling).

    causes: effects that are pending from then on until they are cleared. wait: hours after it that
    need nobody (cure, cool, drain) before anything that needs it may begin. tools: held while it
    lasts, where ``Problem.tools`` counts them. Where a day has room: engine: cold work before what
    runs it; first: tasks (``Step.key``) over before it; apart: one at a time of the same word.
    not_before: effects that are cleared before it, where they are pending, their waits aside; one
    that is caused later that day is cleared before it too, or the same day at the latest.
    """

    hours: Hours
    people: int = 1
    needs: tuple[Requirement, ...] = ()
    causes: tuple[str, ...] = ()
    tools: tuple[str, ...] = ()
    wait: float = 0.0
    engine: Literal["", "cold", "runs"] = ""
    first: tuple[str, ...] = ()
    apart: tuple[str, ...] = ()
    not_before: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Component:
    """Something that stands in the way and comes off, or is moved aside, or a state of the car.

    A component that may be moved aside has a second one, ``<id>~aside``, for that. The car raised
    on a lift is a component too: ``take`` raises it, ``refit`` lowers it.
    stops: uses that it stops while it is off. region: whose seized fasteners it shares. night: as
    how many other things it counts that is off overnight: an open tank is shut again first.
    """

    id: str
    title: str
    region: str
    take: Work
    refit: Work
    stops: tuple[str, ...] = ()
    night: int = 1


@dataclass(frozen=True, slots=True)
class After:
    """The job ``job`` must have ended ``lag`` hours before this one begins.

    between: km that the car must be driven between the two (re-tightening wheels): then this one
    is in a later work session, and *drive* is allowed in between.
    """

    job: str
    lag: float = 0.0
    between: float = 0.0


@dataclass(frozen=True, slots=True)
class Job:
    """Something to do once. ``work.needs``: what must be open, closed, had or allowed meanwhile.

    fixed: of fixed length and never left out (bleeding, tightening, leak and road checks).
    clears: effects that it clears, when they are pending. changes: what it makes of the car.
    earliest: quarter before which its parts are not there. sessions: the only ones it may be in
    (a booking), or none for any. who: the only people who may do it, or none for any.
    price: of its parts and outside work, spent when it is done, in the build's currency.
    fails: chance, 0 to 1, that a record, test or inspection finds what has to be put right first;
    plans count it as good, the outlook does not. None: what is usual for its kind.
    """

    id: str
    title: str
    kind: JobKind
    region: str
    work: Work
    after: tuple[After, ...] = ()
    clears: tuple[str, ...] = ()
    changes: tuple[Change, ...] = ()
    earliest: int = 0
    sessions: tuple[str, ...] = ()
    who: tuple[str, ...] = ()
    price: float = 0.0
    fixed: bool = False
    fails: float | None = None


@dataclass(frozen=True, slots=True)
class Effect:
    """What work leaves behind: coolant out, fuel pressure off, brakes open, alignment owed.

    It persists from the work that causes it until ``clearing`` is done, as often as it is caused.
    stops: uses that it stops while pending. clearing: the job that clears it (its ``id`` is
    ``clear:<effect id>``), or None for one that passes by itself after ``lasting`` hours. owed:
    whether the work is not finished before it is cleared. between: km that must be driven between
    the work that causes it and its clearing (wheels re-tightened after 50 to 100 km).
    """

    id: str
    title: str
    stops: tuple[str, ...] = ()
    clearing: Job | None = None
    lasting: float = 0.0
    owed: bool = True
    between: float = 0.0


@dataclass(frozen=True, slots=True)
class Presence:
    """A person who is there from ``start`` to ``end`` (quarters)."""

    name: str
    start: int
    end: int


@dataclass(frozen=True, slots=True)
class Session:
    """A stretch of time in which people work on the car; tools: what is at hand in it."""

    id: str
    title: str
    start: int
    end: int
    people: tuple[Presence, ...]
    tools: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class Need:
    """A use that the car must be allowed from the end of a session to the start of the next.

    until: the quarter by which what passes by itself must have passed (Monday, 7:00).
    rank: the owner's order: what is waived first has the lowest. also: later quarters at which the
    use is wanted, before the next session: the car stands the same then.
    """

    use: str
    session: str
    until: int
    rank: int = 0
    also: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Budget:
    """Not more than ``most`` may be spent in all sessions up to the last of ``sessions``."""

    title: str
    sessions: tuple[str, ...]
    most: float


@dataclass(frozen=True, slots=True)
class Clause:
    """What an examination taught: ``use`` is stopped when these jobs are done and those are not.

    why: in words, from the finding; check, subject: which one. waits_for: as ``Finding.waits_for``
    has it: what would settle it before anything is cured; it tells no clause from another.
    """

    use: str
    done: frozenset[str]
    not_done: frozenset[str]
    why: str
    check: str = ""
    subject: str = ""
    waits_for: WaitsFor = field(default="", compare=False)

    @property
    def anywhere(self) -> str:
        """Why, whichever place it is of."""
        return anywhere(self.why, self.subject)


@dataclass(frozen=True)
class Problem:
    """Everything a plan depends on.

    zero: midnight before the first session. prerequisites: use → every use that it needs, itself
    included. tools: how many there are of those that only one task at a time can hold. off,
    pending, done: the present state. percentile: at which sessions are filled. first: the
    objectives in the owner's order.
    """

    zero: datetime
    components: Mapping[str, Component]
    effects: Mapping[str, Effect]
    jobs: Mapping[str, Job]
    sessions: tuple[Session, ...]
    needs: tuple[Need, ...] = ()
    prerequisites: Mapping[str, frozenset[str]] = field(default_factory=dict)
    tools: Mapping[str, int] = field(default_factory=dict)
    budgets: tuple[Budget, ...] = ()
    clauses: tuple[Clause, ...] = ()
    off: frozenset[str] = frozenset()
    pending: frozenset[str] = frozenset()
    done: frozenset[str] = frozenset()
    percentile: float = 0.8
    first: tuple[Literal["hours", "finish"], ...] = ("hours", "finish")

    def at(self, quarter: int) -> datetime:
        """The moment of a quarter."""
        return self.zero + timedelta(minutes=15 * quarter)

    def session(self, name: str) -> Session:
        """A session by its id. Raises KeyError."""
        for session in self.sessions:
            if session.id == name:
                return session
        raise KeyError(f"no work session {name!r}")

    def stopping(self, use: str) -> frozenset[str]:
        """Uses whose being stopped stops this one: itself and its prerequisites."""
        return self.prerequisites.get(use, frozenset({use}))


@dataclass(frozen=True, slots=True)
class Step:
    """One task of a plan. what: id of the component, job or effect; ways: the alternative that was
    chosen for each requirement with more than one. who: one name a person that it holds."""

    kind: StepKind
    what: str
    session: str
    start: int
    end: int
    who: tuple[str, ...] = ()
    ways: tuple[tuple[Condition, ...], ...] = ()

    @property
    def key(self) -> str:
        """What its notes are kept under: ``take:turbo``, ``refit:turbo``, ``job:springs``."""
        return f"{self.kind}:{self.what}"


@dataclass(frozen=True, slots=True)
class Supposed:
    """A check that a plan takes to turn out well, for it stops a use only by what is not known yet.

    subjects: the places it speaks of; uses: that it stops; why: in words; do: what makes it known;
    waits_for: as ``Finding.waits_for``; chance: that it is enough as guessed, the least of its
    places, or None where nothing can be computed; before: the moment, in ISO, at which the plan
    first counts on it.
    """

    check: str
    title: str
    subjects: tuple[str, ...]
    uses: tuple[str, ...]
    why: str
    do: str
    waits_for: WaitsFor
    chance: float | None
    before: str


@dataclass(frozen=True, slots=True)
class ToMeasure:
    """A measurement that bears on what a plan supposes.

    input: address of what is measured, on both sides where ``both_sides`` says so; note_as: the one
    under which it is noted. minutes: for all of it. bears_on: how many of the supposed checks.
    part: name of the part in hand that it is of, where it has one.
    """

    input: str
    note_as: str
    tool: str
    how: str
    minutes: int
    both_sides: bool
    bears_on: int
    part: str = ""


@dataclass(frozen=True, slots=True)
class SessionEnd:
    """How the car stands when a session is over. done: all jobs done by then."""

    session: str
    off: frozenset[str]
    pending: frozenset[str]
    done: frozenset[str]


@dataclass(frozen=True, slots=True)
class Aim:
    """One objective: what the plan reaches and what no plan can go below.

    unit: ``h`` or ``session`` (the number, from 1, of the last session that is used). near: the
    bound is of plans that move no more jobs away from where an earlier plan had them.
    """

    name: Literal["hours", "finish"]
    value: float
    bound: float
    unit: str
    near: bool = False

    @property
    def gap(self) -> float:
        """Share by which the value may still be above the best there is."""
        return 0.0 if self.value <= self.bound else (self.value - self.bound) / self.value

    @property
    def proven(self) -> bool:
        """Whether nothing better exists."""
        return self.value <= self.bound + 1e-9


@dataclass(frozen=True, slots=True)
class Plan:
    """Who does what, when, and how the car stands after each session. steps: in order of start.

    hours are person-hours at the problem's percentile. clauses: those learned from examinations,
    which the bounds include. seconds: how long the planning took. seed: of the search.
    supposed: what it takes to turn out well though nobody knows yet, measure: what to measure for
    that, the best first; no chance of a day covers it.
    """

    steps: tuple[Step, ...]
    ends: tuple[SessionEnd, ...]
    aims: tuple[Aim, ...]
    clauses: tuple[Clause, ...] = ()
    seconds: float = 0.0
    seed: int = 0
    supposed: tuple[Supposed, ...] = ()
    measure: tuple[ToMeasure, ...] = ()

    def aim(self, name: str) -> Aim:
        """One objective by name. Raises KeyError."""
        for aim in self.aims:
            if aim.name == name:
                return aim
        raise KeyError(f"no aim {name!r}")

    def of(self, session: str) -> tuple[Step, ...]:
        """The steps of one session, in order of start."""
        return tuple(step for step in self.steps if step.session == session)


@dataclass(frozen=True, slots=True)
class Relaxation:
    """Something that, given up or given, makes a plan possible. words: what the owner would do.

    kind ``measure``: it may be that only measuring it does. at_least: more may be wanted, for no
    plan was laid out with it in the time there was. why: what stands against the plan without it.
    """

    kind: RelaxationKind
    what: str
    words: str
    at_least: bool = False
    why: str = ""


@dataclass(frozen=True, slots=True)
class NoPlan:
    """No plan meets every need. relax: in the owner's order, the smallest sets that would.

    open: nothing says that there is none; the search ran out of time. measure: what to measure of
    that which stops a use only by what nobody knows yet, the best first. still: what would stop a
    needed use with all of it done and known, and was not learned on the way. look_up: before any of
    it is cured, for there the doubt is mostly one guess. cured: relax is what it wants beside what
    no order of the jobs gets round.
    """

    why: tuple[str, ...]
    relax: tuple[Relaxation, ...]
    clauses: tuple[Clause, ...] = ()
    seconds: float = 0.0
    open: bool = False
    measure: tuple[ToMeasure, ...] = ()
    still: tuple[Clause, ...] = ()
    look_up: tuple[LookUp, ...] = ()
    cured: bool = False


@dataclass(frozen=True, slots=True)
class WearItem:
    """Something that wears out and that an opened car lays bare: a belt, a bearing, a hose.

    job: what renewing it takes: hours, what must be off, the price of the part (0: not known).
    km, years: characteristic life by distance and by age (63 % have failed by then, the two apart
    from each other), or None where that clock does not wear it. shape: of the Weibull life, 1 for
    failures by chance, 3 to 5 for wear. life_doubt: factor, 1 or more, by which the lives may be
    off either way. renewed_km, renewed_years: of the car when it was last renewed, 0 when never.
    damage: what its failing costs besides renewing it, in the build's currency. done_by: ids of
    jobs that renew it anyway. source: whence the life, ``common practice`` for trade judgement.
    """

    id: str
    title: str
    job: Job
    km: float | None = None
    years: float | None = None
    shape: float = 3.0
    life_doubt: float = 1.4
    renewed_km: float = 0.0
    renewed_years: float = 0.0
    damage: float = 0.0
    renew: tuple[Renewable, ...] = ()
    done_by: tuple[str, ...] = ()
    source: str = "common practice"


@dataclass(frozen=True)
class ToDo:
    """The work of a build: the planner's problem, and the words that go with its tasks.

    notes: by ``Step.key``. currency: of every price. parts: job id → part ids that it fits.
    age: of the car, years, or None. labour_rate: per person-hour, or None. wear: what might be
    renewed while the car is open, by id. odometer: km, or None. yearly: km that it is driven a
    year, or None. unpriced: job id → what belongs to it and has no price, so that the job's price
    is not all of it. finished: ``Step.key`` of tasks that the journal speaks of → their work and
    region as stated, also where the problem no longer holds them.
    """

    problem: Problem
    notes: Mapping[str, Notes]
    parts: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    currency: str = ""
    age: float | None = None
    labour_rate: float | None = None
    wear: Mapping[str, WearItem] = field(default_factory=dict)
    odometer: float | None = None
    yearly: float | None = None
    unpriced: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    finished: Mapping[str, tuple[Work, str]] = field(default_factory=dict)
