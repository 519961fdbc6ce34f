"""What can be changed so that a tyre fits: the build's adjusters, and what any car allows.

Each ladder is one thing that can be changed, from its smallest setting up: another offset or rim
width, camber, a packer under the bump stop, the arch edge rolled, and what build.toml declares.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from drybuild.build import Change, State
from drybuild.build.declared import declaration, expand
from drybuild.build.drawn import stated
from drybuild.build.folder import Adjuster
from drybuild.build.kinds import place_of
from drybuild.build.proposed import Proposed, make_part
from drybuild.build.state import instances_of, read_setting
from drybuild.examine.catalogue import families
from drybuild.examine.catalogue.candidates import camber_changes, marking_of
from drybuild.examine.fixes import moves_of
from drybuild.examine.naming import plain_name
from drybuild.findings import SIDES
from drybuild.systems.corners.formulas import permitted_rim_widths
from drybuild.values import HowKnown, Value, written

MM = families.MM
OFFSET_STEPS = 25
CAMBER_STEP = float(np.radians(0.1))
CAMBER_STEPS = 25
OTHER_WHEEL = "spokes, barrel and rating of that wheel are carried over: ask its maker for them"
PACKER_STEPS = tuple(range(2, 26, 2))
ROLLED_STEPS = tuple(range(1, 16))
ROLLED_DOUBT = 1e-3
"""Doubt of how far an edge goes in when it is rolled; it is measured again afterwards."""


@dataclass(frozen=True)
class Step:
    """One setting of one thing.

    name: what is changed; kind: of to and by (SI), which are None where a part is meant; said: the
    part in words; size: how far from today, as a share of the ladder.
    """

    name: str
    changes: tuple[Change, ...]
    size: float
    kind: str = ""
    to: float | None = None
    by: float | None = None
    said: str = ""


@dataclass(frozen=True)
class Ladder:
    """Settings of one thing, the smallest first. target: what two ladders cannot both change."""

    name: str
    target: str
    effort: float
    steps: tuple[Step, ...]
    note: str = ""


def make_ladders(
    start: State,
    axle: str,
    wheel: Proposed,
    tyre: Proposed,
    camber_now: dict[str, float],
) -> tuple[list[Ladder], list[Proposed]]:
    """All ladders for a wheel and tyre on an axle, and the parts that they need."""
    parts: list[Proposed] = []
    found = [
        *_offsets(axle, wheel, parts),
        *_rim_widths(axle, wheel, tyre, parts),
        *_packers(start, axle, parts),
        *_rolled(start, axle),
        *_declared(start, axle, wheel),
    ]
    declared = {a for ladder in found for a in expand(ladder.target)}
    if not declared & set(expand(f"arm.{axle}.camber_change")):
        found += _cambers(start, axle, camber_now)
    return [ladder for ladder in found if ladder.steps], parts


def _offsets(axle: str, wheel: Proposed, parts: list[Proposed]) -> Iterator[Ladder]:
    part: Any = wheel.part
    today = round(part.offset.median / MM)
    for sign, word in ((1, "more offset"), (-1, "less offset")):
        offsets = [(today + sign * i) * MM for i in range(1, OFFSET_STEPS + 1)]
        made = families.generated_wheels(
            wheel, codes=[part.diameter_code], widths=[part.rim_width.median], offsets=offsets
        )
        parts += made
        steps = tuple(
            Step(
                word, (Change("fit", f"wheel.{axle}", w.id),), i / OFFSET_STEPS, "length", offset,
                offset - part.offset.median,
            )
            for i, (w, offset) in enumerate(zip(made, offsets, strict=True), 1)
        )  # fmt: skip
        yield Ladder(word, f"wheel.{axle}", 1.5, steps, OTHER_WHEEL)


def _rim_widths(
    axle: str, wheel: Proposed, tyre: Proposed, parts: list[Proposed]
) -> Iterator[Ladder]:
    part: Any = wheel.part
    low, high = permitted(tyre)
    today = part.rim_width.median
    for sign, word in ((-1, "a narrower rim"), (1, "a wider rim")):
        widths = [
            width
            for i in (1, 2, 3)
            if low - 1e-5 <= (width := today + sign * i * families.HALF_INCH) <= high + 1e-5
        ]
        made = families.generated_wheels(
            wheel, codes=[part.diameter_code], widths=widths, offsets=[part.offset.median]
        )
        parts += made
        steps = tuple(
            Step(
                word, (Change("fit", f"wheel.{axle}", w.id),), i / 3, "rim_width", width,
                width - today,
            )
            for i, (w, width) in enumerate(zip(made, widths, strict=True), 1)
        )
        yield Ladder(word, f"wheel.{axle}", 2.0, steps, OTHER_WHEEL)


def permitted(tyre: Proposed) -> tuple[float, float]:
    """Narrowest and widest rim for a tyre, by its maker or by the size tables' pattern (m)."""
    part: Any = tyre.part
    if part.rim_width_least is not None and part.rim_width_greatest is not None:
        return part.rim_width_least.median, part.rim_width_greatest.median
    marking = marking_of(tyre)
    low, high = permitted_rim_widths(
        nominal_width=marking.section_width_mm * MM, aspect_ratio=marking.aspect_percent / 100.0
    )
    return float(low), float(high)


