"""What a part is called, by the figures that its file states: a name may have outlived them."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from drybuild.build.tyre_marking import MarkingError, TyreMarking, parse_marking
from drybuild.build.wheel_marking import (
    WheelMarking,
    WheelMarkingError,
    parse_wheel,
    size_of,
)

if TYPE_CHECKING:
    from drybuild.build.model import Part

_WHEEL = re.compile(
    r"""(?<![\w.,])\d{1,2}(?:[.,]\d+)?\s*J{0,2}\s*[x×]\s*\d{2}(?![\dx×.,])
    (?:\s+ET\s*[-−]?\d{1,3}\b)?(?:\s+\d{1,2}[x×/]\d{2,3}(?:[.,]\d+)?)?""",
    re.VERBOSE | re.IGNORECASE,
)
_OFFSET = re.compile(r"\bET\s*([-−]?\d{1,3})\b")
_TYRE = re.compile(
    r"(?<![\w/])P?\d{3}\s*/\s*\d{2}\s*Z?R\s*\d{2}\b(?:\s+\(?\d{2,3}[A-Z]\)?(?!\w))?(?:\s+XL\b)?"
)

_NUTS = re.compile(r"\bnut(?=s?\b)")


@dataclass(frozen=True, slots=True)
class PartName:
    """What a part is called. says: the size in its own name, where its figures are of another."""

    text: str
    says: str = ""

    @property
    def in_full(self) -> str:
        """With what its own name says otherwise."""
        return f"{self.text} (its name says {self.says})" if self.says else self.text


def named(part_id: str, part: Part) -> PartName:
    """A part's name, or its id; a wheel's or a tyre's with the size that its figures are of."""
    name = part.name or part_id
    if part.standard and getattr(part, "form", None) == "bolt":  # a stand-in, said to be bolts
        name = _NUTS.sub("bolt", name)
    size = size_of(part)
    found = _otherwise(name, size, tyre=getattr(part, "kind", "") == "tyre") if size else ""
    return PartName(name.replace(found, size, 1), found) if found else PartName(name)


def called(part: Part) -> str:
    """The same of a part that may have no name: then nothing."""
    return named("", part).text


def for_the_shop(part_id: str, part: Part) -> PartName:
    """The same as it is ordered: with its maker, and with its size where the name has none."""
    found = named(part_id, part)
    name, maker = found.text, part.maker or ""
    title = name if not maker or maker in name else f"{maker} {name}".strip()
    unsaid = [word for word in size_of(part).split() if word not in title.split()]
    return PartName(f"{title}, {' '.join(unsaid)}" if unsaid else title, found.says)


def with_kind(title: str, part: Part, places: Iterable[str]) -> str:
    """A part's title behind what it is, where none of its own words says that: ``turbo, XY 16``."""
    roots = {place.partition(".")[0] for place in places}
    kind = getattr(part, "kind", "")
    said = {kind, *roots} - {""}
    words = {word for one in said for word in one.split("_") if len(word) > 2}
    if not words or any(word.rstrip("s") in title.lower() for word in words):
        return title
    return f"{(min(roots) if len(roots) == 1 else kind).replace('_', ' ')}, {title}"


def _otherwise(name: str, size: str, *, tyre: bool) -> str:
    """The marking in a name that is not that of the figures; empty where none is."""
    for form in (_TYRE,) if tyre else (_WHEEL, _OFFSET):
        for match in form.finditer(name):
            try:
                differs = _tyre_differs if tyre else _wheel_differs
                if differs(match[0], size):
                    return match[0]
            except (MarkingError, WheelMarkingError):
                continue
    return ""


def _tyre_differs(said: str, size: str) -> bool:
    one, other = parse_marking(said), parse_marking(size)
    return one.size != other.size or (bool(one.service) and _service(one) != _service(other))


def _service(one: TyreMarking) -> tuple[int | None, str | None]:
    return one.load_index, one.speed_symbol


def _wheel_differs(said: str, size: str) -> bool:
    other = parse_wheel(size)
    alone = _OFFSET.fullmatch(said)
    if alone is not None:
        return other.offset_mm is not None and float(alone[1].replace("−", "-")) != other.offset_mm
    one = parse_wheel(said)
    return (one.rim_width_in, one.rim_code) != (other.rim_width_in, other.rim_code) or any(
        mine is not None and mine != theirs for mine, theirs in _rest(one, other)
    )


def _rest(one: WheelMarking, other: WheelMarking) -> tuple[tuple[float | None, float | None], ...]:
    """What a marking may leave out, and the figures may."""
    pairs = ((one.offset_mm, other.offset_mm), (one.bolt_count, other.bolt_count),
             (one.circle_mm, other.circle_mm))  # fmt: skip
    return tuple(pair for pair in pairs if pair[1] is not None)
