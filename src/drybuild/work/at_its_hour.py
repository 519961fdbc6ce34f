"""Hand checks that have an hour: they stand on a card, for the page of the day comes too late.

What must be seen before the engine turns stands on the card whose work makes it owed, where the
engine runs afterwards; what is seen while a wheel hangs, on the card that lets it down.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from drybuild.examine import Owed
from drybuild.findings import AXLES
from drybuild.work.cards import Card
from drybuild.work.ends import work_of
from drybuild.work.evidence import changes_of
from drybuild.work.model import Problem, Step
from drybuild.work.standing import Standing

BEFORE_IT_TURNS = frozenset({"turn over", "run"})
HANGING = "before it goes down, the wheels hanging: "
LIFTED = "raised_"
"""How components begin that are the car standing up at an end, or whole on a lift."""


def at_their_hour(problem: Problem, cards: Sequence[Card]) -> tuple[Card, ...]:
    """The cards with the checks that have an hour among those that they make."""
    found = list(cards)
    for place, card in enumerate(cards):
        for owed in card.records:
            where = _where(problem, cards, place, owed)
            if where is not None:
                said = replace(owed, title=HANGING + owed.title) if owed.hanging else owed
                there = found[where]
                records = tuple(o for o in there.records if where != place or o != owed)
                found[where] = replace(there, makes=(*there.makes, said), records=records)
    return tuple(found)


def placed(problem: Problem, card: Card) -> tuple[Owed, ...]:
    """The checks that stand on a card for their hour: none of its tasks makes them."""
    own = {c.target for s in card.steps for c in changes_of(problem, s) if c.kind == "verify"}
    return tuple(owed for owed in card.makes if owed.record not in own)


def _where(problem: Problem, cards: Sequence[Card], place: int, owed: Owed) -> int | None:
    """The place of the card on which a check stands that a card makes owed."""
    session, record = cards[place].session, owed.record
    rest = [n for n in range(place + 1, len(cards)) if cards[n].session == session]
    if any(record in {o.record for o in (*cards[n].records, *cards[n].makes)} for n in rest):
        return None
    if owed.hanging:
        return next((n for n in rest if _lets_down(cards[n], owed)), None)
    runs = any(work_of(problem, s).engine == "runs" for n in rest for s in cards[n].steps)
    return place if runs and BEFORE_IT_TURNS & set(owed.stops) else None


def _lets_down(card: Card, owed: Owed) -> bool:
    """Whether a card lets an end down of which a wheel is to be looked at while it hangs."""
    ends = {axle for axle in AXLES if any(axle in place.split(".") for place in owed.places)}
    return any(letting_down(step) & (ends or set(AXLES)) for step in card.steps)


def letting_down(step: Step) -> set[str]:
    """The ends of the car that a step lets down."""
    if step.kind != "refit" or not step.what.startswith(LIFTED):
        return set()
    return {axle for axle in AXLES if step.what == LIFTED + axle} or set(AXLES)


def counted(cards: Sequence[Card], session: str, car: Standing) -> Standing:
    """The car at a session's end, with what its cards and those before it mean to have made among
    what is counted on."""
    last = max(n for n, card in enumerate(cards) if card.session == session)
    made: dict[str, bool] = {}
    for card in cards[: last + 1]:
        made |= {o.record: False for o in card.records}
        made |= {o.record: True for o in card.makes}
    on_cards = tuple(o for o in car.owed if made.get(o.record))
    left = tuple(o for o in car.owed if o not in on_cards)
    return replace(car, owed=left, counted_on=(*car.counted_on, *on_cards))
