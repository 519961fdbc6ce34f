"""Columns of a list of rims or tyres: the trade's words for them, and what their cells say."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any, Literal

from drybuild.build.declared import field_kind
from drybuild.build.errors import nearest
from drybuild.build.kinds import part_kinds
from drybuild.build.tyre_marking import MarkingError, parse_marking
from drybuild.values import ValueFault, parse_value

ListKind = Literal["wheel", "tyre"]

WORDS: dict[ListKind, dict[str, tuple[str, ...]]] = {
    "wheel": {
        "id": ("id", "part number", "part no", "article", "sku"),
        "name": ("name", "model", "design", "description"),
        "maker": ("maker", "made by"),
        "price": ("price", "cost"),
        "mass": ("mass", "weight"),
        "marking": ("marking", "rim marking", "size", "rim", "rim size", "wheel size"),
        "diameter_code": ("diameter", "rim diameter", "diameter code", "wheel diameter", "inches"),
        "rim_width": ("rim width", "width", "wheel width", "j"),
        "offset": ("offset", "et"),
        "pattern": ("pcd", "bolt pattern", "stud pattern", "pattern", "fitment"),
        "bolt_count": ("bolt count", "holes", "bolts", "studs"),
        "bolt_circle": ("bolt circle", "pitch circle", "bolt circle diameter"),
        "hub_bore": ("hub bore", "bore", "centre bore", "center bore", "cb"),
        "seat": ("seat", "nut seat"),
        "seat_depth": ("seat depth",),
        "load_rating": ("load rating", "load", "rated load", "max load", "wheel load"),
        "barrel_inner_radius": ("barrel inner radius", "barrel radius"),
        "spoke_depth": ("spoke depth",),
        "flange_allowance": ("flange allowance",),
        "valve": ("valve",),
    },
    "tyre": {
        "id": ("id", "part number", "part no", "article", "sku"),
        "name": ("name", "model", "pattern", "tread", "description"),
        "maker": ("maker", "made by"),
        "price": ("price", "cost"),
        "mass": ("mass", "weight"),
        "marking": ("marking", "size", "tyre", "tire", "tyre size", "tire size"),
        "nominal": ("width", "nominal width", "nominal section width"),
        "aspect": ("aspect", "aspect ratio", "profile", "series"),
        "rim_code": ("rim", "rim diameter", "rim code", "inches"),
        "load_index": ("load index", "load", "li"),
        "speed_symbol": ("speed symbol", "speed", "speed index", "speed rating", "ss"),
        "extra": ("xl", "extra load", "reinforced"),
        "overall_diameter": ("overall diameter", "outside diameter", "diameter"),
        "section_width": ("section width", "measured width"),
        "section_rim_width": ("section rim width", "measuring rim", "measuring rim width"),
        "rolling_circumference": ("rolling circumference", "circumference"),
        "growth": ("growth",),
        "rim_width_least": ("narrowest rim", "rim width least", "min rim"),
        "rim_width_greatest": ("widest rim", "rim width greatest", "max rim"),
        "pressure_limit": ("pressure limit", "max pressure"),
        "load_pressure": ("load pressure",),
    },
}
"""Field, or one of the made-up ones below it, by its usual heads. The first is ours."""

NEEDED: dict[ListKind, tuple[tuple[str, ...], ...]] = {
    "wheel": (("marking", "rim_width"), ("marking", "offset"), ("marking", "diameter_code")),
    "tyre": (("marking", "nominal"), ("marking", "aspect"), ("marking", "rim_code")),
}
"""Of each of these groups one column must be there."""

TRADE_UNITS = {
    "rim_width": "in", "section_rim_width": "in", "rim_width_least": "in",
    "rim_width_greatest": "in", "offset": "mm", "hub_bore": "mm", "bolt_circle": "mm",
}  # fmt: skip
"""What a bare number means in every list of the trade; elsewhere the unit must be written."""

_HEAD = re.compile(r"^(?P<words>.+?)\s*(?:[(\[](?P<unit>[^)\]]+)[)\]]|,\s*(?P<after>\S+))?$")
_NUMBER = re.compile(r"^[+-]?\d+(?:\.\d+)?(?:\s*±\s*\d+(?:\.\d+)?)?$")
_PATTERN = re.compile(r"^(\d{1,2})\s*[x×/*-]\s*(\d{2,3}(?:\.\d+)?)(?:\s*mm)?$", re.I)
_RIM = re.compile(
    r"^(?P<a>\d{1,2}(?:\.\d+)?)\s*(?:JJ|JK|J|K|B)?\s*[x×]\s*(?P<b>\d{1,2}(?:\.\d+)?)\s*(?:JJ|JK|J|K|B)?"
    r"(?:\s*H2|\s*EH2\+?|\s*CH)*\s*(?:(?:x|ET|IS)\s*(?P<et>[+-]?\d+(?:\.\d+)?))?$",
    re.I,
)
UNKNOWN = frozenset({"", "-", "–", "?", "n/a", "na", "none", "unknown", "tbc", "tbd"})
_YES, _NO = frozenset({"yes", "y", "x", "xl", "true", "1"}), frozenset({"no", "n", "false", "0"})


class CellFault(Exception):
    """What is wrong with one cell: found, expected, hint."""

    def __init__(self, found: str, expected: str, hint: str = "") -> None:
        super().__init__(f"found {found}, expected {expected}. {hint}".strip())
        self.found, self.expected, self.hint = found, expected, hint


@dataclass(frozen=True)
class Column:
    """One column: its head as written, the field it fills, the unit of its bare numbers."""

    head: str
    field: str
    unit: str


def read_head(head: str, kind: ListKind) -> Column:
    """A head such as ``offset (mm)``, ``rim width [in]``, ``ET``. Raises CellFault."""
    text = " ".join(head.replace("_", " ").split())
    match = _HEAD.match(text)
    words = (match["words"] if match else text).lower().rstrip(":")
    unit = ((match["unit"] or match["after"] or "") if match else "").strip()
    by_word = {word: field for field, known in WORDS[kind].items() for word in known}
    field = by_word.get(words)
    if field is None and " " in words:
        # "offset mm": the last word may be a unit
        rest = words.rpartition(" ")[0]
        if rest in by_word and not unit:
            field, unit = by_word[rest], text.rpartition(" ")[2]
    if field is None:
        expected = ", ".join(known[0] for known in WORDS[kind].values())
        raise CellFault(repr(head), f"one of: {expected}", nearest(words, tuple(by_word)))
    return Column(head, field, unit)


def missing_columns(columns: list[Column], kind: ListKind) -> list[str]:
    """Columns without which the list says too little."""
    have = {c.field for c in columns}
    return [
        " or ".join(repr(WORDS[kind][f][0]) for f in group)
        for group in NEEDED[kind]
        if not have & set(group)
    ]


Cells = dict[str, tuple[Column, str]]
"""The cells of one row that say something, by field."""


def facts_of(cells: Cells, kind: ListKind) -> tuple[dict[str, Any], list[tuple[str, CellFault]]]:
    """The facts of one row as a part's table would write them, and the faults by field."""
    facts: dict[str, Any] = {}
    faults: list[tuple[str, CellFault]] = []
    for name, (column, text) in cells.items():
        if name in ("id", "pattern", "marking", *_TYRE_PIECES):
            continue
        try:
            facts[name] = _fact(name, column, text, kind)
        except CellFault as fault:
            faults.append((name, fault))
    joined = [("marking", _tyre_marking if kind == "tyre" else _rim_marking)]
    joined += [("pattern", _bolts)] if "pattern" in cells else []
    for name, read in joined:
        try:
            facts |= read(cells, facts)
        except CellFault as fault:
            faults.append((name if name in cells else "nominal", fault))
    if "price" in facts and cells["price"][0].unit:
        facts["price"] = f"{facts['price']} {cells['price'][0].unit}"
    return facts, faults


