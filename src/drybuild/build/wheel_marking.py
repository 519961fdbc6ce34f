"""Reads what is cast or stamped on a wheel: ``8Jx17 ET35``, also ``7 1/2 J x 16 H2 ET 45 5x112``.

The order is that of the usual rim marking (ISO 4000-2: nominal width, flange letter, diameter
code), then the offset with ET, then the bolt pattern, each of which may be left out but the size.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from drybuild.values import HowKnown

if TYPE_CHECKING:
    from drybuild.build.model import Part

_SIZE = re.compile(
    r"""^(?P<width>\d{1,2}(?:[.,]\d+)?)(?:\s+(?P<half>1\s*/\s*2))?\s*(?:"|IN)?\s*
    (?P<flange>JJ|JK|J|K|B)?\s*(?:X|×|\*)\s*(?P<code>\d{2})\s*(?:"|IN)?(?=\s|H|C|E|$)
    (?P<rest>.*)$""",
    re.VERBOSE,
)
_TURNED = re.compile(
    r"^(?P<code>\d{2})\s*(?:X|×|\*)\s*(?P<width>\d{1,2}(?:[.,]\d+)?)\s*"
    r"(?P<flange>JJ|JK|J|K|B)?(?=\s|E|$)(?P<rest>.*)$"
)
_OFFSET = re.compile(r"\bET\s*(?P<offset>[-+]?\d{1,3}(?:[.,]\d)?)(?:\s*MM)?\b")
_PATTERN = re.compile(r"\b(?P<count>[3-9]|10)\s*(?:X|×|/)\s*(?P<circle>\d{2,3}(?:[.,]\d+)?)\b")
_HUMPS = re.compile(r"\b(?:H2?|FH2?|CH|EH2?\+?|H2\+H2)\b|^H2?\b")

_ET_ALONE = re.compile(r"^\s*ET\s*(?P<offset>[-+−]?\s*\d{1,3}(?:[.,]\d+)?)(?:\s*mm)?\s*$", re.I)

WIDTHS = (3.0, 14.0)
CODES = (10, 24)
OFFSETS = (-100.0, 120.0)
CIRCLES = (95.0, 210.0)


class WheelMarkingError(ValueError):
    """A wheel's marking that cannot be read; the text says what is wrong and shows the form."""


@dataclass(frozen=True, slots=True)
class WheelMarking:
    """What a wheel says. rim_width_in: inches; offset_mm, circle_mm: None where it says none."""

    rim_width_in: float
    rim_code: int
    offset_mm: float | None = None
    bolt_count: int | None = None
    circle_mm: float | None = None

    def __str__(self) -> str:
        said = f"{self.rim_width_in:g}Jx{self.rim_code}"
        said += f" ET{self.offset_mm:g}" if self.offset_mm is not None else ""
        return said + (f" {self.bolt_count}x{self.circle_mm:g}" if self.circle_mm else "")


def parse_wheel(text: str) -> WheelMarking:
    """Read a marking; raises WheelMarkingError with the reason."""
    upper = " ".join(text.upper().replace("−", "-").replace("½", " 1/2").split())
    if not upper:
        raise WheelMarkingError(_teach(text, "it is empty"))
    match = _SIZE.match(upper) or _TURNED.match(upper)
    if match is None:
        raise WheelMarkingError(
            _teach(text, "it does not begin with the size: rim width, x, diameter code")
        )
    width = _number(match["width"]) + (0.5 if match.groupdict().get("half") else 0.0)
    code = int(match["code"])
    if not WIDTHS[0] <= width <= WIDTHS[1] or width * 4 % 1:
        raise WheelMarkingError(_teach(text, f"a rim {width:g} in wide is not made"))
    if not CODES[0] <= code <= CODES[1]:
        raise WheelMarkingError(
            _teach(text, f"rim diameter code {code} is not {CODES[0]} to {CODES[1]}")
        )
    rest = match["rest"]
    offset, rest = _taken(_OFFSET, rest)
    pattern, rest = _taken(_PATTERN, rest)
    left = _HUMPS.sub(" ", rest).strip(" ,;-")
    if left:
        raise WheelMarkingError(_teach(text, f"{left!r} is not known here"))
    away = _number(offset["offset"]) if offset else None
    circle = _number(pattern["circle"]) if pattern else None
    _within(text, "offset", away, OFFSETS)
    _within(text, "bolt circle", circle, CIRCLES)
    count = int(pattern["count"]) if pattern else None
    return WheelMarking(width, code, away, count, circle)


def offset_typed(raw: Any) -> Any:
    """An offset as it stands on the wheel, ``ET42``, as a length; anything else as it is."""
    if isinstance(raw, dict) and "is" in raw:
        return {**raw, "is": offset_typed(raw["is"])}
    if isinstance(raw, list):
        return [offset_typed(one) for one in raw]
    match = _ET_ALONE.match(raw) if isinstance(raw, str) else None
    return raw if match is None else f"{match['offset'].replace(' ', '')} mm"


def _taken(form: re.Pattern[str], text: str) -> tuple[re.Match[str] | None, str]:
    found = form.search(text)
    return found, form.sub(" ", text, count=1)


def _number(text: str) -> float:
    return float(text.replace(",", "."))


def _within(text: str, name: str, value: float | None, span: tuple[float, float]) -> None:
    if value is not None and not span[0] <= value <= span[1]:
        said = f"{name} {value:g} mm is not {span[0]:g} to {span[1]:g}"
        raise WheelMarkingError(_teach(text, said))


def _teach(text: str, why: str) -> str:
    form = "Write it as on the wheel: 8Jx17 ET35; ET and a pattern such as 5x112 may be left out"
    return f"wheel marking {text.strip()!r}: {why}. {form}"


def size_of(part: Part) -> str:
    """The size of a wheel or a tyre as it is ordered, from what its file states: ``8Jx17 ET35
    5x112``, ``215/45 R17 91W``; empty for other parts and where it is not stated. Bolt holes that
    are a guess stand in no name."""
    facts: Any = part
    if facts.kind == "tyre":
        return str(facts.marking or "")
    if facts.kind != "wheel" or facts.rim_width is None or facts.diameter_code is None:
        return ""
    offset, circle = facts.offset, facts.bolt_circle
    if circle is not None and circle.how is HowKnown.ASSUMED:
        circle = None
    size = WheelMarking(
        round(facts.rim_width.median / 0.0254, 2), facts.diameter_code,
        None if offset is None else round(offset.median * 1000, 1), facts.bolt_count,
        None if circle is None or not facts.bolt_count else round(circle.median * 1000, 1),
    )  # fmt: skip
    return str(size)
