"""Numbers as they are said: the doubt decides the decimals."""

from __future__ import annotations

import math
from functools import lru_cache
from typing import Literal

from drybuild.values.kinds import Kind, kind_named
from drybuild.values.units import Unit, unit_of

System = Literal["metric", "us"]

NOISE = 1e-9


def show(kind: str, median: float, low: float | None = None, high: float | None = None,
         system: System = "metric") -> str:
    """A figure with its doubt in words: ``about 4 mm, 1 to 7``; SI in.

    Decimals follow the doubt: its half-width keeps one figure, and the figures one more where
    rounding would move one of them by a third of the doubt, or make an end read 0 that is not.
    Without doubt: as ``show_number``.
    """
    if kind == "match":
        return "yes" if median >= 0.0 else "no"
    if math.isnan(median):
        return "not solved"
    if low is None or high is None or math.isnan(low) or math.isnan(high):
        return show_number(kind, median, system)
    middle, least, most, label = figures(kind, median, low, high, system)
    if least == middle == most:
        return _with_unit(middle, label)
    return f"about {_with_unit(middle, label)}, {least} to {most}"


def figures(kind: str, median: float, low: float, high: float,
            system: System = "metric") -> tuple[str, str, str, str]:
    """Median, lower and upper end in one unit with the same decimals, and the unit; SI in.

    What is below a billionth of the shown unit is the arithmetic's own noise and reads 0.
    """
    the_kind = kind_named(kind)
    unit, label = shown_unit(the_kind, max(abs(low), abs(high), abs(median)), system)
    middle = unit.from_si(median)
    ends = sorted((unit.from_si(low), unit.from_si(high)))
    half = (ends[1] - ends[0]) / 2.0
    if not math.isfinite(half):
        return _plain(middle), _plain(ends[0]), _plain(ends[1]), label
    if max(abs(middle), abs(ends[0]), abs(ends[1])) < NOISE:
        return "0", "0", "0", label
    if half <= 1e-9 * abs(middle):
        said = _plain(middle)
        return said, said, said, label
    places = _places(half, (middle, *ends))
    if any(end != 0.0 and float(_fixed(end, places)) == 0.0 for end in ends):
        places += 1
    if the_kind.places is not None:
        places = min(places, the_kind.places)
    return _fixed(middle, places), _fixed(ends[0], places), _fixed(ends[1], places), label


def show_number(kind: str, value: float, system: System = "metric") -> str:
    """A figure alone: two significant figures, a third where the first is 1 to 3 or the number
    has three whole digits; whole digits are never rounded away. SI in."""
    the_kind = kind_named(kind)
    if kind == "match":
        return "yes" if value >= 0.0 else "no"
    if math.isnan(value):
        return "not solved"
    unit, label = shown_unit(the_kind, value, system)
    return _with_unit(_plain(unit.from_si(value)), label)


def show_value(value: float, unit: str, kind: str) -> str:
    """An SI figure in a unit of the caller's choice, exactly enough to read back (12 figures)."""
    return _with_unit(f"{unit_of(unit, kind).from_si(value):.12g}", unit)


def written(kind: str, value: float) -> str:
    """An SI figure as text that reads back as the same figure, in a usual metric unit."""
    _, label = shown_unit(kind_named(kind), value)
    return show_value(value, label, kind)


def to_unit(kind: str, value: float, unit: str) -> float:
    """The number in ``unit`` of an SI value of that kind."""
    return unit_of(unit, kind).from_si(value)


@lru_cache(maxsize=256)
def fixed_unit(kind: str) -> str:
    """The one unit of that kind for files that machines read, whatever the display."""
    return kind_named(kind).si


def shown_unit(kind: Kind, size: float, system: System = "metric") -> tuple[Unit, str]:
    """The unit in which a figure of that size is shown, and its label."""
    if system not in ("metric", "us"):
        raise ValueError(f"units are 'metric' or 'us'; found {system!r}")
    choices = kind.metric if system == "metric" else kind.us
    label = choices[0][0]
    if len(choices) > 1:
        if size == 0.0 or math.isnan(size):
            # Nothing is said in the usual unit: 0 kg, not 0 g; but a length in mm, not in m.
            label = choices[0 if kind.family == "length" else 1][0]
        else:
            for name, start in choices:
                if abs(size) >= start:
                    label = name
    return unit_of(label, kind.name), label


def _with_unit(number: str, label: str) -> str:
    return f"{number} {label}" if label else number


def _places(half: float, figures: tuple[float, ...]) -> int:
    """Decimals (negative: tens) that leave one figure of the half-width; one more when rounding
    would move a figure by a third of it."""
    places = -math.floor(math.log10(half * 1.05))
    moved = max(abs(float(_fixed(figure, places)) - figure) for figure in figures)
    return places + 1 if moved > 0.35 * half else places


def _fixed(number: float, places: int) -> str:
    rounded = round(number, places)
    if rounded == 0.0:
        rounded = 0.0  # never -0
    return f"{rounded:.{max(places, 0)}f}"


def _plain(number: float) -> str:
    if math.isinf(number):
        return "far above" if number > 0 else "far below"
    size = abs(number)
    if size == 0.0:
        return "0"
    power = math.floor(math.log10(size))
    if power >= 2:
        return _fixed(number, 0)
    figures = 3 if size / 10.0**power < 4.0 or power >= 1 else 2
    text = _fixed(number, figures - 1 - power)
    return text.rstrip("0").rstrip(".") if "." in text else text
