"""Numbers of cards that stay: a card that hangs in the garage on paper keeps its number.

What is written down takes tasks out of a plan, and would number all that is left anew. So the
numbers are kept with the plan; a card of other tasks than before has a new one, behind the last.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from itertools import groupby

from drybuild.work.model import Plan, Problem, Step
from drybuild.work.stretches import stretches

Numbers = Mapping[str, int]
"""``named`` of a step → the number of the card that it is on."""

_ONCE = " once on card "


def named(step: Step) -> str:
    """What names a step for the card that it is on: a card is of one session."""
    return f"{step.session} {step.key}"


def numbered(cut: Iterable[tuple[Step, ...]], known: Numbers) -> tuple[int, ...]:
    """A number for each stretch of a plan: the known one where all its steps stood on one card.

    A known number is given once; what is left is numbered in order, behind the highest known.
    """
    given: set[int] = set()
    following = max(known.values(), default=0) + 1
    found = []
    for steps in cut:
        numbers = {known.get(named(step), 0) for step in steps}
        number = numbers.pop() if len(numbers) == 1 else 0
        if not number or number in given:
            number, following = following, following + 1
        given.add(number)
        found.append(number)
    return tuple(found)


def as_printed(
    cut: Iterable[tuple[Step, ...]], known: Numbers
) -> tuple[tuple[Step, ...], ...]:
    """The stretches of a plan, parted where one card ended and another began: what is done since
    may leave two cards in one stretch, and both are on paper."""
    if not known:
        return tuple(cut)
    return tuple(
        tuple(steps)
        for stretch in cut
        for _, steps in groupby(stretch, lambda step: known.get(named(step), 0))
    )


def stays(problem: Problem, plan: Plan, known: Numbers) -> dict[str, int]:
    """What is to be kept with the plan that follows this one: the numbers of its cards."""
    cut = as_printed(stretches(problem, plan), known)
    return numbers_of(zip(numbered(cut, known), cut, strict=True), known)


def numbers_of(cut: Iterable[tuple[int, Iterable[Step]]], known: Numbers) -> dict[str, int]:
    """Numbers of the cards as they are, of those that are done, and on which card a task was before
    it came to another."""
    found = dict(known)
    for number, steps in cut:
        for name in map(named, steps):
            before = found.get(name, number)
            if before != number:
                found[f"{name}{_ONCE}{before}"] = before
            found[name] = number
    return found


def moved(
    number: int, known: Numbers, cut: Mapping[int, tuple[Step, ...]]
) -> dict[int, tuple[Step, ...]]:
    """Where the tasks of a card that is gone are now: number → those of them on that card.

    A job is looked for on every day, anything else on its own: it may come on others besides.
    """
    names = {name.partition(_ONCE)[0] for name, one in known.items() if one == number}
    keys = {name.partition(" ")[2] for name in names}
    found = {}
    for there, steps in cut.items():
        same = (s for s in steps if named(s) in names or (s.kind == "job" and s.key in keys))
        if tasks := tuple(same):
            found[there] = tasks
    return found