def _cambers(start: State, axle: str, camber_now: dict[str, float]) -> Iterator[Ladder]:
    if len(camber_now) < 2:
        return
    middle = sum(camber_now.values()) / len(camber_now)
    declared = declaration(f"arm.{axle}.left.camber_range")
    there = stated(start, declared) if declared is not None else None
    note = "" if there is not None else "needs arms or eccentrics that set camber"
    steps = []
    for i in range(1, CAMBER_STEPS + 1):
        target = middle - i * CAMBER_STEP
        changes = camber_changes(start, axle, target, camber_now)
        by = -i * CAMBER_STEP
        steps.append(
            Step("more negative camber", changes, i / CAMBER_STEPS, "angle", target, by)
        )
    effort = 1.0 if there is not None else 3.0
    name = "more negative camber"
    yield Ladder(name, f"arm.{axle}.camber_change", effort, tuple(steps), note)


def _packers(start: State, axle: str, parts: list[Proposed]) -> Iterator[Ladder]:
    """Packers over the bump stop, so that the travel ends sooner."""
    fitted = {start.fitted.get(f"bump_stop.{axle}.{side}") for side in SIDES}
    if len(fitted) != 1 or (name := next(iter(fitted))) is None:
        return
    old: Any = start.build.parts[name]
    if old.solid_height is None or old.free_length is None:
        return
    steps = []
    for i in PACKER_STEPS:
        facts = {
            "name": f"{old.name or name} with a packer of {i} mm",
            **{
                key: {
                    "is": written("length", value.median + i * MM),
                    "plus_minus": written("length", float(np.hypot(value.half_width, 0.5 * MM))),
                }
                for key, value in (("solid_height", old.solid_height),
                                   ("free_length", old.free_length))
            },
        }  # fmt: skip
        made = Proposed(
            f"{name} packer {i}", make_part("bump_stop", facts), HowKnown.CATALOGUE, "generated"
        )
        parts.append(made)
        change = Change("fit", f"bump_stop.{axle}", made.id)
        steps.append(
            Step("less bump travel: a packer at the bump stop", (change,), i / PACKER_STEPS[-1],
                 "length", i * MM, i * MM)
        )  # fmt: skip
    yield Ladder(
        steps[0].name, f"bump_stop.{axle}", 2.0, tuple(steps),
        "the ride is firmer near the stop; the packer must not come loose",
    )  # fmt: skip


