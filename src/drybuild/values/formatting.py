"""Numbers as they are said: the doubt decides the decimals.

One rule for every figure with a band (``stepped``): it is rounded to steps of 1 or 5 times a power
of ten, the widest of them that the band holds five times; whole units are not counted in fives, so
that what a slider moves by 12 mm is seen to move by 12. So the band is 5 to 25 steps wide, or up to
50 whole units, and its half-width has at most two figures; the middle is rounded to the same step
(JCGM 100:2008, 7.2.6: an uncertainty is given to at most two significant digits, and the estimate
is rounded to be consistent with it). ``7.4, 0.1 to 15.6`` is said ``7, 0 to 16``.

- The middle and both ends have the same decimals, ``340.0, 339.5 to 340.5``; a place that is 0 in
  all three is left out.
- A sign is not rounded away: where what is below 0 would read 0, or a middle whose whole band lies
  above 0, all three are given on a step one figure finer.
- Bands of one finding (the room, and what there is to the limit itself) share unit and step, the
  finer of theirs (``beside``): on every face they are said alike and differ by what is wanted.
- What is below a billionth of the shown unit is the arithmetic's own noise and reads 0.
- Whoever reads sees a minus sign, ``−3 mm``; files and what machines read have the hyphen
  (``written``, ``show_value``). Typed, both are read.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from functools import lru_cache
from typing import Literal

from drybuild.values.kinds import Kind, kind_named
from drybuild.values.units import Unit, unit_of

System = Literal["metric", "us"]
Band = tuple[float, float, float]
"""Middle, low and high end."""
Grid = tuple[float, int]
"""A step, and its places behind the point."""

NOISE = 1e-9
MINUS = "−"
_NEGATIVE = re.compile(r"(?<![^\s(\[,;:…±→])-(?=\.?\d)(?!\d+ ?(?:AN|JIC)\b)")


def show(kind: str, median: float, low: float | None = None, high: float | None = None,
         system: System = "metric", *, size: float = 0.0) -> str:
    """A figure with its doubt in words: ``about 4 mm, 1 to 7``; SI in. The rule: ``stepped``.

    Without doubt: as ``show_number``. size: of what stands beside it, whose unit it takes.
    """
    if kind == "match":
        return "yes" if median >= 0.0 else "no"
    if math.isnan(median):
        return "not solved"
    if low is None or high is None or math.isnan(low) or math.isnan(high):
        return show_number(kind, median, system, size=size)
    return band_text(figures(kind, median, low, high, system, size=size))


def band_text(said: tuple[str, str, str, str]) -> str:
    """Figures in words: ``about 4 mm, 1 to 7``."""
    middle, least, most, label = said
    if least == middle == most:
        return _with_unit(middle, label)
    return f"about {_with_unit(middle, label)}, {least} to {most}"


def short_text(said: tuple[str, str, str, str]) -> str:
    """What a margin that lies wholly below 0 lacks, in words; its near end never reads 0."""
    middle, least, most, label = said
    middle, near, far = map(unsigned, (middle, most, least))
    far = far.replace("below", "above")
    if near == middle == far:
        return _with_unit(middle, label)
    return f"about {_with_unit(middle, label)}, {near} to {far}"


def figures(kind: str, median: float, low: float, high: float, system: System = "metric", *,
            beside: Band | None = None, size: float = 0.0) -> tuple[str, str, str, str]:
    """Median, lower and upper end in one unit by the rule ``stepped``, and the unit; SI in.

    beside: the other band of the same finding, in whose unit and step it is said, or the finer;
    size: by which the unit is chosen instead of by its own."""
    the_kind = kind_named(kind)
    both = [(low, high, median), *([beside] if beside is not None else [])]
    size = size or max(abs(figure) for band in both for figure in band)
    unit, label = shown_unit(the_kind, size, system)
    finer = None
    if beside is not None:
        finer = _grid(*_read_in(unit, beside), the_kind.places)
    own = _read_in(unit, (median, low, high))
    return *stepped(*own, most=the_kind.places, finer=finer), label


def stepped(middle: float, low: float, high: float, *, most: int | None = None,
            finer: Grid | None = None) -> tuple[str, str, str]:
    """Middle, lower and upper end of a band as this module's rule writes them.

    In the unit in which they are read; ``most`` places behind the point at most; finer: a step and
    its places that are taken where they are finer than its own.
    """
    three = (middle, low, high)
    if not math.isfinite(high - low):
        return _read(middle), _read(low), _read(high)
    if max(abs(figure) for figure in three) < NOISE:
        return "0", "0", "0"
    own = _grid(middle, low, high, most)
    if own is None:
        said = _read(middle)
        return said, said, said
    step, places = own if finer is None else min(own, finer)
    steps = [_steps(figure, step) or (sign and int(math.copysign(1, figure)))
             for figure, sign in zip(three, _kept(*three), strict=True)]  # fmt: skip
    return _alike([_fixed(n * step, places) for n in steps])


def _grid(middle: float, low: float, high: float, most: int | None) -> Grid | None:
    """Step and places of a band by the rule; None where it has no doubt to go by."""
    if not math.isfinite(high - low) or high - low <= 2e-9 * abs(middle):
        return None
    step, places = _step(high - low)
    if most is not None and places > most:
        step, places = 10.0**-most, most
    three = (middle, low, high)
    kept = _kept(*three)
    if any(sign and not _steps(figure, step) for figure, sign in zip(three, kept, strict=True)):
        places = places if step > 2.0 * 10.0**-places else places + 1
        step = 10.0**-places
    return step, places


def _kept(middle: float, low: float, high: float) -> tuple[bool, bool, bool]:
    """Of which of the three the sign is not rounded away."""
    whole_above = low >= 0.0 and middle > NOISE
    return middle < -NOISE or whole_above, low < -NOISE, high < -NOISE


def _read_in(unit: Unit, band: Band) -> Band:
    """Middle and both ends, the lower first, in the unit in which they are read."""
    middle, *ends = (unit.from_si(figure) for figure in band)
    low, high = sorted(ends)
    return middle, low, high


def show_number(
    kind: str, value: float, system: System = "metric", *, size: float = 0.0
) -> str:
    """A figure alone: two significant figures, a third where the first is 1 to 3 or the number
    has three whole digits; whole digits are never rounded away. SI in. size: as in ``figures``."""
    the_kind = kind_named(kind)
    if kind == "match":
        return "yes" if value >= 0.0 else "no"
    if math.isnan(value):
        return "not solved"
    unit, label = shown_unit(the_kind, size or value, system)
    return _with_unit(_read(unit.from_si(value)), label)


def show_numbers(
    kind: str, values: Sequence[float], system: System = "metric"
) -> tuple[str, ...]:
    """Figures of one row, each as ``show_number``, all in the one unit of the greatest."""
    unit, label = shown_unit(kind_named(kind), max(map(abs, values), default=0.0), system)
    return tuple(_with_unit(_read(unit.from_si(value)), label) for value in values)


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


def _steps(number: float, step: float) -> int:
    """The nearest step to a number; what lies between two goes away from 0."""
    return int(math.copysign(math.floor(abs(number) / step + 0.5 + 1e-9), number))


def _alike(texts: list[str]) -> tuple[str, str, str]:
    """Three figures without the places that are 0 in all of them, read with a minus sign."""
    while all("." in text and text[-1] in "0." for text in texts):
        texts = [text[:-1] for text in texts]
    middle, low, high = (with_minus(text) for text in texts)
    return middle, low, high


def with_minus(text: str) -> str:
    """A text of figures as it is read: before each negative one the minus sign, no hyphen.

    A hyphen within a word, between two figures (a date) or before a dash size stays.
    """
    return _NEGATIVE.sub(MINUS, text)


def unsigned(figure: str) -> str:
    """A figure as it is read, without its sign."""
    return figure.removeprefix(MINUS)


def number_of(figure: str) -> float:
    """The number of a figure as it is read: ``−0.5``."""
    return float(figure.replace(MINUS, "-"))


def _fixed(number: float, places: int) -> str:
    rounded = round(number, places)
    if rounded == 0.0:
        rounded = 0.0  # never -0
    return f"{rounded:.{max(places, 0)}f}"


def _read(number: float) -> str:
    return with_minus(_plain(number))


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
