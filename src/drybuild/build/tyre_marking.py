"""Reads the size and service marking on a tyre's sidewall: ``205/50 R16 87V XL``.

The grammar is that of ISO 4000-1 (metric passenger tyres) with the additions seen on road cars:
the P of the American metric system, the Z in ZR, the C of light-commercial tyres, two load
indices, a speed symbol in brackets, and the words for extra load.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache
from typing import Annotated, Any

from pydantic import AfterValidator

SPEED_LETTERS = "BCDEFGJKLMNPQRSTUHVWY"
"""Speed symbols in rising order; H stands between U and V."""

_EXTRA = {"XL", "EL", "RF", "REINF", "REINFORCED", "EXTRA LOAD", "EXTRALOAD"}
_STANDARD = {"SL", "STANDARD LOAD"}
_HIGH = {"HL", "HIGH LOAD"}

_SIZE = re.compile(
    r"""^\s*(?P<prefix>P|HL)?\s*
    (?P<width>\d{2,4})\s*/\s*(?P<aspect>\d{1,3})\s*
    (?P<zr>Z)?\s*(?P<build>R|D|B|-)\s*(?P<rim>\d{1,2}(?:\.5)?)\s*(?P<c>C(?![A-Z]))?\s*
    (?P<rest>.*)$""",
    re.VERBOSE,
)
_SERVICE = re.compile(
    r"^(?P<open>\()?\s*(?P<li>\d{2,3})(?:\s*/\s*(?P<li2>\d{2,3}))?\s*(?P<ss>[A-Z])\s*(?P<close>\))?"
    r"\s*(?P<rest>.*)$"
)


class MarkingError(ValueError):
    """A tyre marking that cannot be read; the text says what is wrong and shows the form."""


@dataclass(frozen=True, slots=True)
class TyreMarking:
    """What a tyre's marking says, in the units of the marking.

    section_width_mm and aspect_percent are nominal; rim_code is the rim diameter code (not a
    length: the rim of code 17 is not 17 × 25.4 mm across). zr: the marking says ZR.
    beyond: the speed symbol stands in brackets, so the tyre goes beyond it on its maker's word.
    """

    section_width_mm: int
    aspect_percent: int
    rim_code: float
    construction: str = "R"
    p_metric: bool = False
    commercial: bool = False
    zr: bool = False
    load_index: int | None = None
    load_index_dual: int | None = None
    speed_symbol: str | None = None
    beyond: bool = False
    load_version: str = "SL"

    @property
    def extra_load(self) -> bool:
        """Whether the load index holds at the higher pressure of extra-load tyres."""
        return self.load_version == "XL"

    @property
    def size(self) -> str:
        """The size part alone, in the usual spacing."""
        head = "P" if self.p_metric else "HL " if self.load_version == "HL" else ""
        rim = f"{self.rim_code:g}{'C' if self.commercial else ''}"
        gap = "" if self.p_metric else " "
        letter = ("Z" if self.zr else "") + self.construction
        return f"{head}{self.section_width_mm}/{self.aspect_percent}{gap}{letter}{rim}"

    @property
    def service(self) -> str:
        """Load index and speed symbol, empty when the marking has none."""
        if self.load_index is None:
            return ""
        dual = "" if self.load_index_dual is None else f"/{self.load_index_dual}"
        text = f"{self.load_index}{dual}{self.speed_symbol}"
        return f"({text})" if self.beyond else text

    def __str__(self) -> str:
        extra = "XL" if self.load_version == "XL" else ""
        return " ".join(part for part in (self.size, self.service, extra) if part)


@cache
def parse_marking(text: str) -> TyreMarking:
    """Read a marking; raises MarkingError with the reason."""
    shown = text.strip()
    upper = " ".join(shown.upper().replace("–", "-").split())
    if not upper:
        raise MarkingError(_teach(text, "it is empty"))
    upper = re.sub(r"(?: (?:M ?[+&] ?S|3PMSF|TL|TUBELESS))+$", "", upper)  # changes no size
    match = _SIZE.match(upper)
    if match is None:
        raise MarkingError(_teach(text, _why_not(upper)))
    width, aspect = int(match["width"]), int(match["aspect"])
    rim = float(match["rim"])
    if not (105 <= width <= 405 and width % 5 == 0):
        raise MarkingError(_teach(text, f"section width {width} mm is not one that is made"))
    if not (20 <= aspect <= 95 and aspect % 5 == 0):
        raise MarkingError(_teach(text, f"aspect ratio {aspect} is not 20 to 95 in fives"))
    if not 10 <= rim <= 24:
        raise MarkingError(_teach(text, f"rim diameter code {rim:g} is not 10 to 24"))
    build = match["build"]
    construction = "D" if build == "-" else build
    prefix = match["prefix"]
    service, rest = _service(text, match["rest"])
    version, zr = _versions(text, rest, "HL" if prefix == "HL" else "SL", bool(match["zr"]))
    if version == "HL" and prefix != "HL":
        raise MarkingError(_teach(text, "HL stands in front of the size"))
    return TyreMarking(
        section_width_mm=width,
        aspect_percent=aspect,
        rim_code=rim,
        construction=construction,
        p_metric=prefix == "P",
        commercial=bool(match["c"]),
        zr=zr,
        load_version=version,
        **service,
    )


def _service(text: str, rest: str) -> tuple[dict[str, Any], str]:
    if not rest or not (rest[0].isdigit() or rest[0] == "("):
        return {}, rest
    match = _SERVICE.match(rest)
    if match is None:
        raise MarkingError(
            _teach(text, f"{rest!r} should be a load index and a speed symbol, such as 87V")
        )
    if bool(match["open"]) != bool(match["close"]):
        raise MarkingError(_teach(text, "a bracket around load index and symbol is not closed"))
    if match["ss"] not in SPEED_LETTERS:
        raise MarkingError(_teach(text, f"{match['ss']!r} is no speed symbol"))
    service: dict[str, Any] = {
        "load_index": int(match["li"]),
        "load_index_dual": None if match["li2"] is None else int(match["li2"]),
        "speed_symbol": match["ss"],
        "beyond": bool(match["open"]),
    }
    return service, match["rest"].strip()


def _versions(text: str, rest: str, version: str, zr: bool) -> tuple[str, bool]:
    if rest in _EXTRA:
        if version == "HL":
            raise MarkingError(_teach(text, "HL and XL together"))
        return "XL", zr
    if rest == "" or (rest in _STANDARD and version == "SL"):
        return version, zr
    if rest in _HIGH:
        return "HL", zr
    if rest == "ZR":
        return version, True
    raise MarkingError(
        _teach(text, f"{rest!r} is not known here; after the size come 87V, then XL or nothing")
    )


def _why_not(upper: str) -> str:
    if re.match(r"^\d{2}(\.\d+)?\s*X", upper):
        return "sizes in inches (31x10.50 R15) are not read here"
    if re.match(r"^LT", upper):
        return "LT sizes are not read here: their load ranges need the maker's table"
    three = re.fullmatch(r"(\d{3})[-\s,/]*(\d{2})[-\s,/]*(\d{2})", upper)
    if three is not None and "/" not in upper:
        return f"if it says {three[1]}/{three[2]} R{three[3]} on the sidewall, write that"
    if "/" not in upper:
        return "the slash between section width and aspect ratio is missing"
    if re.match(r"^(P|HL)?\s*\d+\s*/\s*\d+\s*[STUHVW]R", upper):
        return "a speed letter before R is the old form: put it after the load index"
    if re.match(r"^(P|HL)?\s*\d+\s*/\s*\d+\s+\d+", upper):
        return "the letter R before the rim diameter code is missing"
    return "it does not have the form of a metric passenger tyre"


def _teach(text: str, why: str) -> str:
    form = "Write it as on the sidewall, such as 205/50 R16 87V, or 205/50 R16 91V XL"
    return f"tyre marking {text!r}: {why}. {form}"


def _checked(text: str) -> str:
    parse_marking(text)
    return text


TyreMark = Annotated[str, AfterValidator(_checked)]
"""A fact's text that must be a readable tyre marking."""
