"""What other hands must have done before a card goes on."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass

from drybuild.work.before import Before
from drybuild.work.model import Step


@dataclass(frozen=True, slots=True)
class Waits:
    """Steps of another card on which a card rests. hand: who has that card;
    goes_on: the first step that rests on them."""

    hand: str
    steps: tuple[Step, ...]
    goes_on: Step


def waits(
    before: Before, cut: Sequence[tuple[Step, ...]], mine: tuple[Step, ...]
) -> tuple[Waits, ...]:
    """Card by card, in order: what others do that a card rests on. What comes before one of that
    anyway is left out, and what the same hands have done on a card before.

    cut: the steps of every card; mine: of the one that is asked about.
    """
    needed = {
        one
        for step in mine
        for one in before.direct(step)
        if one.session == mine[0].session and one not in mine
    }
    others = [steps for steps in cut if steps != mine and lead(steps) != lead(mine)]
    return _card_by_card(before, others, mine, needed)


def rests_on(
    before: Before,
    cut: Sequence[tuple[Step, ...]],
    mine: tuple[Step, ...],
    done: Collection[Step],
) -> tuple[Waits, ...]:
    """The same of what is not done yet, on whatever day and by whatever hands.

    mine: what is left of the card that is asked about.
    """
    needed = {
        one
        for step in mine
        for one in before.direct(step)
        if one not in mine and one not in done
    }
    return _card_by_card(before, cut, mine, needed)


def _card_by_card(
    before: Before,
    cut: Sequence[tuple[Step, ...]],
    mine: tuple[Step, ...],
    needed: Collection[Step],
) -> tuple[Waits, ...]:
    implied = {one for step in needed for one in before.all(step)}
    found = []
    for steps in cut:
        left = [s for s in steps if s in needed and s not in implied]
        for step in mine:
            there = tuple(s for s in left if s in before.direct(step))
            left = [s for s in left if s not in there]
            if there:
                found.append(Waits(lead(steps), there, step))
    return tuple(found)


def lead(steps: Sequence[Step]) -> str:
    """The hands that a card is in; empty for what needs nobody."""
    return next((step.who[0] for step in steps if step.who), "")
