"""What stops the car, cause by cause: reasons that one thing lifts are one line."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from drybuild.findings.words import use_closure, uses
from drybuild.show.cards_words import cards_text_of, lift_text, why_text
from drybuild.work.cards import Card, number_of
from drybuild.work.standing import Stop

NAMED = 4
"""Reasons of one cause that a line names before it counts the rest."""


@dataclass(frozen=True, slots=True)
class Cause:
    """Reasons of one cause in words: the uses that they stop, without those that need
    one of these, why, and what lifts them."""

    uses: str
    why: str
    lift: str
    stops: tuple[Stop, ...]


def causes(
    stops: Iterable[Stop], cards: Iterable[Card], *, brief: bool = False, named: int = NAMED
) -> list[Cause]:
    """Cause by cause, in the order of the first reason of each: all that is off the car is one
    cause, and so is all that one task lifts, and one check at several places.

    brief: what lifts it as ``lift_text`` has it where the card is in hand; named: reasons of one
    that are named before the rest is counted.
    """
    known = tuple(cards)
    same: dict[object, list[Stop]] = {}
    for stop in stops:
        same.setdefault(_cause(stop), []).append(stop)
    return [_said(these, known, brief, named) for these in same.values()]


def split(found: Sequence[Cause], most: int) -> tuple[list[Cause], int]:
    """The first causes, and how many reasons the others have; one more than fits is shown."""
    shown = list(found) if len(found) <= most + 1 else list(found[:most])
    return shown, sum(len(one.stops) for one in found[len(shown) :])


def _cause(stop: Stop) -> object:
    if stop.kind == "off":
        return "off"
    if stop.by is not None:
        return stop.by
    return (stop.kind, stop.what or stop.why, stop.lift, stop.passes)


def _said(stops: list[Stop], cards: tuple[Card, ...], brief: bool, named: int) -> Cause:
    roots = {use for stop in stops for use in stop.roots}
    names = ", ".join(
        u.name for u in uses() if u.name in roots and not (use_closure(u.name) - {u.name}) & roots
    )
    places: dict[tuple[str, str, str], Stop] = {}
    for stop in stops:
        key = (stop.what, stop.why, stop.waits_for) if stop.subjects else (why_text(stop), "", "")
        had = places.get(key)
        both = (*had.subjects, *stop.subjects) if had is not None else stop.subjects
        places[key] = replace(stop, subjects=tuple(dict.fromkeys(both)))
    whys = list(dict.fromkeys(why_text(stop) for stop in places.values()))
    rest = len(whys) - named
    why = "; ".join([*whys[:named], f"{rest} more"] if rest > 1 else whys)
    return Cause(names, why, _lift(stops, cards, brief), tuple(stops))


def _lift(stops: list[Stop], cards: tuple[Card, ...], brief: bool) -> str:
    """What lifts all of them: one task by its name, several by their cards."""
    lifts = list(dict.fromkeys(lift_text(stop, cards, brief=brief) for stop in stops))
    if len(lifts) == 1:
        return lifts[0]
    numbers = [number_of(cards, stop.by) for stop in stops]
    others = dict.fromkeys(
        lift_text(s, cards) for s, n in zip(stops, numbers, strict=True) if n is None
    )
    named = cards_text_of(n for n in numbers if n is not None)
    return "; ".join([*([named] if named else []), *others])
