"""The kept plan with the work that it was made for, and how far it has come since.

What a plan speaks of is read from the journal as it was when the plan was made, so that its cards
keep their numbers while the work goes on; what was written down since is held against its steps.
"""

from __future__ import annotations

import hashlib
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace

from drybuild.examine import OpenBuild
from drybuild.journal import Entry, Journal, WorkEntry, present
from drybuild.journal.chain import printed
from drybuild.journal.earlier import Earlier
from drybuild.journal.entries import TASK_WORDS
from drybuild.work import plan_file
from drybuild.work.at_hand import AtHand, at_hand, planned_from
from drybuild.work.errors import WorkFaults
from drybuild.work.model import Plan, Step
from drybuild.work.numbering import Numbers, stays
from drybuild.work.plan_file import QUIET, Kept, PlanProblem

HAPPENED = "that happened since"
"""Ends what is said of happenings, which are counted here and named where they are shown."""

TAKEN_BACK = "entries that it was made from were taken back or corrected"
"""Which tasks of them were taken back is named where it is shown."""


@dataclass(frozen=True)
class AsPlanned:
    """A kept plan. hand: the build as it was when the plan was made. upto: entries that the plan
    knows of. mark: of the plan's file, to tell it from a later one."""

    hand: AtHand
    kept: Kept
    upto: int
    mark: str

    @property
    def plan(self) -> Plan:
        """The plan itself."""
        return self.kept.plan


@dataclass(frozen=True)
class SoFar:
    """How far a plan has come. done: its steps that are written down, each with its entry.

    stopped: by ``Step.key``, tasks that were begun and not finished. changed: in words, what the
    plan does not know of. back: as ``taken_back`` has it.
    """

    done: Mapping[Step, WorkEntry] = field(default_factory=dict)
    stopped: Mapping[str, WorkEntry] = field(default_factory=dict)
    changed: tuple[str, ...] = ()
    back: tuple[WorkEntry, ...] = ()

    @property
    def last(self) -> tuple[Step, WorkEntry] | None:
        """The step that was written down last."""
        found = sorted(self.done.items(), key=lambda pair: pair[1].id)
        return found[-1] if found else None


def mark_of(opened: OpenBuild) -> str:
    """A mark of the plan's file; empty where there is none."""
    try:
        return hashlib.sha256((opened.build.root / plan_file.NAME).read_bytes()).hexdigest()[:12]
    except OSError:
        return ""


def as_planned(opened: OpenBuild, name: str = plan_file.NAME) -> AsPlanned | None:
    """The kept plan, or None where there is none. name: the file that holds it.

    Raises PlanProblem when it cannot be read or does not suit the build any more, WorkFaults.
    """
    mark = mark_of(opened)
    made = plan_file.made(opened, name)
    if made is None:
        return None
    then = _as_it_was(opened, made.entries)
    moments = [m for m in (planned_from(then, made.made), made.begins) if m is not None]
    hand = at_hand(then, as_of=min(moments) if moments else None)
    kept = plan_file.read(then, hand.todo.problem, name)
    if kept is None:
        return None
    unknown = plan_file.unknown(hand.todo.problem, kept.plan)
    if unknown:
        raise PlanProblem(f"the plan does not suit the build any more ({unknown[0]})")
    return AsPlanned(hand, kept, len(then.journal.entries()), mark)


def so_far(planned: AsPlanned, opened: OpenBuild) -> SoFar:
    """What was written down since the plan was made."""
    entries = opened.journal.entries()
    since = [e for e in opened.journal.standing() if e.id > planned.upto]
    done = steps_done(planned.plan, opened.journal, planned.upto)
    stopped: dict[str, WorkEntry] = {}
    for work in opened.journal.work():
        if work.id > planned.upto and work.of_task:
            stopped.pop(work.task, None)
            stopped |= {work.task: work} if work.what == "stopped" else {}
    back = taken_back(opened.journal, planned.upto)
    return SoFar(done, stopped, tuple(_changed(planned, opened, entries, since)), back)


def taken_back(journal: Journal, upto: int) -> tuple[WorkEntry, ...]:
    """Tasks that a plan counts as done, and that were taken back since: none of its cards has them.
    upto: entries that the plan knows of."""
    stands = {entry.id for entry in journal.work()}
    then = Earlier(journal, upto).work()
    return tuple(e for e in then if e.what == "done" and e.id not in stands)


def taken_back_now(opened: OpenBuild) -> tuple[WorkEntry, ...]:
    """The same of the kept plan; none where there is no plan. Raises PlanProblem."""
    made = plan_file.made(opened)
    return taken_back(opened.journal, made.entries) if made is not None else ()


def former_holds(opened: OpenBuild) -> bool:
    """Whether work was taken back that the kept plan counts as done, that plan is the rest of the
    one before, and all that is written down is of that one: then it can be taken again."""
    if not plan_file.is_rest(opened) or not taken_back_now(opened):
        return False
    try:
        planned = as_planned(opened, plan_file.FORMER)
    except (PlanProblem, WorkFaults):
        return False
    return planned is not None and not so_far(planned, opened).changed


