"""What the work is quoted at: hours at a chosen confidence, and everything else that has a price.

Amounts are rounded line by line to the smallest coin of the currency, halves upwards, and the total
is the sum of the rounded lines. What has no price is listed and not counted as nothing.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_HALF_UP, Decimal
from typing import Literal

from drybuild.work.model import Job, Plan, Problem, Renewable, Step, ToDo
from drybuild.work.openings import title_of
from drybuild.work.poured import poured
from drybuild.work.risk.outlook import Outlook
from drybuild.work.used_up import used_up

LineKind = Literal["labour", "contingency", "parts", "renewables", "outside", "rounding"]

DECIMALS = {
    **dict.fromkeys(
        ("BIF", "CLP", "DJF", "GNF", "ISK", "JPY", "KMF", "KRW", "PYG", "RWF", "UGX", "VND",
         "VUV", "XAF", "XOF", "XPF"), 0,
    ),
    **dict.fromkeys(("BHD", "IQD", "JOD", "KWD", "LYD", "OMR", "TND"), 3),
}  # fmt: skip
"""Decimals of the smallest coin where they are not 2: ISO 4217, list one, *from memory*."""

LEFT_OUT = (
    "taxes and duties",
    "time in which people wait for each other or for parts",
    "what is found to be worn or broken beyond what the hours allow for",
)


@dataclass(frozen=True, slots=True)
class QuoteLine:
    """quantity of unit (``h``, ``""`` for pieces, L …) at so much each; None where it is a sum."""

    kind: LineKind
    title: str
    quantity: float
    unit: str
    each: float | None
    amount: float


@dataclass(frozen=True, slots=True)
class Unpriced:
    """Something that belongs to the work and has no price. what: id of its job, or its name."""

    kind: Literal["labour", "parts", "renewables", "outside"]
    what: str
    title: str
    quantity: float = 1.0
    unit: str = ""


@dataclass(frozen=True)
class Quote:
    """What the work costs, at most with the chance ``confidence`` as far as hours go.

    median, hours: person-hours in the middle and at the confidence, to the hour (below ten hours to
    a tenth); the contingency is what lies between them. rate: per person-hour, None where nobody
    said. total: the sum of all lines. left_out: what it never includes.
    """

    currency: str
    confidence: float
    median: float
    hours: float
    rate: float | None
    lines: tuple[QuoteLine, ...]
    total: float
    unpriced: tuple[Unpriced, ...]
    left_out: tuple[str, ...] = LEFT_OUT

    @property
    def whole(self) -> bool:
        """Whether nothing lacks its price."""
        return not self.unpriced

    def amount(self, kind: LineKind) -> float:
        """What all lines of one kind come to."""
        return float(sum(Decimal(str(x.amount)) for x in self.lines if x.kind == kind))


def quote(
    todo: ToDo, plan: Plan, outlook: Outlook, *, confidence: float = 0.8,
    round_to: float | None = None,
) -> Quote:  # fmt: skip
    """The quote for the steps of a plan.

    confidence: 0.5 to 0.995. round_to: round the total up to a whole multiple of this, in the
    currency, on a line of its own. Raises ValueError outside the ranges.
    """
    if not 0.5 <= confidence <= 0.995:
        raise ValueError(f"a quote's confidence is 0.5 to 0.995; found {confidence:g}")
    if round_to is not None and not round_to > 0.0:
        raise ValueError(f"a total is rounded to a multiple above 0; found {round_to:g}")
    money = _Money(todo.currency)
    median, hours = _asked_for(outlook.hours.p50), _asked_for(outlook.hours.at(confidence))
    lines: list[QuoteLine] = []
    missing: list[Unpriced] = []
    if todo.labour_rate is None:
        missing.append(Unpriced("labour", "labour", "an hour of labour", hours, "h"))
    else:
        rate = todo.labour_rate
        lines.append(money.line("labour", "labour, the middle of what it may take", median, rate))
        lines.append(
            money.line("contingency", "hours that may come on top", round(hours - median, 1), rate)
        )
    found = [line for step in plan.steps for line in _job(todo, step, money)]
    found += _renewables(todo, plan, money)
    lines += [line for line in found if isinstance(line, QuoteLine)]
    missing += [line for line in found if isinstance(line, Unpriced)]
    if round_to is not None:
        lines += money.rounding(lines, round_to)
    lines.sort(key=lambda line: _ORDER.index(line.kind))
    return Quote(
        todo.currency, confidence, median, hours, todo.labour_rate, tuple(lines),
        float(money.sum(lines)), tuple(missing),
    )  # fmt: skip


def _asked_for(hours: float) -> float:
    """Hours as a quote asks for them: no finer than anybody knows them."""
    return round(hours, 0 if hours >= 10 else 1)


_ORDER = ("labour", "contingency", "parts", "renewables", "outside", "rounding")


class _Money:
    """Amounts in one currency, exact to its smallest coin."""

    def __init__(self, currency: str) -> None:
        self.coin = Decimal(1).scaleb(-DECIMALS.get(currency.upper(), 2))

    def rounded(self, amount: Decimal) -> Decimal:
        return amount.quantize(self.coin, ROUND_HALF_UP)

    def line(
        self, kind: LineKind, title: str, quantity: float, each: float, unit: str = "h"
    ) -> QuoteLine:
        amount = self.rounded(Decimal(repr(quantity)) * Decimal(repr(each)))
        return QuoteLine(kind, title, quantity, unit, each, float(amount))

    def sum(self, lines: list[QuoteLine]) -> Decimal:
        return sum((Decimal(repr(line.amount)) for line in lines), Decimal(0))

    def rounding(self, lines: list[QuoteLine], to: float) -> list[QuoteLine]:
        total, step = self.sum(lines), Decimal(repr(to))
        up = (total / step).to_integral_value(ROUND_CEILING) * step - total
        more = float(self.rounded(up))
        return [QuoteLine("rounding", f"rounded up to {to:g}", 1.0, "", None, more)] if more else []


def _job_of(problem: Problem, step: Step) -> Job | None:
    if step.kind == "job":
        return problem.jobs[step.what]
    return problem.effects[step.what].clearing if step.kind == "clear" else None


def _job(todo: ToDo, step: Step, money: _Money) -> Iterator[QuoteLine | Unpriced]:
    """Parts, or outside work, of one step."""
    job = _job_of(todo.problem, step)
    if job is None:
        return
    title = title_of(todo.problem, step)
    kind: Literal["parts", "outside"] = "outside" if job.kind == "outside" else "parts"
    if job.price:
        yield money.line(kind, title, 1.0, job.price, "")
    lacking = todo.unpriced.get(job.id, ())
    for name in lacking:
        yield Unpriced(kind, job.id, f"{name} ({title})")
    if job.price or lacking:
        return
    if kind == "outside":
        yield Unpriced(kind, job.id, title)
    for part in todo.parts.get(job.id, ()):
        yield Unpriced("parts", job.id, f"{part} ({title})")


def _renewables(todo: ToDo, plan: Plan, money: _Money) -> Iterator[QuoteLine | Unpriced]:
    """Everything that is used up, over all steps, each name once; a fluid that is a part of the
    build is paid for as that."""
    counts: dict[Renewable, float] = {}
    parts, used = poured(todo, plan), used_up(todo, plan)
    for step in plan.steps:
        for renewable in used[step]:
            same = Renewable(renewable.name, 1.0, renewable.unit, renewable.price)
            if renewable.name not in parts:
                counts[same] = counts.get(same, 0.0) + renewable.quantity
    for one, quantity in sorted(counts.items(), key=lambda pair: pair[0].name):
        count = round(quantity, 6)
        if one.price is None:
            yield Unpriced("renewables", one.name, one.name, count, one.unit)
        else:
            yield money.line("renewables", one.name, count, one.price, one.unit)
