"""The quote as its reader sees it."""

from __future__ import annotations

from dataclasses import dataclass

from drybuild.show.cards_words import amount_text, money_text
from drybuild.show.lines import width, wrapped
from drybuild.work.risk import Quote, QuoteLine, Unpriced

TITLES = {
    "labour": "Labour", "contingency": "Contingency", "parts": "Parts",
    "renewables": "Renewables", "outside": "Outside work", "rounding": "Rounding",
}  # fmt: skip
UNPRICED = "Without a price, and not in the total"
SURE = (
    "The contingency is what lies between the middle and what {chance} in 100 such jobs stay "
    "within. Prices are as stated and carry no doubt here."
)


def quote_text(quote: Quote) -> str:
    """The quote, line by line, what it lacks and what it leaves out."""
    lines = [f"Quote · {sure_text(quote)}"]
    for group in groups(quote):
        lines += ["", _row(group.title, group.amount)]
        lines += [_row(f"  {said}", amount) for said, amount in group.lines]
    lines += ["", _row(total_title(quote), money_text(quote.total, quote.currency))]
    if quote.unpriced:
        lines += ["", UNPRICED]
        for said in unpriced_lines(quote):
            lines += wrapped(f"  {said}", 4)
    lines += ["", "Left out"]
    for words in quote.left_out:
        lines += wrapped(f"  {words}", 4)
    return "\n".join([*lines, "", *wrapped(contingency_text(quote), 0)])


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


def sure_text(quote: Quote) -> str:
    """``88 person-hours: 80 in 100 such jobs take no longer, half no longer than 81``."""
    chance = round(quote.confidence * 100)
    return (
        f"{quote.hours:g} person-hours: {chance} in 100 such jobs take no longer, half no longer "
        f"than {quote.median:g}"
    )


def total_title(quote: Quote) -> str:
    """What the total is of."""
    return "Total" if quote.whole else "Total of what has a price"


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
