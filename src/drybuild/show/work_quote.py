"""The quote as its reader sees it."""

from __future__ import annotations

from dataclasses import dataclass

from drybuild.show.cards_words import amount_text, money_text
from drybuild.show.hours import person_hours
from drybuild.show.lines import width, wrapped
from drybuild.show.work_outlook import chance_text, named
from drybuild.work.model import ToDo
from drybuild.work.risk import Outlook, Quote, QuoteLine, Unpriced

TITLES = {
    "labour": "Labour", "contingency": "Contingency", "parts": "Parts",
    "renewables": "Renewables", "outside": "Outside work", "rounding": "Rounding",
}  # fmt: skip
NO_PRICE = (
    "No price is stated yet, so there is no total: a part's stands beside it in its file or on its "
    "page among the parts (price), that of an hour in build.toml under [work] (labour_rate)."
)
UNPRICED = "Without a price, and not in the total"
SURE = (
    "The contingency is what lies between the middle and what {chance} in 100 such jobs stay "
    "within. Prices are as stated and carry no doubt here."
)


def quote_text(quote: Quote, outlook: Outlook, todo: ToDo) -> str:
    """The quote, line by line, what it lacks and what it leaves out."""
    lines = wrapped(f"Quote · {sure_text(quote, outlook)}", 2)
    lines += wrapped(weakest_text(todo, outlook), 2)
    for group in groups(quote):
        lines += ["", _row(group.title, group.amount)]
        lines += [_row(f"  {said}", amount) for said, amount in group.lines]
    if quote.lines:
        lines += ["", _row(total_title(quote), money_text(quote.total, quote.currency))]
    else:
        lines += ["", *wrapped(NO_PRICE, 0)]
    if quote.unpriced:
        lines += ["", unpriced_title(quote)]
        for said in unpriced_lines(quote):
            lines += wrapped(f"  {said}", 4)
    lines += ["", "Left out"]
    for words in quote.left_out:
        lines += wrapped(f"  {words}", 4)
    closing = ["", *wrapped(contingency_text(quote), 0)] if quote.lines else []
    return "\n".join([*lines, *closing])


@dataclass(frozen=True, slots=True)
class Group:
    """Lines of one kind with what they come to. lines: empty where there is only one amount."""

    title: str
    amount: str
    lines: tuple[tuple[str, str], ...]


def groups(quote: Quote) -> tuple[Group, ...]:
    """The quote by kind, in the order in which it is read."""
    found = []
    for kind, title in TITLES.items():
        mine = [line for line in quote.lines if line.kind == kind]
        if mine:
            several = len(mine) > 1 or mine[0].each is not None
            lines = tuple((line_text(q, quote.currency), _money(q)) for q in mine if several)
            amount = money_text(quote.amount(mine[0].kind), quote.currency)
            found.append(Group(title, amount, lines))
    return tuple(found)


def sure_text(quote: Quote, outlook: Outlook) -> str:
    """The hours of the plan first, as every other page has them; then how far they may go."""
    chance = round(quote.confidence * 100)
    return (
        f"{person_hours(outlook.planned)} as planned; {chance} in 100 such jobs take no longer "
        f"than {quote.hours:g}, half no longer than {quote.median:g}"
    )


def weakest_text(todo: ToDo, outlook: Outlook) -> str:
    """How often all of it is done in these work sessions, and what is left undone most often."""
    said = f"all of it done within these work sessions: {chance_text(outlook.finished)}"
    most = max(outlook.left, key=lambda left: left.chance, default=None)
    if most is None:
        return said
    what = named(todo, most.what, most.title)
    return f"{said}; left undone most often: {what}, {chance_text(most.chance)}"


def total_title(quote: Quote) -> str:
    """What the total is of."""
    return "Total" if quote.whole else "Total of what has a price"


def unpriced_title(quote: Quote) -> str:
    """What the list of what has no price is called."""
    return UNPRICED if quote.lines else "Without a price"


def unpriced_lines(quote: Quote) -> list[str]:
    """What has no price, kind by kind."""
    found = []
    for kind, title in TITLES.items():
        named = [unpriced_text(lacking) for lacking in quote.unpriced if lacking.kind == kind]
        if named:
            found.append(f"{title}: {'; '.join(named)}")
    return found


def contingency_text(quote: Quote) -> str:
    """What the contingency is."""
    return SURE.format(chance=round(quote.confidence * 100))


def _money(line: QuoteLine) -> str:
    return f"{line.amount:,.2f}".replace(",", " ")


def _row(left: str, right: str) -> str:
    """Words to the left, an amount to the right."""
    most = min(width(), 88)
    room = most - len(right) - 2
    said = left if len(left) <= room else f"{left[: room - 1]}…"
    return f"{said:<{room}}  {right}"


def line_text(line: QuoteLine, currency: str) -> str:
    """A line without its amount: what, how much of it, at how much each."""
    if line.unit == "h" and line.each is not None:
        return f"{line.title}: {line.quantity:g} h at {money_text(line.each, currency)}"
    if line.kind == "renewables" and line.each is not None:
        said = amount_text(line.quantity, line.unit, line.title)
        return f"{said} at {money_text(line.each, currency)}"
    return line.title


def unpriced_text(lacking: Unpriced) -> str:
    """Something without a price."""
    if lacking.kind == "renewables":
        return amount_text(lacking.quantity, lacking.unit, lacking.title)
    return "no rate is stated" if lacking.kind == "labour" else lacking.title