_TYRE_PIECES = ("nominal", "aspect", "rim_code", "load_index", "speed_symbol", "extra")


def _fact(name: str, column: Column, text: str, kind: ListKind) -> Any:
    field = part_kinds()[kind].model_fields[name]
    quantity = field_kind(field)
    if quantity is None:
        if name in ("diameter_code", "bolt_count"):
            return _whole(text, name)
        return text
    with_unit = text
    if name == "rim_width" and re.fullmatch(r"\d{1,2}(\.\d+)?\s*(JJ|JK|J)", text, re.I):
        with_unit = re.sub(r"\s*[JK]+$", " in", text, flags=re.I)
    elif name == "offset":
        with_unit = re.sub(r"^(ET|IS)\s*", "", text, flags=re.I)
    if _NUMBER.match(with_unit):
        unit = column.unit or TRADE_UNITS.get(name, "")
        with_unit = f"{with_unit} {unit}".strip()
    try:
        value = parse_value(with_unit, quantity)
    except ValueFault as fault:
        raise CellFault(fault.found, fault.expected, fault.hint) from None
    if name.startswith("rim_width") and not 0.05 <= value.median <= 0.42:
        raise CellFault(repr(text), "a rim width such as 8.5 in", "Road rims: 2 to 16 in.")
    if name == "offset" and abs(value.median) > 0.15:
        raise CellFault(repr(text), "an offset such as 35 mm", "Offsets lie within 150 mm.")
    return with_unit


