"""What a sheet says of a fact: what it is, how much, how it is known; and what a blank asks."""

from __future__ import annotations

import re
from collections.abc import Mapping
from types import MappingProxyType
from typing import Any

from drybuild.build.declared import Declared, declaration
from drybuild.build.drawn import quantity_kind
from drybuild.examine.lookup import takes
from drybuild.examine.noting import words_to_choose
from drybuild.examine.sheets.calibrator import Known, known_name
from drybuild.values import KINDS, Curve
from drybuild.values.units import listed

CEILING_WORDS: Mapping[str, str] = MappingProxyType(
    {"goal.boost": "most boost at the site that a map may ask for"}
)
"""What is a ceiling of the sheet, and something else to the owner."""

STARTER = "as standard, of the starter car: nobody has said it, ask the owner"
"""Of a wish that was never spoken: the sheet says what to do before a map is written to it."""


def doc_of(one: Known) -> str:
    """What a figure is, as the sheet says it."""
    return CEILING_WORDS.get(one.address, one.doc)


def choice_text(declared: Declared, word: str) -> str:
    """A word that was chosen of a few, and what it means: ``stage: first (a cautious one …)``."""
    meaning = meanings(declared).get(word)
    if meaning is None:
        return f"{declared.doc}: {word}"
    return f"{_key(declared)}: {word}{f' ({meaning})' if meaning else ''}"


def meanings(declared: Declared) -> dict[str, str]:
    """Of each word that a fact takes what it means; nothing where its model does not say."""
    words = words_to_choose(declared)
    pieces = re.split(r";\s*|, or ", declared.doc)
    if declared.field.annotation is None or len(pieces) != len(words) or words == ("yes", "no"):
        return {}
    said = (piece.rpartition(": ")[2].strip() for piece in pieces)
    return {word: "" if piece == word else piece for word, piece in zip(words, said, strict=True)}


def asked(address: str) -> str:
    """What a blank of the text form asks: what it is, and what it takes."""
    declared = declaration(address)
    if declared is None:
        return ""
    each = meanings(declared)
    if each:
        words = [f"{word} ({what})" if what else word for word, what in each.items()]
        return f"{_key(declared)}: {', '.join(words[:-1])} or {words[-1]}"
    return f"{declared.doc} ({takes(declared)})"


def blank(address: str) -> dict[str, Any]:
    """What a blank on paper asks: its name, its unit or its words, what it is.

    at: where it is a curve, the points that it asks for.
    """
    declared = declaration(address)
    title = known_name(address).removeprefix("map ")
    if declared is None:
        return {"title": title, "unit": "", "says": "", "at": []}
    words, each = words_to_choose(declared), meanings(declared)
    unit = " / ".join(words) if words else _unit(declared)
    says = "; ".join(f"{w}: {m}" for w, m in each.items() if m) if each else declared.doc
    return {"title": title, "unit": unit, "says": says, "at": []}


def curve_blank(address: str, stated: Any) -> dict[str, Any]:
    """A blank of a measured figure; of a curve a blank for each of its points."""
    found = blank(address)
    if isinstance(stated, Curve):
        x, y = _first_unit(stated.x_kind), _first_unit(stated.y_kind)
        found |= {"at": [f"at {point:g} {x}, {y}" for point in stated.x], "unit": y}
    return found


def _unit(declared: Declared) -> str:
    try:
        return _first_unit(quantity_kind(declared))
    except KeyError:
        return ""


def _first_unit(kind: str) -> str:
    if kind == "fraction":
        return "%"
    first = listed(KINDS[kind]).partition(", ")[0]
    return "" if first == "no unit" else first.partition(" (")[0]


def _key(declared: Declared) -> str:
    return declared.path[-1].replace("_", " ")
