"""Words of what an alignment is to set: for the card, the day's sheet, the screen."""

from __future__ import annotations

from collections.abc import Iterable

from drybuild.examine.setting_sheet import AngleRow
from drybuild.findings.finding import Interval
from drybuild.show.alignment import FIXED, GUESSED, aim_figure, angle_text, toe_text
from drybuild.show.cards_words import short_day
from drybuild.values import System, show
from drybuild.work.cards import Card
from drybuild.work.to_set import ToSet

LOOK_UP = "LOOK UP"
MORE = "what the adjusters have left, and the strings drawn: drybuild alignment"


def wheel_text(one: ToSet) -> str:
    """``front left camber``."""
    return f"{one.corner.replace('.', ' ')} {one.angle}"


def aim_text(one: ToSet, system: System = "metric") -> str:
    """What it is set to; of what nothing sets, what it is looked at for."""
    said = wanted_text(one, system)
    if not one.fixed:
        return said
    return f"{FIXED}: {'' if said.startswith(LOOK_UP) else 'look that it is '}{said}"


def wanted_text(one: ToSet, system: System = "metric") -> str:
    """``−1.8 deg, to within 0.1 deg``; toe that is set also in minutes and in a length over its
    diameter."""
    if one.aim is None:
        return f"{LOOK_UP} (no {one.aim_at})"
    said = aim_figure(one.aim)
    if one.aim_is == "guess":
        return f"{LOOK_UP} ({said}{GUESSED})"
    said += ", as found" if one.aim_is == "found" else ""
    if one.angle == "toe" and not one.fixed:
        figure = aim_figure(one.aim)
        lengths = toe_text(_row(one), _exact(one.aim), system).removeprefix(figure)
        said = said.replace(figure, figure + lengths, 1)
    return f"{said}, to within {show('angle', one.within)}" if one.within else said


def parts_text(one: ToSet) -> str:
    """``the parts leave about −1.45 deg, …``; what an alignment before it sets is said to be so;
    empty where nobody knows."""
    if one.set_on is not None:
        return f"set to it on {short_day(one.set_on)}: what differs has moved since"
    return "" if one.parts is None else f"the parts leave {angle_text(one.parts)}"


def source_text(found: Iterable[ToSet]) -> str:
    """Where the aims are stated."""
    chosen = tuple(found)
    files = dict.fromkeys(one.file for one in chosen if one.file and one.aim_is == "stated")
    if files:
        return f"aims as {' and '.join(files)} states them under [goal]"
    if any(one.aim_is == "guess" for one in chosen):
        return "nobody has stated an aim under [goal]: the maker's, or your own"
    return "aims: as found; nobody has stated others under [goal]" if chosen else ""


def set_lines(card: Card, system: System = "metric") -> list[str]:
    """An alignment's card: a line for each angle of each wheel, with blanks."""
    lines = []
    for one in card.to_set:
        said = f"{wheel_text(one)}: {aim_text(one, system)} · before ______ after ______"
        lines.append(" · ".join(filter(None, (said, parts_text(one)))))
    return [*lines, *([foot_text(card)] if lines else [])]


def axle_lines(cards: Iterable[Card], system: System = "metric") -> list[str]:
    """The same in short for a day's sheet, sides together where they are wanted alike."""
    lines = []
    for card in cards:
        for verb, fixed in (("set", False), ("look at", True)):
            axles = _by_axle([one for one in card.to_set if one.fixed is fixed], system)
            lines += [f"card {card.number}, {verb} {axle}: {'; '.join(w)}"
                      for axle, w in axles.items()]  # fmt: skip
    return lines


def _by_axle(found: Iterable[ToSet], system: System) -> dict[str, list[str]]:
    said: dict[str, list[str]] = {}
    for one in found:
        said.setdefault(f"{one.angle} {wanted_text(one, system)}", []).append(one.corner)
    axles: dict[str, list[str]] = {}
    for words, corners in said.items():
        sides = {c.split(".")[0] for c in corners}
        both = len(corners) == 2 and len(sides) == 1
        where = sides.pop() if both else " and ".join(c.replace(".", " ") for c in corners)
        axles.setdefault(where, []).append(words)
    return axles


def foot_text(card: Card) -> str:
    """What stands under the figures: who states them, and what says more."""
    return "; ".join(filter(None, (source_text(card.to_set), MORE)))


def _exact(aim: float) -> Interval:
    return Interval(aim, aim, aim)


def _row(one: ToSet) -> AngleRow:
    return AngleRow(
        one.corner, one.angle, None, None, None, None, None, False, one.aim, None, one.over
    )
