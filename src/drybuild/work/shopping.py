"""What must be in the garage, and by when: parts, renewables, borrowed tools, bookings.

Each line is wanted by the start of the first task that uses it, and to be had the day before.
Prices are those that the build or the library states; what nobody priced is counted, not guessed.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from typing import Literal

from drybuild.build.part_named import for_the_shop, with_kind
from drybuild.examine import OpenBuild
from drybuild.work.after_measuring import before_it_is_paid
from drybuild.work.cards import tools_of
from drybuild.work.evidence import job_of
from drybuild.work.library import tool_words
from drybuild.work.model import Plan, Problem, Step, ToDo, ToMeasure
from drybuild.work.money import with_currency
from drybuild.work.pieces import counted, of_a_corner
from drybuild.work.poured import poured as poured_in
from drybuild.work.todo import OWN_PLACE
from drybuild.work.used_up import used_up


@dataclass(frozen=True, slots=True)
class Lot:
    """So much of it is wanted by then. session: id of the work session that uses it. arrives: when
    it is said to come, if the build says so."""

    by: datetime
    session: str
    quantity: float
    arrives: datetime | None = None

    @property
    def have(self) -> datetime:
        """The day before: work begins before a shop opens."""
        return self.by - timedelta(days=1)

    @property
    def late(self) -> bool:
        """Whether it is said to come after it is wanted."""
        return self.arrives is not None and self.arrives > self.by


@dataclass(frozen=True, slots=True)
class Item:
    """One line of the list.

    unit: ``""`` for pieces. lots: in the order in which they are wanted. price: of all of it, in
    the list's currency, or None where nobody stated one; price_text: as a part's maker states it,
    for one. jobs: that use it. what: id of the part, the job or the tool. after: what is written
    down before it is paid for, of a part.
    """

    kind: Literal["part", "renewable", "tool", "booking"]
    title: str
    unit: str
    lots: tuple[Lot, ...]
    price: float | None = None
    price_text: str = ""
    jobs: tuple[str, ...] = ()
    what: str = ""
    after: ToMeasure | None = None

    @property
    def by(self) -> datetime:
        """When the first of it is wanted."""
        return self.lots[0].by

    @property
    def have(self) -> datetime:
        """By when it is to be in the garage; of a booking, the day itself."""
        return self.by if self.kind == "booking" else self.lots[0].have

    @property
    def quantity(self) -> float:
        """All of it."""
        return round(sum(lot.quantity for lot in self.lots), 6)

    @property
    def arrives(self) -> datetime | None:
        """When the last of it is said to come."""
        return max((lot.arrives for lot in self.lots if lot.arrives is not None), default=None)

    @property
    def late(self) -> bool:
        """Whether any of it is said to come after it is wanted."""
        return any(lot.late for lot in self.lots)


@dataclass(frozen=True, slots=True)
class Shopping:
    """The whole list, what is wanted first at the top.

    known: sum of the prices that are stated, parts and outside work of jobs included; unpriced: how
    many lines have none.
    """

    items: tuple[Item, ...]
    currency: str
    known: float
    unpriced: int

    def of(self, kind: str) -> tuple[Item, ...]:
        """The lines of one kind."""
        return tuple(item for item in self.items if item.kind == kind)


@dataclass
class _Gathered:
    lots: list[Lot] = field(default_factory=list)
    prices: list[float | None] = field(default_factory=list)
    jobs: dict[str, None] = field(default_factory=dict)


def shopping(todo: ToDo, plan: Plan, *, opened: OpenBuild | None = None) -> Shopping:
    """The list for all steps of a plan. opened: the build, for the names of parts."""
    steps = sorted(plan.steps, key=lambda s: s.start)
    parts, renewed = _parts(todo, plan, steps, opened), _renewables(todo, plan, steps)
    poured = _poured(todo, plan, parts, renewed)
    items = [
        *_filled(parts, poured), *(one for one in renewed if one not in poured.values()),
        *_tools(todo.problem, steps), *_bookings(todo.problem, steps),
    ]  # fmt: skip
    items.sort(key=lambda item: (item.by, _KINDS.index(item.kind), item.title))
    jobs = [job for s in steps if (job := job_of(todo.problem, s)) is not None]
    known = sum(job.price for job in jobs)
    known += sum(i.price or 0.0 for i in items if i.kind == "renewable")
    unpriced = sum(not (i.price is not None or i.price_text) for i in items if i.kind != "tool")
    return Shopping(tuple(items), todo.currency, round(known, 2), unpriced)


_KINDS = ("booking", "part", "renewable", "tool")


def _parts(
    todo: ToDo, plan: Plan, steps: Iterable[Step], opened: OpenBuild | None
) -> list[Item]:
    problem, found = todo.problem, []
    for step in steps:
        if step.kind != "job":
            continue
        job = problem.jobs[step.what]
        parts = todo.parts.get(job.id, ())
        planned = {one.id for one in opened.build.jobs} if opened is not None else {job.id}
        if not parts and job.earliest > 0 and job.id not in planned:
            lot = Lot(problem.at(step.start), step.session, 1, problem.at(job.earliest))
            title = f"what it takes: {job.title}"
            found.append(Item("part", title, "", (lot,), None, "", (job.id,), job.id, None))
        for part in parts:
            build = opened.build if opened is not None else None
            known = build.parts.get(part) if build is not None else None
            plain = part.replace("_", " ")
            title, after = plain, None
            if opened is not None and known is not None:
                at = [p for one in opened.build.jobs for p, fits in one.fit.items() if fits == part]
                title = with_kind(for_the_shop(plain, known).in_full, known, at)
                after = before_it_is_paid(plan, opened, at, part)
            arrives = problem.at(job.earliest) if job.earliest > 0 else None
            many = counted(job, part, build)
            price = with_currency(getattr(known, "price", ""), todo.currency)
            if build is not None and of_a_corner(build, part):
                title += ", all of a wheel" if many == counted(job, part) else ""
                price += " for one wheel" if len(price.split()) == 2 else ""
            lot = Lot(problem.at(step.start), step.session, many, arrives)
            alone = job.price if len(parts) == 1 and job.price and job.kind != "outside" else None
            item = Item(
                "part", title, "", (lot,), alone, price, (job.id,), part, after,
            )
            found.append(item)
    return _merged(found)


def _poured(
    todo: ToDo, plan: Plan, parts: Iterable[Item], renewed: Iterable[Item]
) -> dict[str, Item]:
    """Part → the fluid that it is and that work wants beside it: one can serves both."""
    names, listed = poured_in(todo, plan), {part.what for part in parts}
    return {names[one.what]: one for one in renewed if names.get(one.what) in listed}


def _filled(parts: Iterable[Item], poured: Mapping[str, Item]) -> list[Item]:
    """Parts that are poured in, with how much of them is wanted."""
    return [
        part if part.what not in poured else replace(
            part, unit=poured[part.what].unit,
            lots=tuple(replace(lot, quantity=one.quantity) for lot, one in zip(
                part.lots, poured[part.what].lots, strict=True)),
        )
        for part in parts
    ]  # fmt: skip


def _merged(items: Iterable[Item]) -> list[Item]:
    """Parts that several jobs fit, on one line each."""
    found: dict[str, Item] = {}
    for item in items:
        before = found.get(item.what)
        if before is None:
            found[item.what] = item
            continue
        prices = (before.price, item.price)
        found[item.what] = Item(
            item.kind, item.title, item.unit, (*before.lots, *item.lots),
            None if None in prices else sum(p or 0.0 for p in prices), item.price_text,
            (*before.jobs, *item.jobs), item.what, before.after,
        )  # fmt: skip
    return list(found.values())


def _renewables(todo: ToDo, plan: Plan, steps: Iterable[Step]) -> list[Item]:
    found: dict[tuple[str, str], _Gathered] = {}
    used = used_up(todo, plan)
    for step in steps:
        for one in used[step]:
            kept = found.setdefault((one.name, one.unit), _Gathered())
            by = todo.problem.at(step.start)
            kept.lots.append(Lot(by, step.session, one.quantity))
            kept.prices.append(None if one.price is None else one.price * one.quantity)
            kept.jobs[step.key] = None
    return [
        Item(
            "renewable", name, unit, _by_session(kept.lots), _total(kept.prices),
            jobs=tuple(kept.jobs), what=name,
        )
        for (name, unit), kept in found.items()
    ]  # fmt: skip


def _total(prices: list[float | None]) -> float | None:
    """The sum, when every one is known."""
    known = [p for p in prices if p is not None]
    return round(sum(known), 2) if len(known) == len(prices) else None


def _by_session(lots: Iterable[Lot]) -> tuple[Lot, ...]:
    found: dict[str, Lot] = {}
    for lot in lots:
        before = found.get(lot.session)
        quantity = lot.quantity + (before.quantity if before else 0.0)
        by = min(before.by, lot.by) if before else lot.by
        found[lot.session] = Lot(by, lot.session, round(quantity, 6))
    return tuple(found.values())


def _tools(problem: Problem, steps: Iterable[Step]) -> list[Item]:
    """Tools that are not at hand in every session: borrowed or booked for those that use them.

    A session elsewhere has nothing of what is at home; it says nothing of what has to be borrowed.
    """
    home = [s.tools for s in problem.sessions if OWN_PLACE in s.tools]
    each = home or [s.tools for s in problem.sessions]
    always = frozenset.intersection(*each) if each else frozenset()
    found: dict[str, _Gathered] = {}
    for step in steps:
        for tool in tools_of(problem, step):
            if tool not in always:
                kept = found.setdefault(tool, _Gathered())
                kept.jobs[step.key] = None
                if step.session not in {lot.session for lot in kept.lots}:
                    kept.lots.append(Lot(problem.at(step.start), step.session, 1.0))
    return [
        Item("tool", tool_words(tool), "", tuple(k.lots), jobs=tuple(k.jobs), what=tool)
        for tool, k in found.items()
    ]


def _bookings(problem: Problem, steps: Iterable[Step]) -> list[Item]:
    """Outside work, and jobs that may only be in certain sessions."""
    found = []
    for step in steps:
        job = job_of(problem, step)
        if job is not None and (job.kind == "outside" or job.sessions):
            lot = Lot(problem.at(step.start), step.session, 1.0)
            price = job.price or None
            found.append(Item("booking", job.title, "", (lot,), price, jobs=(job.id,), what=job.id))
    return found
