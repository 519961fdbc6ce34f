"""Text to numbers: the written forms of a value, before any doubt by default is added."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import Literal

from drybuild.values import spellings
from drybuild.values.dash import dash_fault, is_dash_size
from drybuild.values.errors import ValueFault
from drybuild.values.kinds import Kind
from drybuild.values.units import Unit, unit_of

Form = Literal["plain", "range", "above", "below"]

_FRACTIONS = {"½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8",
              "⅓": "1/3", "⅔": "2/3"}
_NUMBER = r"[+-]?(?:\d+[ ]+\d+/\d+|\d+-\d+/\d+|\d+/\d+|(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)"
_QUANTITY = re.compile(rf"^\s*(?P<number>{_NUMBER})\s*(?P<unit>.*?)\s*$")
_PLUS_MINUS = re.compile(r"\s*(?:±|\+\s?/\s?-|\+-)\s*")
_ONE_SIDED = re.compile(r"^\s*(>=|<=|=>|=<|>|<|≥|≤)\s*(.*)$")
_DEG_MIN = re.compile(
    r"^\s*(?P<sign>[+-]?)(?P<deg>\d+(?:\.\d+)?)\s*(?:deg|°|degrees?)\s*"
    r"(?P<min>\d+(?:\.\d+)?)\s*(?:min|'|arcmin|minutes?)"
    r"(?:\s*(?P<sec>\d+(?:\.\d+)?)\s*(?:sec|\"|''|s))?\s*$"
)
_TYPED = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:e[+-]?\d{1,3})?", re.ASCII | re.IGNORECASE)
_COMMA = re.compile(r"\d,\d")
_ONE_COMMA = re.compile(r"(?<![\d.,])(\d+),(\d+)(?![.,]?\d)")
_THOUSANDS = re.compile(r"[1-9]\d{0,2},\d{3}")
_AFR = re.compile(r"^(?:AFR|afr|:\s?1)\s*\(?(?P<fuel>[A-Za-z0-9]*)\)?$")


@dataclass(frozen=True, slots=True)
class Amount:
    """One number with its unit."""

    number: float
    unit: Unit

    @property
    def si(self) -> float:
        """In SI."""
        return self.unit.to_si(self.number)


@dataclass(frozen=True, slots=True)
class Written:
    """What a text says: a form, SI numbers, and the stated doubt if any (95 % half-width)."""

    form: Form
    centre: float
    """The figure, or the limit of a one-sided text, or the middle of a range."""
    half: float | None = None
    low: float = 0.0
    high: float = 0.0
    unit: Unit | None = None


def plain_number(raw: object) -> float | None:
    """A number of the file format as a finite float; None when it is too large or not finite."""
    if isinstance(raw, bool) or not isinstance(raw, int | float):
        return None
    try:
        number = float(raw)
    except OverflowError:
        return None
    return number if math.isfinite(number) else None


def typed_number(text: str) -> float:
    """A number without a unit as somebody types it: ``2.5``, ``2,5``. Raises ValueFault.

    Signs that a programming language passes over, or takes for no number, are refused: ``1_5``
    may be 1.5 or 15.
    """
    plain = with_point(text.strip())
    number = float(plain) if _TYPED.fullmatch(plain) else math.nan
    if not math.isfinite(number):
        raise ValueFault(f"{text.strip()!r}", "a number, such as 2.5")
    return number


def typed_whole(text: str) -> int:
    """A whole number as somebody types it. Raises ValueFault."""
    plain = text.strip()
    if not re.fullmatch(r"[+-]?[0-9]{1,15}", plain):
        raise ValueFault(f"{plain!r}", "a whole number, such as 12")
    return int(plain)


def clean(text: str) -> str:
    """Typographic signs made plain."""
    for sign, plain in _FRACTIONS.items():
        text = re.sub(rf"(?<=\d)\s*{sign}", f" {plain}", text).replace(sign, plain)
    text = text.replace("−", "-").replace("–", "-").replace("‐", "-").replace("‑", "-")
    for space in ("\u00a0", "\u202f", "\u2009", "\t", "\n"):
        text = text.replace(space, " ")
    text = text.replace("”", '"').replace("″", '"').replace("’", "'").replace("′", "'")
    return text.strip()


def with_point(text: str) -> str:
    """Decimal commas made points: ``52,5 mm``, ``0,125 in``, ``1234,500 km``.

    One comma is a decimal comma wherever it cannot part thousands. ``1,234`` may be either, and
    stays as it is: so do several commas, and a comma beside a point.
    """
    return _ONE_COMMA.sub(
        lambda m: m[0] if _THOUSANDS.fullmatch(m[0]) else f"{m[1]}.{m[2]}", text
    )


def to_number(text: str) -> float:
    """A number, a fraction, or a mixed number (``1 1/2``, ``1-1/2``)."""
    sign = -1.0 if text.startswith("-") else 1.0
    body = text.lstrip("+-")
    if "/" not in body:
        return sign * float(body)
    whole, _, fraction = body.replace("-", " ").rpartition(" ")
    top, _, bottom = fraction.partition("/")
    if int(bottom) == 0:
        raise ZeroDivisionError
    return sign * ((float(whole) if whole else 0.0) + int(top) / int(bottom))


def read(raw: str, kind: Kind) -> Written:
    """Read one text as a value of that kind. Raises ValueFault."""
    text = with_point(clean(raw))
    _refuse_oddities(raw, text, kind)
    one_sided = _ONE_SIDED.match(text)
    if one_sided:
        amount = read_amount(one_sided[2], kind, raw)
        return _limit(raw, kind, amount, up=">" in one_sided[1] or one_sided[1] == "≥")
    parts = _PLUS_MINUS.split(text)
    if len(parts) == 2:
        return _plus_minus(parts[0], parts[1], kind, raw)
    if len(parts) > 2:
        raise ValueFault(f"{raw!r}", f"one ± at most, such as {kind.example!r}")
    ends = re.split(r"\s+to\s+|\s*\.\.\.?\s*|\s*…\s*", text)
    if len(ends) == 2:
        return _range(ends[0], ends[1], kind, raw)
    amount = read_amount(text, kind, raw)
    return Written("plain", amount.si, unit=amount.unit)


def _refuse_oddities(raw: str, text: str, kind: Kind) -> None:
    wanted = f"{kind.what} such as {kind.example!r}"
    if not text:
        raise ValueFault("an empty text", wanted, "Leave the key out when nobody knows it.")
    _refuse_commas(text, raw, wanted)
    if re.match(r"^(about|approx\.?|ca\.?|circa|~|≈|roughly)\b|^[~≈]", text, re.I):
        raise ValueFault(f"{raw!r}", wanted, "Say how rough: write ± and the width that you would "
                         "bet 19 to 1 on, or a range such as '55 to 65 mm'.")
    if re.fullmatch(r"(\?+|unknown|tbc|tbd|n/?a|none|-+)", text, re.I):
        raise ValueFault(f"{raw!r}", wanted, "Leave the key out when nobody knows it.")
    if re.match(r"^[+-]?\d+(\.\d+)?\s?-\s?\d+(\.\d+)?(?!/|\d)", text) and not re.match(
            r"^\d+-\d+/\d+", text):
        first, second = re.split(r"(?<=\d)\s?-\s?", text, maxsplit=1)
        raise ValueFault(f"{raw!r}", wanted, f"For a range write '{first} to {second}'.")


def _refuse_commas(text: str, shown: str, wanted: str) -> None:
    """Commas that may part thousands or be decimal: neither reading is taken."""
    if not _COMMA.search(text):
        return
    plain = text.replace(",", "")
    if text.count(",") == len(_ONE_COMMA.findall(text)):
        said = f"{text.replace(',', '.')!r}, or {plain!r}"
        hint = f"A comma before three digits may part thousands or be decimal: write {said}."
    else:
        hint = f"Write a point for decimals and nothing between thousands, such as {plain!r}."
    raise ValueFault(f"{shown!r}", wanted, hint)


def read_amount(text: str, kind: Kind, raw: str | None = None) -> Amount:
    """One number with its unit, as a quantity of that kind."""
    shown = raw if raw is not None else text
    text = with_point(text)
    _refuse_commas(text, shown, f"{kind.what} such as {kind.example!r}")
    if kind.family == "angle":
        match = _DEG_MIN.match(text)
        if match:
            if float(match["min"]) >= 60.0:
                raise ValueFault(f"{shown!r}", "minutes below 60", "60 minutes are one degree.")
            size = float(match["deg"]) + float(match["min"]) / 60.0
            size += float(match["sec"] or 0.0) / 3600.0
            return Amount(-size if match["sign"] == "-" else size, unit_of("deg", kind.name))
    if kind.family in ("length", "area") and is_dash_size(text):
        raise dash_fault(text, f"{kind.what} such as {kind.example!r}")
    if kind.family == "money":
        text = re.sub(r"^([A-Z]{3})\s*(.*)$", r"\2 \1", text)
    found = _QUANTITY.match(text)
    if found is None:
        raise ValueFault(f"{shown!r}", f"{kind.what} such as {kind.example!r}",
                         "It begins with no number.")
    try:
        number = to_number(re.sub(r"\s+", " ", found["number"]))
    except (ZeroDivisionError, ValueError, OverflowError):
        raise ValueFault(f"{shown!r}", "a number", "Its fraction cannot be worked out.") from None
    unit_text = found["unit"]
    if number != number or number in (float("inf"), float("-inf")):
        raise ValueFault(f"{shown!r}", "a finite number")
    return Amount(number, _unit(unit_text, kind, shown))


def _unit(text: str, kind: Kind, shown: str) -> Unit:
    """The unit of that kind; an air-fuel ratio takes its fuel with it."""
    afr = _AFR.match(text) if kind.family == "lambda" else None
    if afr is None or not afr["fuel"]:
        return unit_of(text, kind.name)
    fuel = afr["fuel"]
    stoich = spellings.AFR_STOICH.get(fuel.lower())
    if stoich is None:
        names = ", ".join(spellings.AFR_STOICH)
        raise ValueFault(f"{shown!r}", f"an air-fuel ratio with its fuel ({names})",
                         "For a blend give lambda: its AFR depends on the ethanol in it.")
    return Unit(f"AFR {fuel}", 1.0 / stoich)


def read_width(text: str, kind: Kind, about: float, *, percent_points: bool = False,
               unit: Unit | None = None, raw: str | None = None) -> float:
    """A doubt (95 % half-width) in SI, about the SI figure ``about``.

    A percentage is of the figure; with ``percent_points`` it is in points of percent. A number
    without a unit takes ``unit``.
    """
    shown = raw if raw is not None else text
    text = with_point(clean(text))
    _refuse_commas(text, shown, "a doubt such as '2 mm' or '3 %'")
    found = _QUANTITY.match(re.sub(r"^±\s*", "", text))
    if found is None:
        raise ValueFault(f"the doubt {shown!r}", "a number with a unit, or %, such as '2 mm'")
    try:
        number = to_number(re.sub(r"\s+", " ", found["number"]))
    except (ZeroDivisionError, ValueError, OverflowError):
        raise ValueFault(f"{shown!r}", "a number", "Its fraction cannot be worked out.") from None
    if number < 0.0 or number == float("inf"):
        raise ValueFault(f"the doubt {shown!r}", "a width that is not negative")
    if found["unit"] in ("%", "percent"):
        if percent_points:
            return number / 100.0
        if kind.family == "temperature":
            raise ValueFault(f"the doubt {shown!r}", "a doubt in °C, K or °F",
                             "A percentage of a temperature depends on where zero is.")
        return abs(about) * number / 100.0
    if found["unit"] == "" and unit is not None:
        used = unit
    elif kind.family == "angle" and _DEG_MIN.match(text):
        used, number = unit_of("deg", kind.name), read_amount(text, kind, raw).number
    else:
        used = _width_unit(found["unit"], kind, shown)
    return used.width_to_si(number, used.from_si(about) if used.reciprocal else 0.0)


def _width_unit(text: str, kind: Kind, shown: str) -> Unit:
    """The unit of a doubt. A doubt about a pressure is a difference: plain bar will do."""
    if kind.family == "pressure":
        try:
            return unit_of(text, "pressure_difference")
        except ValueFault:
            pass  # "1.3 ± 0.1 bar gauge": the unit of the figure, or the fault is told below
    return _unit(text, kind, shown)


def _plus_minus(centre: str, width: str, kind: Kind, raw: str) -> Written:
    if not centre.strip():
        raise ValueFault(f"{raw!r}", f"a figure before the ±, such as {kind.example!r}")
    middle = _QUANTITY.match(centre)
    # "62 ± 2 mm": the unit stands once, behind both; "0.95 ± 3 %": the % is of the figure
    bare = middle is not None and middle["unit"] == "" and _DEG_MIN.match(centre) is None
    tail = _QUANTITY.match(width)
    shared = tail["unit"] if tail is not None else ""
    percent = shared in ("%", "percent")
    if bare and percent and kind.name == "fraction" and re.match(r"^\s*(0|1\s*$|1\.0)", centre):
        raise ValueFault(f"{raw!r}", f"{kind.what} such as {kind.example!r}",
                         "One part in a hundred, or the whole? Write '1 % ± 0.5 %', or both as "
                         "fractions: '0.85 ± 0.03'.")
    if bare and shared and (not percent or kind.name == "fraction"):
        centre = f"{centre.strip()} {shared}"
    amount = read_amount(centre, kind, raw)
    half = read_width(width, kind, amount.si, percent_points=amount.unit.percent,
                      unit=amount.unit, raw=raw)
    return Written("plain", amount.si, half=half, unit=amount.unit)


def _range(first: str, second: str, kind: Kind, raw: str) -> Written:
    end = read_amount(second, kind, raw)
    start_has_unit = _QUANTITY.match(first)
    if start_has_unit is not None and start_has_unit["unit"] == "":
        first = f"{first} {second[second.index(_last_unit(second)):]}" if _last_unit(second) \
            else first
    start = read_amount(first, kind, raw)
    low, high = start.si, end.si
    if end.unit.reciprocal and low > high:
        low, high = high, low
    if not low < high:
        raise ValueFault(f"{raw!r}", "a range from the lower to the higher figure",
                         "Both ends are hard edges; for a figure with doubt write ±.")
    return Written("range", (low + high) / 2.0, low=low, high=high, unit=end.unit)


def _last_unit(text: str) -> str:
    found = _QUANTITY.match(text)
    return found["unit"] if found is not None else ""


def _limit(raw: str, kind: Kind, amount: Amount, *, up: bool) -> Written:
    limit = amount.si
    if amount.unit.reciprocal:
        up = not up
    if (up and limit <= 0.0) or (not up and limit == 0.0) or amount.unit.offset:
        raise ValueFault(f"{raw!r}", "a range such as '0 to 5 mm'",
                         "A one-sided text needs a limit that is not zero; give both ends.")
    return Written("above" if up else "below", limit, unit=amount.unit)
