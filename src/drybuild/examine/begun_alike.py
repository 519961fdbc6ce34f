"""What an added part's blanks begin as: figures of a part like it, as guesses with wide doubt.

A part of which only the size is known is otherwise worse than none: every check behind it has
nothing to go by. What is taken so is marked a guess, and rests no finding about injury.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from typing import Any, Final

from drybuild.build.declared import (
    HEAD_FIELDS,
    PRINTED_ONLY,
    Declared,
    declared_addresses,
    field_kind,
    inner_model,
)
from drybuild.build.kinds import places
from drybuild.build.model import Part
from drybuild.examine.opened import OpenBuild
from drybuild.values import KINDS, Curve, Value, parse_value, unit_of
from drybuild.values.errors import Fault

WIDER: Final = 2.0
"""A guess has at least this many times the doubt of the part that it is taken from."""

CURVE_DOUBT: Final = 20.0
"""Least doubt of a curve that is a guess, percent."""

APART: Final[Mapping[str, Mapping[str, str]]] = {
    "turbo": {"flow_scale": "1 ± 0.3", "efficiency_scale": "1 ± 0.1"},
}
"""Kind → what sets a part apart from the map that it is guessed by, and how far."""


GROWS: Final[Mapping[str, Mapping[str, tuple[str, float]]]] = {
    "caliper": {"outer_radius": ("disc_diameter", 0.5)},
}
"""Kind → a figure of it → what it goes with, and how much of that's difference it takes: a caliper
for a larger disc reaches out as much farther as the disc's edge does (geometry)."""


GROWN_DOUBT: Final = 0.5
"""Doubt of what is larger for that, as a share of how much it is larger (from memory)."""


def alike(opened: OpenBuild, kind: str) -> dict[str, str]:
    """Parts of a kind that are planned or on the car, by id, with their names."""
    fitted = [*opened.state("finished").fitted.values(), *opened.present.state.fitted.values()]
    found = dict.fromkeys(part for part in fitted if part)
    parts, names = opened.build.parts, opened.build.part_names
    return {p: names[p] for p in found if p in parts and getattr(parts[p], "kind", "") == kind}


def guesses(opened: OpenBuild, like: str, table: Mapping[str, Any]) -> dict[str, Any]:
    """What is not in a part's table yet, as it is of another part, with wide doubt.

    like: id of a part of its kind.
    """
    build, kind = opened.build, str(table["kind"])
    part, written = build.parts[like], written_of(opened, like)
    found: dict[str, Any] = {}
    for declared in _facts(kind):
        name = declared.path[0]
        if name in table or name not in written:
            continue
        guess = _guess(part, declared, written[name], _grown(kind, part, name, table))
        if guess is not None:
            found[name] = guess
    if "map" in found:
        found |= {k: _assumed(v) for k, v in APART.get(kind, {}).items() if k not in table}
    return found


def written_of(opened: OpenBuild, part: str) -> Mapping[str, Any]:
    """The table of a part as its file has it; empty of one that there is not."""
    build = opened.build
    if part not in build.parts:
        return {}
    found: Mapping[str, Any] = tomllib.loads(build.files[build.part_files[part]])["part"][part]
    return found


def _facts(kind: str) -> list[Declared]:
    place = next(p for p in places().values() if p.kind == kind)
    skipped = HEAD_FIELDS | PRINTED_ONLY
    return [d for d in declared_addresses().values()
            if d.owner == place.instances[0] and len(d.path) == 1 and d.path[0] not in skipped
            and (inner_model(d.field.annotation) is None or d.path[0] == "map")]  # fmt: skip


def _grown(kind: str, part: Part, name: str, table: Mapping[str, Any]) -> float:
    """What a figure is larger than that of the part like it, SI: by what goes with it."""
    by, share = GROWS.get(kind, {}).get(name, ("", 0.0))
    old, said = getattr(part, by, None) if by else None, table.get(by)
    if said is None or not isinstance(old, Value):
        return 0.0
    try:
        new = parse_value(str(said["is"] if isinstance(said, Mapping) else said), old.kind)
    except Fault:  # said where the part is taken in, with what is wrong with it
        return 0.0
    return share * (new.centre - old.centre)


def _guess(part: Part, declared: Declared, raw: Any, larger: float = 0.0) -> Any:
    name, value = declared.path[0], getattr(part, declared.path[0], None)
    if isinstance(value, Value):
        return None if value.same_as else _assumed(_wide(type(part), name, value, larger))
    if isinstance(value, Curve):
        given = re.match(r"([\d.]+)\s*%", str(raw.get("scale_doubt", "")))
        doubt = max(CURVE_DOUBT, WIDER * float(given[1]) if given else 0.0)
        kept = {k: v for k, v in raw.items() if k not in ("tool", "how", "note")}
        return {**kept, "by": "assumed", "scale_doubt": f"{doubt:g} %"}
    if field_kind(declared.field) is None and isinstance(value, bool | int | float | str):
        return _assumed(raw["is"] if isinstance(raw, dict) else raw)
    return _table_assumed(raw) if isinstance(raw, dict) else raw


def _assumed(text: Any) -> dict[str, Any]:
    return {"is": text, "by": "assumed"}


def _table_assumed(table: Mapping[str, Any]) -> dict[str, Any]:
    """A map as a guess: its speeds, and its own figures of what it is corrected to, say so."""
    return {name: _all_assumed(value) for name, value in table.items()}


def _all_assumed(value: Any) -> Any:
    if isinstance(value, dict):
        return {**value, "by": "assumed"} if "is" in value else _table_assumed(value)
    if isinstance(value, list):
        return [_all_assumed(one) for one in value]
    return value


def _wide(model: type[Part], name: str, value: Value, larger: float) -> str:
    """A figure as text, with the doubt of a guess: its own made wider, or what is usual of one."""
    bare = KINDS[value.kind].dimensionless
    unit = unit_of("" if bare else value.unit, value.kind)
    label = "" if bare else f" {value.unit}"
    at = value.centre + larger
    middle = at if bare else unit.from_si(at)
    said = f"{middle:.10g}{label}"
    usual = model.model_validate(
        {"kind": model.model_fields["kind"].default, "name": "a guess", name: _assumed(said)},
        context={"how": "assumed", "catalogue": {}},
    )
    half = max(
        WIDER * value.half_width, getattr(usual, name).half_width, GROWN_DOUBT * abs(larger)
    )  # fmt: skip
    wide = half if bare else abs(unit.from_si(at + half) - unit.from_si(at))
    if not wide:
        return said
    return f"{middle:.10g} ± {float(f'{wide:.2g}'):.10g}{label}"