def _whole(text: str, name: str) -> int:
    found = re.fullmatch(r'(?:R\s*)?(\d{1,2})(?:\.0+)?\s*(?:in|inch|inches|"|”|″)?', text, re.I)
    if found is None:
        what = "a rim diameter code such as 17" if name == "diameter_code" else "a count such as 5"
        raise CellFault(repr(text), what)
    return int(found[1])


def _bolts(cells: Cells, facts: dict[str, Any]) -> dict[str, Any]:
    text = cells["pattern"][1]
    found = _PATTERN.match(text)
    if found is None:
        raise CellFault(repr(text), "a bolt pattern such as 4x100 or 5x114.3")
    return _agreeing(text, facts, {"bolt_count": int(found[1]), "bolt_circle": f"{found[2]} mm"})


def _agreeing(text: str, facts: dict[str, Any], said: dict[str, Any]) -> dict[str, Any]:
    """What one cell says of several facts, which other columns must not contradict."""
    for name, value in said.items():
        there = facts.get(name, value)
        same = there == value
        if not same and isinstance(there, str):
            first, second = (parse_value(t, "length").median for t in (there, value))
            same = abs(first - second) < 1e-4
        if not same:
            raise CellFault(repr(text), f"the same as the other column says: {there}")
    return said


def _rim_marking(cells: Cells, facts: dict[str, Any]) -> dict[str, Any]:
    """Width, diameter and offset out of ``8.5Jx17 ET30`` or ``17x8.5``."""
    if "marking" not in cells:
        lacking = [n for n in ("rim_width", "offset", "diameter_code") if n not in cells]
        if lacking:
            raise CellFault("nothing", f"a value for {WORDS['wheel'][lacking[0]][0]}")
        return {}
    text = cells["marking"][1].replace("½", ".5").replace(" 1/2", ".5")
    if re.fullmatch(r'\d{2}\s*("|in|inch)?', text.strip(), re.I):
        return _agreeing(text, facts, {"diameter_code": _whole(text, "diameter_code")})
    found = _RIM.match(text.strip())
    if found is None:
        raise CellFault(repr(text), "a rim size such as 8.5Jx17 ET30 or 17x8.5")
    width, code = sorted((float(found["a"]), float(found["b"])))
    if code != int(code) or not 10 <= code <= 24:
        raise CellFault(repr(text), "a rim diameter code from 10 to 24")
    said: dict[str, Any] = {"rim_width": f"{width:g} in", "diameter_code": int(code)}
    if found["et"] is not None:
        said["offset"] = f"{float(found['et']):g} mm"
    elif "offset" not in cells:
        raise CellFault(repr(text), "an offset as well, such as 8.5Jx17 ET30")
    return _agreeing(text, facts, said)


def _tyre_marking(cells: Cells, facts: dict[str, Any]) -> dict[str, Any]:
    """The marking, with load index and speed symbol from columns of their own where it has none."""
    here = {name: cells[name][1] for name in ("marking", *_TYRE_PIECES) if name in cells}
    text = here.get("marking", "")
    if not text:
        lacking = [n for n in ("nominal", "aspect", "rim_code") if n not in here]
        if lacking:
            raise CellFault("nothing", f"a value for {WORDS['tyre'][lacking[0]][0]}")
        nominal = re.sub(r"\s*mm$", "", here["nominal"], flags=re.I)
        aspect = re.sub(r"\s*%$", "", here["aspect"])
        text = f"{nominal}/{aspect} R{_whole(here['rim_code'], 'diameter_code')}"
    try:
        marking = parse_marking(text)
        if marking.load_index is None and "load_index" in here and "speed_symbol" in here:
            text = f"{marking.size} {here['load_index']}{here['speed_symbol']}"
        if "extra" in here and not parse_marking(text).extra_load and _is_yes(here["extra"]):
            text = f"{text} XL"
        return {"marking": str(parse_marking(text))}
    except MarkingError as error:
        raise CellFault(repr(text), "a tyre marking such as 205/50 R16 87V", str(error)) from None


def _is_yes(text: str) -> bool:
    if text.lower() in _YES:
        return True
    if text.lower() in _NO:
        return False
    raise CellFault(repr(text), "yes or no")
