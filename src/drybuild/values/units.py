"""Units at the edge: a unit as somebody writes it -> a factor to SI.

The spellings are a closed list for each family of quantities. A closed list is what makes it
possible to refuse a trap by name (``nm`` for a torque) and to offer the nearest right spelling.
The numbers are not ours: each spelling names an expression of the units library (Pint). Their
factors are written down from there (``_factors``), for reading the library's own definitions takes
longer than reading a build; a test holds each to the library. Nothing a file contains reaches it.
"""

from __future__ import annotations

import difflib
import re
from dataclasses import dataclass
from functools import cache, lru_cache
from typing import TYPE_CHECKING

from drybuild.values import spellings
from drybuild.values._factors import FACTORS
from drybuild.values.errors import AmbiguousUnit, UnitFault
from drybuild.values.kinds import Kind, kind_named

if TYPE_CHECKING:
    import pint

_PRESSURE_SUFFIX = re.compile(
    r"^(?P<unit>.*?)\s*\(?(?P<which>gauge|gage|absolute|abs\.?|difference|diff\.?)\)?$"
)
_WHICH = {"gauge": "gauge", "gage": "gauge", "absolute": "absolute", "abs": "absolute",
          "difference": "difference", "diff": "difference"}
_GLUED = {"barg": ("bar", "gauge"), "bara": ("bar", "absolute"), "psig": ("psi", "gauge"),
          "psia": ("psi", "absolute"), "psid": ("psi", "difference"),
          "kPag": ("kPa", "gauge"), "kPaa": ("kPa", "absolute"),
          "bar(g)": ("bar", "gauge"), "bar(a)": ("bar", "absolute"),
          "kPa(g)": ("kPa", "gauge"), "kPa(a)": ("kPa", "absolute"),
          "psi(g)": ("psi", "gauge"), "psi(a)": ("psi", "absolute")}


@dataclass(frozen=True, slots=True)
class Unit:
    """One unit, ready to convert: SI = factor·x + offset, or factor / x when it counts upside down
    (miles per gallon)."""

    text: str
    factor: float
    offset: float = 0.0
    reciprocal: bool = False
    percent: bool = False

    def to_si(self, number: float) -> float:
        """The SI value of a number in this unit."""
        if self.reciprocal:
            return self.factor / number if number else float("inf")
        return self.factor * number + self.offset

    def from_si(self, value: float) -> float:
        """The number in this unit of an SI value."""
        if self.reciprocal:
            return self.factor / value if value else float("inf")
        return (value - self.offset) / self.factor

    def width_to_si(self, width: float, about: float) -> float:
        """The SI size of a difference ``width`` about the number ``about``, both in this unit."""
        if self.reciprocal:
            return abs(self.to_si(about) * width / about) if about else float("inf")
        return abs(self.factor * width)


@cache
def registry() -> pint.UnitRegistry[float]:
    """Pint's registry, built where it is asked because it is slow to build."""
    import pint

    return pint.UnitRegistry()


@cache
def _unit(text: str, expression: str, si: str) -> Unit:
    known = FACTORS.get((expression, si))
    factor, offset = known if known is not None else asked_of_pint(expression, si)
    return Unit(
        text, factor, offset,
        reciprocal=expression.startswith("1/("), percent=expression == "percent",
    )  # fmt: skip


def asked_of_pint(expression: str, si: str) -> tuple[float, float]:
    """Factor and offset of an expression, as the units library has them."""
    ureg = registry()
    if expression.startswith("1/("):
        inverse = ureg.Quantity(1.0) * ureg.parse_expression(expression[3:-1])
        return float((1.0 / inverse).to(si).magnitude), 0.0
    if expression in ("degC", "degF"):
        zero = float(ureg.Quantity(0.0, expression).to(si).magnitude)
        one = float(ureg.Quantity(100.0, expression).to(si).magnitude)
        return (one - zero) / 100.0, zero
    one_unit = ureg.Quantity(1.0) * ureg.parse_expression(expression)
    return float(one_unit.to(si).magnitude), 0.0


def tidy(text: str) -> str:
    """One spelling for one thing: micro signs, powers, dots, degree signs, spaces."""
    text = text.strip().replace("μ", "µ").replace("Ω", "ohm").replace("Ω", "ohm")
    text = text.replace("²", "2").replace("³", "3").replace("^", "").replace("º", "°")
    text = re.sub(r"[*⋅∙•×]", "·", text)
    text = text.replace("″", '"').replace("”", '"').replace("′", "'").replace("’", "'")
    text = re.sub(r"\s*([/·])\s*", r"\1", text)
    return re.sub(r"\s+", " ", text)


def _joined(text: str) -> str:
    """``N m``, ``N.m``, ``lb-ft`` -> ``N·m``, ``lb·ft``."""
    return re.sub(r"(?<=[A-Za-z0-9])[ .\-](?=[A-Za-z])", "·", text)


@lru_cache(maxsize=4096)
def unit_of(text: str, kind_name: str) -> Unit:
    """The unit written as ``text``, for a quantity of that kind.

    Raises UnitFault (unknown, missing or of another quantity) or AmbiguousUnit, each with the
    choices and the nearest right spelling.
    """
    kind = kind_named(kind_name)
    spelt = tidy(text)
    if kind.family == "pressure":
        return _pressure(text, spelt, kind)
    if kind.family == "money":
        return _money(text, spelt, kind)
    return _plain(text, spelt, kind)


def _money(text: str, spelt: str, kind: Kind) -> Unit:
    if spelt and not re.fullmatch(r"[A-Z]{3}", spelt):
        raise UnitFault(f"the currency {text.strip()!r}", "an ISO 4217 code such as 120 EUR", "")
    return Unit(spelt, 1.0)


