"""``what-fits --must-fit``: what must change so that this tyre fits on this axle.

The tyre goes onto a copy of the car. What it makes short or unsure is gathered, and every ladder
is tried: alone, then two together, then three. Checks that no common ladder helps are cured apart.
Each answer is examined whole before it is given: the checks it is for have room enough, and no
other finding is worse than with the tyre alone.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import combinations, product

import numpy as np

from drybuild.build import Change, State
from drybuild.build.errors import ChangeRefused
from drybuild.build.proposed import Proposed, with_proposed
from drybuild.build.tyre_marking import MarkingError, TyreMarking, parse_marking
from drybuild.examine.catalogue import families
from drybuild.examine.catalogue.candidates import Candidate, make_field, marking_of
from drybuild.examine.catalogue.ladders import (
    Ladder,
    Step,
    coarse,
    is_place,
    make_ladders,
    overlap,
    permitted,
)
from drybuild.examine.catalogue.moved import Moves, moves
from drybuild.examine.catalogue.screen import Key, Screened, axle_scope
from drybuild.examine.catalogue.search import camber_today, fitted_part, joint_of
from drybuild.examine.catalogue.tries import (
    Search,
    clusters,
    first_slow,
    good,
    helping_ladders,
    helping_slowly,
    holds,
    parts_of,
    works_for,
)
from drybuild.examine.examination import DRAWS, SEED, Examination, examine_state
from drybuild.findings import AXLES, Finding, Registry

ANSWERS = 4
RUNGS = 4
"""Rungs of a ladder examined whole, from the first that seemed to do."""

COARSE = (0, 0, 8, 5)
"""Settings of each ladder tried, by how many go together."""


_Tried = tuple[tuple[Ladder, ...], list[tuple[Step, ...]]]
"""Ladders, and settings of them that seem to do, the smallest first."""


@dataclass(frozen=True)
class MustFit:
    """What is asked: a tyre (id in parts/ or a marking), maybe a wheel (an id), an axle."""

    axle: str
    tyre: str
    wheel: str | None = None
    rim_width: str | None = None
    offset: str | None = None


@dataclass(frozen=True)
class Answer:
    """Steps that make a group of checks enough, examined. effort: of the ladders together."""

    steps: tuple[Step, ...]
    notes: tuple[str, ...]
    effort: float
    examination: Examination
    joint: float

    @property
    def changes(self) -> tuple[Change, ...]:
        """All Changes, in order."""
        return tuple(c for step in self.steps for c in step.changes)


@dataclass(frozen=True)
class Group:
    """Checks that the same ladders help, and the answers for them, the smallest first."""

    findings: tuple[Finding, ...]
    answers: tuple[Answer, ...]


@dataclass(frozen=True)
class MustFitAnswer:
    """The tyre on the car as planned, what it makes short, and what cures it.

    groups: cured ones with their answers; left: findings that nothing known here cures; together:
    the first answer of every group at once, examined, or None where there is none or it fails.
    """

    asked: MustFit
    candidate: Candidate
    planned: Examination
    with_tyre: Examination
    joint: float
    groups: tuple[Group, ...]
    left: tuple[Finding, ...]
    unmeasured: tuple[Finding, ...]
    together: Answer | None
    moves: Moves


def must_fit(
    start: State,
    registry: Registry,
    asked: MustFit,
    *,
    draws: int = DRAWS,
    seed: int = SEED,
) -> MustFitAnswer:
    """What must change so that a tyre fits. Raises ChangeRefused."""
    if asked.axle not in AXLES:
        raise ChangeRefused(f"no axle {asked.axle!r}: front or rear")
    wheel, tyre = _parts(start, asked)
    planned = examine_state(start, registry, draws=draws, seed=seed, unknowns=False)
    found = make_field(start, registry, asked.axle, [wheel], [tyre])
    if not found.candidates:
        raise ChangeRefused(f"{marking_of(tyre).size} does not go on {wheel.part.name or wheel.id}")
    candidate = found.candidates[0]
    now = camber_today(start, registry, asked.axle, seed)
    ladders, parts = make_ladders(start, asked.axle, wheel, tyre, now)
    shod = with_proposed(found.start, parts).after(candidate.changes, "draft:must fit")
    before = examine_state(shod, registry, draws=draws, seed=seed, unknowns=False)
    blends = start.build.blends
    scope = axle_scope(registry, blends, asked.axle)
    bearing = [f for f in before.findings if scope.bears_on(f)]
    failing = [f for f in bearing if not holds(f) and f.chance is not None]
    search = Search(
        shod, registry, axle_scope(registry, blends, asked.axle, _addresses(ladders)),
        frozenset({wheel.id, tyre.id, *(p.id for p in parts)}), before, draws, seed, scope,
    )  # fmt: skip
    groups, left = _cure(search, ladders, failing)
    return MustFitAnswer(
        asked, candidate, planned, before,
        joint_of(before, [f for f in bearing if f.chance is not None]),
        groups, left, tuple(f for f in bearing if f.chance is None),
        _together(search, groups), moves(planned, before, asked.axle),
    )  # fmt: skip


def _addresses(ladders: Iterable[Ladder]) -> list[str]:
    return [
        ladder.target if is_place(ladder.target) else c.target
        for ladder in ladders
        for step in ladder.steps[:1]
        for c in step.changes
    ]


def _parts(start: State, asked: MustFit) -> tuple[Proposed, Proposed]:
    """The wheel and the tyre that are asked for; a wheel that suits the tyre where none is."""
    build = start.build
    like = fitted_part(start, f"tyre.{asked.axle}")
    known = build.parts.get(asked.tyre)
    if known is not None and getattr(known, "kind", "") == "tyre":
        tyre = Proposed(asked.tyre, known, build.part_known[asked.tyre], "parts/")
    else:
        try:
            tyre = _of_that_marking(parse_marking(asked.tyre), like)
        except MarkingError as error:
            raise ChangeRefused(str(error)) from None
    if asked.wheel is not None:
        part = build.parts.get(asked.wheel)
        if part is None or getattr(part, "kind", "") != "wheel":
            raise ChangeRefused(f"no wheel {asked.wheel!r} in parts/")
        return Proposed(asked.wheel, part, build.part_known[asked.wheel], "parts/"), tyre
    planned = fitted_part(start, f"wheel.{asked.axle}")
    return _suiting(planned, tyre, asked), tyre


def _of_that_marking(marking: TyreMarking, planned: Proposed) -> Proposed:
    """The tyre of the plan where it is marked so, what was read off it with it; else any."""
    made = families.generated_tyre(marking, planned)
    stated = getattr(planned.part, "marking", None)
    same = stated is not None and parse_marking(stated) == marking_of(made)
    return planned if same else made


def _suiting(planned: Proposed, tyre: Proposed, asked: MustFit) -> Proposed:
    """The planned wheel where it may carry the tyre, else one like it that may."""
    part = planned.part
    width_now, offset_now = getattr(part, "rim_width", None), getattr(part, "offset", None)
    code_now = getattr(part, "diameter_code", None)
    if width_now is None or offset_now is None or code_now is None:
        raise ChangeRefused(
            f"{part.name or planned.id}: its rim width, offset and diameter code must be stated"
        )
    low, high = permitted(tyre)
    code = int(marking_of(tyre).rim_code)
    width = float(np.clip(width_now.median, low, high))
    offset = offset_now.median
    if asked.rim_width is not None:
        width = families.read_spread(
            asked.rim_width, "length", families.HALF_INCH, what="rim width"
        ).values[0]
    if asked.offset is not None:
        offset = families.read_spread(asked.offset, "length", families.MM, what="offset").values[0]
    same = code == code_now and abs(width - width_now.median) < 1e-5
    if same and abs(offset - offset_now.median) < 1e-5:
        return planned
    return families.generated_wheels(planned, codes=[code], widths=[width], offsets=[offset])[0]


def _cure(
    search: Search, ladders: Sequence[Ladder], failing: Sequence[Finding]
) -> tuple[tuple[Group, ...], tuple[Finding, ...]]:
    if not failing:
        return (), ()
    singles = [(ladder, step) for ladder in ladders for step in ladder.steps]
    screened = search.screen([(step,) for _, step in singles])
    keys = {(f.check, f.subject): f for f in failing}
    helping = helping_ladders(screened, singles, keys)
    helping_slowly(search, ladders, keys, helping)
    groups: list[Group] = []
    left: list[Finding] = []
    for members in clusters(helping):
        for some in parts_of(members, keys):
            useful = [lad for lad in ladders if any(lad.name in helping[k] for k in some)]
            answers = _answers(search, useful, some, screened, singles) if useful else []
            if answers:
                groups.append(Group(tuple(keys[k] for k in some), tuple(answers)))
                left += [keys[k] for k in members if k not in some]
                break
        else:
            left += [keys[k] for k in members]
    return tuple(groups), tuple(left)


def _answers(
    search: Search,
    ladders: Sequence[Ladder],
    members: Sequence[Key],
    screened: Screened,
    singles: Sequence[tuple[Ladder, Step]],
) -> list[Answer]:
    """Answers of one ladder; where there are none of two; then of three."""
    tried: list[_Tried] = []
    names = {ladder.name for ladder in ladders}
    for ladder in ladders:
        rows = [i for i, (one, _) in enumerate(singles, 1) if one is ladder]
        works: list[tuple[Step, ...]] = [
            (singles[i - 1][1],) for i in rows if works_for(screened, i, members, search)
        ]
        tried.append(((ladder,), works))
    found = _verified(search, tried, members)
    for together in (2, 3):
        if found or len(names) < together:
            break
        sets = [
            chosen
            for chosen in combinations(ladders, together)
            if not any(overlap(a, b) for a, b in combinations(chosen, 2))
        ]
        tries = [
            (chosen, steps)
            for chosen in sets
            for steps in product(*(coarse(lad.steps, COARSE[together]) for lad in chosen))
        ]
        if not tries:
            break
        result = search.screen([steps for _, steps in tries])
        by_set: dict[int, list[tuple[Step, ...]]] = {}
        for row, (chosen, steps) in enumerate(tries, 1):
            if works_for(result, row, members, search):
                by_set.setdefault(sets.index(chosen), []).append(steps)
        found = _verified(
            search,
            [(sets[i], sorted(works, key=_size)) for i, works in by_set.items()],
            members,
        )
    return found


def _size(steps: tuple[Step, ...]) -> float:
    return sum(step.size for step in steps)


def _verified(
    search: Search,
    tried: Sequence[_Tried],
    members: Sequence[Key],
) -> list[Answer]:
    """The first rung of each set of ladders that holds when the whole car is examined."""
    order = sorted(
        (entry for entry in tried if entry[1]),
        key=lambda entry: (sum(lad.effort for lad in entry[0]), _size(entry[1][0])),
    )
    found: list[Answer] = []
    for ladders, works in order:
        for steps in first_slow(search, works, members)[:RUNGS]:
            after = search.examine(steps)
            if good(search.before, after, members):
                found.append(_answer(search, steps, ladders, after))
                break
        if len(found) == ANSWERS:
            break
    return found


def _answer(
    search: Search, steps: tuple[Step, ...], ladders: Sequence[Ladder], after: Examination
) -> Answer:
    measured = [f for f in after.findings if f.chance is not None and search.axle.bears_on(f)]
    notes = tuple(lad.note for lad in ladders if lad.note)
    effort = sum(lad.effort for lad in ladders)
    return Answer(steps, notes, effort, after, joint_of(after, measured))


def _together(search: Search, groups: Sequence[Group]) -> Answer | None:
    """The first answer of every group at once, if that holds for all of them."""
    if not groups:
        return None
    steps = tuple(step for group in groups for step in group.answers[0].steps)
    after = search.examine(steps)
    members = [(f.check, f.subject) for group in groups for f in group.findings]
    if not good(search.before, after, members):
        return None
    notes = tuple(note for group in groups for note in group.answers[0].notes)
    effort = sum(group.answers[0].effort for group in groups)
    measured = [f for f in after.findings if f.chance is not None and search.axle.bears_on(f)]
    return Answer(steps, notes, effort, after, joint_of(after, measured))
