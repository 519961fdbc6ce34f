"""Numbers as they are said: the doubt decides the decimals.

One rule for every figure with a band (``stepped``): it is rounded to steps of 1 or 5 times a power
of ten, the widest of them that the band holds five times; whole units are not counted in fives, so
that what a slider moves by 12 mm is seen to move by 12. So the band is 5 to 25 steps wide, or up to
50 whole units, and its half-width has at most two figures; the middle is rounded to the same step
(JCGM 100:2008, 7.2.6: an uncertainty is given to at most two significant digits, and the estimate
is rounded to be consistent with it). ``7.4, 0.1 to 15.6`` is said ``7, 0 to 16``.

- Zeros behind the point stand where they are read. They go where the last place of all three is
  0 or 5, so that it is no more than a half: ``340, 339.5 to 340.5``; and 0 is ``0``.
- A sign is not rounded away: what is below 0 and would read 0 is given on a step one figure
  finer, and so is a middle whose whole band lies above 0.
- What is below a billionth of the shown unit is the arithmetic's own noise and reads 0.
"""

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
    """A figure with its doubt in words: ``about 4 mm, 1 to 7``; SI in. The rule: ``stepped``.

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


def show_short(kind: str, median: float, low: float, high: float,
               system: System = "metric") -> str:
    """What a margin that lies wholly below 0 lacks, in words; its near end never reads 0."""
    middle, least, most, label = figures(kind, median, low, high, system)
    middle, near, far = (text.removeprefix("-") for text in (middle, most, least))
    far = far.replace("below", "above")
    if near == middle == far:
        return _with_unit(middle, label)
    return f"about {_with_unit(middle, label)}, {near} to {far}"


def figures(kind: str, median: float, low: float, high: float,
            system: System = "metric") -> tuple[str, str, str, str]:
    """Median, lower and upper end in one unit by the rule ``stepped``, and the unit; SI in."""
    the_kind = kind_named(kind)
    unit, label = shown_unit(the_kind, max(abs(low), abs(high), abs(median)), system)
    middle, *ends = (unit.from_si(figure) for figure in (median, low, high))
    return *stepped(middle, *sorted(ends), most=the_kind.places), label


def stepped(middle: float, low: float, high: float, *,
            most: int | None = None) -> tuple[str, str, str]:
    """Middle, lower and upper end of a band as this module's rule writes them.

    In the unit in which they are read; ``most`` places behind the point at most.
    """
    three = (middle, low, high)
    if not math.isfinite(high - low):
        return _plain(middle), _plain(low), _plain(high)
    if max(abs(figure) for figure in three) < NOISE:
        return "0", "0", "0"
    if high - low <= 2e-9 * abs(middle):
        said = _plain(middle)
        return said, said, said
    step, places = _step(high - low)
    if most is not None and places > most:
        step, places = 10.0**-most, most
    texts = [_to_step(figure, step, places) for figure in three]
    if places > 0 and all(text[-1] in "05" for text in texts):
        texts = [text.rstrip("0").rstrip(".") for text in texts]
    texts = ["0" if float(text) == 0.0 else text for text in texts]
    for at, figure in enumerate(three):
        kept = figure < -NOISE or (at == 0 and low >= 0.0 and figure > NOISE)
        if kept and texts[at] == "0":
            texts[at] = _finer(figure, step, places)
    return texts[0], texts[1], texts[2]


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


def _step(width: float) -> tuple[float, int]:
    """The widest step of 1 or 5 times a power of ten that the width holds five times, 5 itself left
    out, and its places behind the point (negative: tens)."""
    power = math.floor(math.log10(width / 5.0 * (1.0 + 1e-9)))
    five = power != 0 and width / 5.0 * (1.0 + 1e-9) >= 5.0 * 10.0**power
    return (5.0 if five else 1.0) * 10.0**power, -power


def _to_step(number: float, step: float, places: int) -> str:
    """The number on the nearest step; what lies between two goes away from 0."""
    steps = math.floor(abs(number) / step + 0.5 + 1e-9)
    return _fixed(math.copysign(steps * step, number), places)


def _finer(number: float, step: float, places: int) -> str:
    """The number on a step one figure finer, and never 0 there."""
    finer = places if step > 2.0 * 10.0**-places else places + 1
    unit = 10.0**-finer
    return _fixed(math.copysign(max(unit, round(abs(number) / unit) * unit), number), finer)


def _fixed(number: float, places: int) -> str:
    rounded = round(number, places)
    if rounded == 0.0:
        rounded = 0.0  # never -0
    return f"{rounded:.{max(places, 0)}f}"


def _plain(number: float) -> str:
    if math.isnan(number):
        return "not solved"
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
