"""The fit window: chance of clearing over offset and width, and what binds where."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
import numpy.typing as npt

from drybuild.build import State
from drybuild.build.proposed import Proposed
from drybuild.examine.catalogue import families
from drybuild.examine.catalogue.candidates import Candidate, Field, make_field, marking_of
from drybuild.examine.catalogue.screen import Key, Scope, Screened, screen, state_by_state
from drybuild.findings import Registry

Floats = npt.NDArray[np.float64]

DRAWS = 256
SPAN_OFFSET = 20
"""Millimetres drawn to either side of the best offset."""

SPAN_WIDTH = 2
"""Half inches drawn above and below the best rim width."""

SAMPLED = 9
"""Offsets at which checks are run that cannot be laid out (each takes a tenth of a second)."""

BINDS_BELOW = 0.95
MOVED = 1e-6


@dataclass(frozen=True)
class Region:
    """A check that binds somewhere in the window."""

    check: str
    title: str


@dataclass(frozen=True)
class Alike:
    """A check that says the same all over the window, so that the window does not show it."""

    check: str
    title: str
    chance: float


@dataclass(frozen=True)
class Window:
    """Chance of clearing by offset (O,) and width (R,), both m.

    up: what the rows are, rim widths behind one tyre or tyres on one rim width. binding: (R, O)
    index into regions, −1 where the chance is 95 in 100 or more. rows: what each row holds.
    """

    axle: str
    tyre: str
    up: Literal["rim width", "tyre width"]
    offsets: Floats
    widths: Floats
    rows: tuple[str, ...]
    chance: Floats
    binding: npt.NDArray[np.intp]
    regions: tuple[Region, ...]
    alike: tuple[Alike, ...]
    planned: tuple[float, float] | None
    best: tuple[float, float]


def fit_window(
    field: Field, around: Candidate, registry: Registry, scope: Scope, *, seed: int
) -> Window | None:
    """The window around a candidate; its spacer and camber stay."""
    up, rows = _rows(field, around)
    whole = round(around.offset / families.MM)
    steps = range(whole - SPAN_OFFSET, whole + SPAN_OFFSET + 1)
    offsets = np.array([step * families.MM for step in steps])
    code = int(getattr(around.wheel.part, "diameter_code"))  # noqa: B009
    rest = tuple(
        c for c in around.changes if c.target not in (f"wheel.{field.axle}", f"tyre.{field.axle}")
    )
    wheels: dict[str, Proposed] = {}
    cells: list[tuple[str, str]] = []
    for width, tyre in rows:
        made = families.generated_wheels(
            around.wheel, codes=[code], widths=[width], offsets=[float(o) for o in offsets]
        )
        wheels |= {w.id: w for w in made}
        cells += [(w.id, tyre.id) for w in made]
    tyres = {t.id: t for _, t in rows}
    grid = make_field(field.start, registry, field.axle, list(wheels.values()), [*tyres.values()])
    by_pair = {(c.wheel.id, c.tyre.id): c for c in grid.candidates}
    if any(cell not in by_pair for cell in cells):
        return None
    states = [grid.start.after((*by_pair[cell].changes, *rest)) for cell in cells]
    proposed = grid.proposed | field.proposed
    coarse = screen(states, registry, scope, proposed=proposed, seed=seed)
    shape = (len(rows), len(offsets))
    moving = [k for i, k in enumerate(coarse.keys) if _moves(coarse.middle[:, i], k, up)]
    alike = _alike(coarse.keys, coarse.chance, moving, registry)
    fine = screen(
        states, registry, scope, proposed=proposed, draws=DRAWS, seed=seed, only=frozenset(moving)
    )
    slow = _sampled(states, shape, registry, scope, proposed, seed)
    enough = fine.enough.copy()
    for margin in slow.values():
        enough &= margin >= 0
    joint = enough.mean(axis=1)
    regions: list[str] = []
    binding = np.full(len(cells), -1, dtype=np.intp)
    for i in np.flatnonzero(joint < BINDS_BELOW):
        check = _binds(fine, int(i), slow)
        if check is not None:
            if check not in regions:
                regions.append(check)
            binding[i] = regions.index(check)
    heights = np.array([width if up == "rim width" else _nominal(tyre) for width, tyre in rows])
    return Window(
        field.axle,
        around.size if up == "rim width" else "",
        up,
        offsets,
        heights,
        tuple(_named(up, width, tyre) for width, tyre in rows),
        joint.reshape(shape),
        binding.reshape(shape),
        tuple(Region(r, registry.checks[r].title) for r in regions),
        alike,
        _planned(field, up),
        (around.offset, around.rim_width if up == "rim width" else around.nominal_width),
    )


def _sampled(
    states: Sequence[State],
    shape: tuple[int, int],
    registry: Registry,
    scope: Scope,
    proposed: frozenset[str],
    seed: int,
) -> dict[Key, Floats]:
    """Margins (cells, draws) of the checks that must be run state by state, every few offsets.

    In between they are laid straight, draw by draw. A distance to fixed things falls off to both
    sides of where it is greatest, so that a straight line between two of its points lies below it.
    """
    rows, columns = shape
    first = state_by_state(states[0], registry, scope, proposed=proposed, draws=DRAWS, seed=seed)
    if not first:
        return {}
    at = np.unique(np.linspace(0, columns - 1, SAMPLED).round().astype(int))
    found = {key: np.full((rows, columns, DRAWS), np.nan) for key in first}
    for row in range(rows):
        run = [
            first if row == 0 and i == 0 else state_by_state(
                states[row * columns + i], registry, scope, proposed=proposed, draws=DRAWS,
                seed=seed,
            )
            for i in at
        ]  # fmt: skip
        for key, grid in found.items():
            known = np.stack([one.get(key, np.full(DRAWS, np.nan)) for one in run])
            left = np.searchsorted(at, np.arange(columns), side="right") - 1
            left = np.clip(left, 0, len(at) - 2)
            part = (np.arange(columns) - at[left]) / (at[left + 1] - at[left])
            grid[row] = known[left] + part[:, None] * (known[left + 1] - known[left])
    return {key: grid.reshape(rows * columns, DRAWS) for key, grid in found.items()}


def _binds(fine: Screened, row: int, slow: dict[Key, Floats]) -> str | None:
    """The check that leaves a cell the least chance, then the least room."""
    known = [
        (float(fine.chance[row, c]), float(fine.room[row, c]), key[0])
        for c, key in enumerate(fine.keys)
        if not np.isnan(fine.chance[row, c])
    ]
    for key, margin in slow.items():
        half = 2.0 * float(np.std(margin[row])) or 1e-12
        known.append((float(np.mean(margin[row] >= 0)), float(np.mean(margin[row])) / half, key[0]))
    return min(known)[2] if known else None


def _rows(
    field: Field, around: Candidate
) -> tuple[Literal["rim width", "tyre width"], list[tuple[float, Proposed]]]:
    """(rim width, tyre) of each row, narrowest first."""
    widths = {round(c.rim_width, 5) for c in field.candidates}
    tyres = _by_width(field, around)
    if len(widths) == 1 and len(tyres) >= 3:
        return "tyre width", [(around.rim_width, tyre) for tyre in tyres]
    middle = round(around.rim_width / families.HALF_INCH)
    return "rim width", [
        ((middle + step) * families.HALF_INCH, around.tyre)
        for step in range(-SPAN_WIDTH, SPAN_WIDTH + 1)
        if middle + step >= 4
    ]


def _by_width(field: Field, around: Candidate) -> list[Proposed]:
    """One tyre of each nominal width: that nearest in diameter to the best one."""
    want = _diameter(around.tyre)
    found: dict[float, Proposed] = {}
    for candidate in field.candidates:
        tyre = candidate.tyre
        if marking_of(tyre).rim_code != marking_of(around.tyre).rim_code:
            continue
        kept = found.get(_nominal(tyre))
        if kept is None or abs(_diameter(tyre) - want) < abs(_diameter(kept) - want):
            found[_nominal(tyre)] = tyre
    return [found[width] for width in sorted(found)]


def _nominal(tyre: Proposed) -> float:
    return marking_of(tyre).section_width_mm * families.MM


def _diameter(tyre: Proposed) -> float:
    m = marking_of(tyre)
    return m.rim_code * families.INCH + 2.0 * m.section_width_mm * m.aspect_percent * 1e-5


def _named(up: str, width: float, tyre: Proposed) -> str:
    return f"{width / families.INCH:.3g} in" if up == "rim width" else marking_of(tyre).size


def _moves(middle: Floats, key: Key, up: str) -> bool:
    """Whether a check's margin differs over the window, as a fit's does."""
    known = middle[np.isfinite(middle)]
    return bool(known.size and np.ptp(known) > MOVED)


def _alike(
    keys: tuple[Key, ...], chance: Floats, moving: list[Key], registry: Registry
) -> tuple[Alike, ...]:
    found: dict[str, float] = {}
    for i, key in enumerate(keys):
        wanted = registry.checks[key[0]].consequence.wanted_chance
        if key in moving or np.all(np.isnan(chance[:, i])):
            continue
        least = float(np.nanmin(chance[:, i]))
        if least < wanted:
            found[key[0]] = min(least, found.get(key[0], 1.0))
    return tuple(Alike(check, registry.checks[check].title, c) for check, c in found.items())


def _planned(field: Field, up: str) -> tuple[float, float] | None:
    """Where the wheel and tyre of the plan stand in the window."""
    build = field.start.build
    wheel = field.start.fitted.get(f"wheel.{field.axle}.left")
    tyre = field.start.fitted.get(f"tyre.{field.axle}.left")
    if wheel is None or tyre is None:
        return None
    part: Any = build.parts[wheel]
    marking: Any = getattr(build.parts[tyre], "marking", None)
    if part.offset is None or part.rim_width is None or marking is None:
        return None
    from_tyre = up == "tyre width"
    named = Proposed(tyre, build.parts[tyre], build.part_known[tyre], "")
    return part.offset.median, _nominal(named) if from_tyre else part.rim_width.median