def _rolled(start: State, axle: str) -> Iterator[Ladder]:
    """The arch edge rolled in or away by some millimetres, where its gap was measured."""
    gaps = {}
    for side in SIDES:
        address = f"corner.{axle}.{side}.arch_point.gap"
        declared = declaration(address)
        found = stated(start, declared) if declared is not None else None
        if found is None or not isinstance(found.value, Value) or found.value.same_as:
            return
        gaps[address] = found.value
    steps = []
    for i in ROLLED_STEPS:
        changes = tuple(
            Change("set", address, {
                "is": written("length", gap.median + i * MM),
                "plus_minus": written("length", float(np.hypot(gap.half_width, ROLLED_DOUBT))),
                "note": f"edge rolled {i} mm, to be measured again",
            })
            for address, gap in gaps.items()
        )  # fmt: skip
        steps.append(
            Step("the arch edge rolled", changes, i / ROLLED_STEPS[-1], "length", i * MM, i * MM)
        )
    note = "measure the gap again afterwards; an edge may be too thick to roll, paint may crack"
    yield Ladder("the arch edge rolled", f"corner.{axle}.arch_point.gap", 3.0, tuple(steps), note)


def _declared(start: State, axle: str, wheel: Proposed) -> Iterator[Ladder]:
    """The adjusters of build.toml, without those that would take the tyre off again."""
    code = getattr(wheel.part, "diameter_code")  # noqa: B009
    for adjuster in start.build.adjusters:
        targets = (adjuster.address, *adjuster.together)
        if any(t == "tyre" or t.startswith(f"tyre.{axle}") for t in targets):
            continue
        steps = tuple(_steps_of(start, adjuster, code))
        name = adjuster.title or plain_name(adjuster.address)
        today = _today(start, adjuster)
        parted = {
            f"{name}, lower": [s for s in steps if s.to is not None and s.to < today],
            f"{name}, higher": [s for s in steps if s.to is not None and s.to > today],
            name: [s for s in steps if s.to is None],
        }
        for called, some in parted.items():
            if some:
                yield Ladder(called, adjuster.address, adjuster.effort, tuple(some))


def _today(start: State, adjuster: Adjuster) -> float:
    """What stands at an adjuster's address; its lowest setting where nothing does."""
    addresses = expand(adjuster.address)
    if is_place(adjuster.address) or not addresses:
        return 0.0
    declared = declaration(addresses[0])
    found = stated(start, declared) if declared is not None else None
    value = found.value if found is not None else None
    if not isinstance(value, Value) and adjuster.low is not None:
        value = read_setting(addresses[0], adjuster.low)
    return value.median if isinstance(value, Value) else 0.0


def _steps_of(start: State, adjuster: Adjuster, code: int) -> Iterator[Step]:
    name = adjuster.title or plain_name(adjuster.address)
    found = sorted(moves_of(start, adjuster), key=lambda m: m.size)
    for move in found:
        change = move.changes[0]
        if change.kind == "fit":
            part: Any = start.build.parts[str(change.value)]
            if part.kind == "wheel" and part.diameter_code != code:
                continue
            share = (move.size + 1) / len(found)
            yield Step(name, move.changes, share, said=part.name or str(change.value))
            continue
        value = read_setting(expand(change.target)[0], change.value)
        if move.size == 0:
            continue
        if isinstance(value, Value):
            yield Step(name, move.changes, move.size, value.kind, value.median)
        else:
            yield Step(name, move.changes, move.size, said=str(value))


def is_place(target: str) -> bool:
    """Whether a target is a place or a group of places."""
    return any(i == target or i.startswith(target + ".") for i in place_of())


def overlap(first: Ladder, second: Ladder) -> bool:
    """Whether two ladders change the same thing, so that one would undo the other."""
    one, two = _targets(first.target), _targets(second.target)
    return bool(one & two)


def _targets(target: str) -> frozenset[str]:
    return frozenset(instances_of(target) if is_place(target) else expand(target))


def coarse(steps: Sequence[Step], most: int) -> list[Step]:
    """Some of the steps, evenly spread, ends included."""
    picks = np.unique(np.linspace(0, len(steps) - 1, min(most, len(steps))).round().astype(int))
    return [steps[i] for i in picks]
