"""Amounts of money as written, in the one currency of a build's answers."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from drybuild.values import with_point

_AMOUNT = re.compile(r"^\s*(?:([A-Z]{3})\s*)?(\d[\d ,']*(?:\.\d+)?)\s*(?:([A-Z]{3}))?\s*$")
_SOLD = re.compile(r"\s+(?:the (set|pair)|each)\s*$")
EXPECTED = "an amount with its currency, as in 310 EUR or 64 EUR the set"


def read_amount(text: str) -> tuple[float, str]:
    """The amount and its currency, empty where none is named. Raises ValueError.

    ``12,50`` is twelve and a half; before three digits a comma parts thousands, as money has it.
    """
    found = _AMOUNT.match(with_point(_SOLD.sub("", text)))
    if found is None or (found[1] and found[3]):
        raise ValueError(EXPECTED)
    digits = re.sub(r"[ ,']", "", found[2])
    return float(digits), found[1] or found[3] or ""


def with_currency(text: str, currency: str) -> str:
    """The price as written, and the currency that it is taken in where none was named."""
    try:
        named = read_amount(text)[1]
    except ValueError:
        return text
    if named or not currency:
        return text
    sold = _SOLD.search(text)
    amount, rest = (text[: sold.start()], sold[0]) if sold is not None else (text, "")
    return f"{amount.strip()} {currency}{rest.rstrip()}"


def pieces_of(text: str, count: int) -> int:
    """How often the amount is paid for so many pieces: once for a set, once for two of a pair."""
    sold = _SOLD.search(text)
    if sold is None or not sold[1]:
        return count
    return 1 if sold[1] == "set" else (count + 1) // 2


def usual_currency(texts: Iterable[str]) -> str:
    """The currency that most of these amounts are in; the first by name when two are as many."""
    counts: Counter[str] = Counter()
    for text in texts:
        try:
            currency = read_amount(text)[1]
        except ValueError:
            continue
        if currency:
            counts[currency] += 1
    return min(counts, key=lambda c: (-counts[c], c), default="")


@dataclass(frozen=True)
class Purse:
    """The currency of all answers. rates: another currency → what one of it is in this one."""

    currency: str = ""
    rates: Mapping[str, float] = field(default_factory=dict)

    def amount(self, text: str) -> float | None:
        """In the purse's currency; None where nothing is said or no rate is known.

        A bare number is in that currency. Raises ValueError for what is no amount.
        """
        if not text:
            return None
        value, currency = read_amount(text)
        if currency in ("", self.currency):
            return value
        rate = self.rates.get(currency)
        return None if rate is None else value * rate