def happened_since(planned: AsPlanned, opened: OpenBuild) -> tuple[WorkEntry, ...]:
    """What happened to the work that the plan does not know of, oldest first."""
    return tuple(
        e for e in opened.journal.work() if e.id > planned.upto and not e.of_task
    )  # fmt: skip


def steps_done(plan: Plan, journal: Journal, upto: int) -> dict[Step, WorkEntry]:
    """Steps of a plan that a journal says are done, from the entries after ``upto``.

    A task that the plan has twice is done as often as it is written down, the first turn first.
    """
    waiting: dict[str, list[Step]] = {}
    for step in plan.steps:
        waiting.setdefault(step.key, []).append(step)
    found: dict[Step, WorkEntry] = {}
    for entry in journal.work():
        turns = waiting.get(entry.task, [])
        if entry.id > upto and entry.what == "done" and turns:
            found[turns.pop(0)] = entry
    return found


def steps_left(plan: Plan, opened: OpenBuild) -> tuple[Step, ...]:
    """Steps of the kept plan that are not done, in the plan or beside it."""
    made = plan_file.made(opened)
    done = steps_done(plan, opened.journal, made.entries if made is not None else 0)
    return tuple(
        step for step in plan.steps
        if step not in done and not (step.kind == "job" and step.what in opened.present.done)
    )  # fmt: skip


def staying(opened: OpenBuild, kept: Kept | None) -> Numbers:
    """Numbers that cards keep in a plan that takes the place of the kept one: none before anything
    of it is done, for then all is printed anew.

    They are cut by the work that it was made for: what is done by now may be in no other's way.
    """
    if kept is None:
        return {}
    begun = kept.numbers or len(steps_left(kept.plan, opened)) < len(kept.plan.steps)
    try:
        planned = as_planned(opened) if begun else None
    except PlanProblem:  # a folder that the plan no longer suits: its cards are printed anew
        planned = None
    if planned is None:
        return {}
    return stays(planned.hand.todo.problem, kept.plan, kept.numbers)


def comes_first(plan: Plan, step: Step, done: Iterable[Step]) -> Step | None:
    """What must be written down before a step: an earlier turn of it that is not done, or for
    what is put back its coming off, and the other way round."""
    made = set(done)
    return next(
        (s for s in plan.steps if s not in made and s.end <= step.start and _same(s, step)), None
    )


def _same(one: Step, other: Step) -> bool:
    pair = {one.kind, other.kind} <= {"take", "refit"}
    return one.key == other.key or (pair and one.what == other.what)


def _as_it_was(opened: OpenBuild, entries: int) -> OpenBuild:
    """The build with the journal as it was when it had so many entries."""
    journal = Earlier(opened.journal, entries)
    return replace(opened, journal=journal, present=present(opened.build, journal))


def _changed(
    planned: AsPlanned, opened: OpenBuild, entries: tuple[Entry, ...], since: list[Entry]
) -> Iterable[str]:
    rests_on = planned.kept.rests_on
    if opened.build.inputs_hash != rests_on.files:
        yield "the build's files have changed since it was made"
    if not _holds(opened.journal, rests_on.journal):
        yield "it was made from another journal than the one that is here"
    about = [int(e.body["entry"]) for e in entries if e.id > planned.upto and "entry" in e.body]
    if any(0 < number <= planned.upto for number in about):
        yield TAKEN_BACK
    yield from _foreign(planned, since)


def _holds(journal: Journal, head: str) -> bool:
    return printed(head) is None or journal.holds(head)


def _foreign(planned: AsPlanned, since: list[Entry]) -> Iterable[str]:
    """What was written since that is not the plan's own work going on."""
    tasks = Counter(step.key for step in planned.plan.steps)
    jobs = {step.what for step in planned.plan.steps if step.kind == "job"}
    readings = happened = other = 0
    by_hand: set[str] = set()
    ticked: set[str] = set()
    for entry in since:
        if entry.kind == "reading":
            readings += 1
        elif entry.kind == "work" and entry.body.get("what") not in TASK_WORDS:
            happened += 1
        elif entry.kind == "work" and entry.body.get("what") == "done":
            tasks[entry.body["task"]] -= 1
            ticked.add(entry.body["task"])
            other += tasks[entry.body["task"]] < 0
        elif entry.kind == "work":
            happened += entry.body.get("what") == "stopped"
        elif entry.kind == "deed":
            other += not _of_the_plan(entry, jobs)
            by_hand |= {str(entry.body.get("job"))} & jobs
        elif entry.kind not in QUIET:
            other += 1
    own = [job for job in by_hand if f"job:{job}" not in ticked]
    for count, words in (
        (len(own), "of its jobs done since, beside the plan"),
        (readings, "reading{s} taken since"),
        (happened, f"thing{{s}} {HAPPENED}"),
        (other, "deed{s} since that it does not know of"),
    ):
        if count:
            yield f"{count} {words.format(s='' if count == 1 else 's')}"


def _of_the_plan(entry: Entry, jobs: set[str]) -> bool:
    kinds = {change["kind"] for change in entry.body["changes"]}
    return entry.body.get("job") in jobs or kinds <= {"open", "close", "verify"}