def _find(spelt: str, family: str) -> tuple[str, str] | None:
    table = spellings.FAMILIES[family]
    for form in (spelt, _joined(spelt)):
        if form in table:
            return form, table[form]
    return None


def _plain(text: str, spelt: str, kind: Kind) -> Unit:
    found = _find(spelt, kind.family)
    if found is not None:
        return _unit(spelt, found[1], spellings.PINT_SI[kind.family])
    if spelt == "":
        raise UnitFault("a number without a unit", _wanted(kind),
                        f"Write the unit too, for instance {kind.example!r}.")
    raise _refusal(text, spelt, kind)


def _refusal(text: str, spelt: str, kind: Kind) -> UnitFault:
    """The error that teaches: a known trap, an ambiguous unit, another quantity, or a typo."""
    shown = f"the unit {text.strip()!r}"
    expected = _wanted(kind)
    for form in (spelt, _joined(spelt)):
        trap = spellings.TRAPS.get((kind.family, form)) or spellings.TRAPS.get(("*", form))
        if trap is not None:
            return UnitFault(shown, expected, trap)
        choices = spellings.AMBIGUOUS.get((kind.family, form))
        if choices is not None:
            return AmbiguousUnit(shown, expected,
                                 f"{form!r} means more than one thing here. Write {choices}.")
    others = [family for family in spellings.FAMILIES
              if family != kind.family and _find(spelt, family) is not None]
    begun = [u for u in spellings.LISTED[kind.family] if u.startswith(f"{spelt}/")]
    near = begun[0] if begun else nearest(spelt, spellings.FAMILIES[kind.family])
    # What is a unit of something else was not misspelt: the nearest spelling says nothing there.
    hint = f"Nearest right unit: {near}." if near and not others else ""
    if others:
        names = " or ".join(spellings.FAMILY_WORDS.get(o, o.replace("_", " ")) for o in others[:3])
        hint = f"{text.strip()!r} is a unit of {names}, not of {_plainly(kind)}. {hint}".strip()
    return UnitFault(shown, expected, hint)


def nearest(word: str, choices: object) -> str:
    """The nearest spelling among the choices, or ''. Case alone never hides a match."""
    names = [str(c) for c in choices if str(c)]  # type: ignore[attr-defined]
    same = [name for name in names if name.lower() == word.lower()]
    close = same or _slips(word, names) or difflib.get_close_matches(word, names, n=1, cutoff=0.5)
    if close:
        return close[0]
    folded = {name.lower(): name for name in names}
    close = difflib.get_close_matches(word.lower(), list(folded), n=1, cutoff=0.5)
    return folded[close[0]] if close else ""


KEYS = ("qwertyuiop", "qwertzuiop", "asdfghjkl", "zxcvbnm", "yxcvbnm")
"""Rows of letters on keyboards."""


def _slips(word: str, names: list[str]) -> list[str]:
    """The names that one slip of the finger makes into the word: a key beside the right one, or
    two keys in turn."""
    return [name for name in names if _is_slip(word.lower(), name.lower())]


def _is_slip(word: str, name: str) -> bool:
    if len(word) != len(name):
        return False
    off = [at for at, pair in enumerate(zip(word, name, strict=True)) if pair[0] != pair[1]]
    if len(off) == 2 and off[1] == off[0] + 1:
        return word[off[0]] == name[off[1]] and word[off[1]] == name[off[0]]
    pair = word[off[0]] + name[off[0]] if len(off) == 1 else " "
    return any(pair in row or pair[::-1] in row for row in KEYS)


def _plainly(kind: Kind) -> str:
    return re.sub(r"^an? ", "", kind.what)


def _wanted(kind: Kind) -> str:
    return f"{kind.what} in {listed(kind)}"


def listed(kind: Kind) -> str:
    """The units that a kind reads, as a list in words."""
    units = list(spellings.LISTED[kind.family])
    if kind.family == "pressure":
        which = kind.name.removeprefix("pressure_")
        units = units if which == "difference" else [f"{u} {which}" for u in units]
    return ", ".join(units) if units else "no unit"


def _pressure(text: str, spelt: str, kind: Kind) -> Unit:
    want = kind.name.removeprefix("pressure_")
    base, which = spelt, ""
    if spelt in _GLUED:
        base, which = _GLUED[spelt]
    else:
        match = _PRESSURE_SUFFIX.match(spelt)
        if match:
            base, which = match["unit"], _WHICH[match["which"].rstrip(".")]
    found = _find(base, "pressure")
    if found is None:
        return _plain(text, base, kind)
    if which == "" and want != "difference":
        raise AmbiguousUnit(
            f"the unit {text.strip()!r}", _wanted(kind),
            f"A bare {base} may be gauge (above the air outside) or absolute (above vacuum). "
            f"Write {base} gauge or {base} absolute; this place wants {want}.",
        )
    if which not in ("", want):
        raise UnitFault(f"the unit {text.strip()!r}", _wanted(kind), _CONTRADICTION[want])
    return _unit(spelt, found[1], "pascal")


_CONTRADICTION = {
    "gauge": "Gauge pressure is absolute pressure less the air pressure outside. Give what the "
             "gauge shows.",
    "absolute": "Absolute pressure is gauge pressure plus the air pressure outside. At altitude "
                "that is well below 1 bar: add the barometer, not 1 bar.",
    "difference": "A pressure difference lies between two points of the car; it is neither gauge "
                  "nor absolute. Write the unit alone.",
}
