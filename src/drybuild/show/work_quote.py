"""The quote as its reader sees it."""

from __future__ import annotations

from drybuild.show.cards_words import amount_text, money_text
from drybuild.show.lines import width, wrapped
from drybuild.show.work_outlook import two
from drybuild.work.risk import Quote, QuoteLine, Unpriced

TITLES = {
    "labour": "Labour", "contingency": "Contingency", "parts": "Parts",
    "renewables": "Renewables", "outside": "Outside work", "rounding": "Rounding",
}  # fmt: skip
SURE = (
    "The contingency is what lies between the middle and what {chance} of 100 such jobs stay "
    "within. Prices are as stated and carry no doubt here."
)


def quote_text(quote: Quote) -> str:
    """The quote, line by line, what it lacks and what it leaves out."""
    lines = [
        f"Quote · {two(quote.hours)} person-hours, enough in {round(quote.confidence * 100)} of "
        f"100; {two(quote.median)} in the middle"
    ]  # fmt: skip
    for kind, title in TITLES.items():
        mine = [line for line in quote.lines if line.kind == kind]
        if mine:
            lines += ["", _row(title, money_text(quote.amount(mine[0].kind), quote.currency))]
            if len(mine) > 1 or mine[0].each is not None:
                lines += [_row(f"  {line_text(q, quote.currency)}", _money(q)) for q in mine]
    total = "Total" if quote.whole else "Total of what has a price"
    lines += ["", _row(total, money_text(quote.total, quote.currency))]
    if quote.unpriced:
        lines += ["", "Without a price, and not in the total"]
        for kind, title in TITLES.items():
            named = [unpriced_text(lacking) for lacking in quote.unpriced if lacking.kind == kind]
            if named:
                lines += wrapped(f"  {title}: {'; '.join(named)}", 4)
    lines += ["", "Left out"]
    for words in quote.left_out:
        lines += wrapped(f"  {words}", 4)
    sure = SURE.format(chance=round(quote.confidence * 100))
    return "\n".join([*lines, "", *wrapped(sure, 0)])


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
        return f"{line.title}: {line.quantity:.1f} h at {money_text(line.each, currency)}"
    if line.kind == "renewables" and line.each is not None:
        said = amount_text(line.quantity, line.unit, line.title)
        return f"{said} at {money_text(line.each, currency)}"
    return line.title


def unpriced_text(lacking: Unpriced) -> str:
    """Something without a price."""
    if lacking.kind == "renewables":
        return amount_text(lacking.quantity, lacking.unit, lacking.title)
    return "no rate is stated" if lacking.kind == "labour" else lacking.title
