"""Finds the address of what somebody has in mind from the words they have for it.

``rear left tyre pressure`` is ``corner.rear.left.tyre_pressure``. The words of the address count
most, then those that say what it means, then those that say how it is measured.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from difflib import SequenceMatcher
from functools import cache
from typing import Any, get_args

import numpy as np

from drybuild.build import Change, State
from drybuild.build.declared import (
    HEAD_FIELDS,
    Declared,
    declaration,
    declared_addresses,
    declared_blend,
    expand,
    field_kind,
    inner_model,
)
from drybuild.build.drawn import DrawnFacts
from drybuild.build.fixings import of_the_other
from drybuild.build.kinds import place_of, places
from drybuild.build.lists import is_list
from drybuild.build.model import Model
from drybuild.examine.curve_points import axes_of
from drybuild.examine.held_by import all_held_by
from drybuild.examine.opened import OpenBuild
from drybuild.findings import AXLES, SIDES, Fact, Missing
from drybuild.values import KINDS, DrawnCurve, Draws, HowKnown, System, show, show_numbers
from drybuild.values.types import OfCurve
from drybuild.values.units import listed

TABLES = frozenset(
    {"axle", "car", "corner", "engine", "goal", "identity", "registration", "site", "speedo"}
)
"""Tables whose name need not be said: nobody says "corner" of a tyre pressure."""

SAME = (
    ("tire", ("tyre",)),
    ("centre bore", ("hub bore",)),
    ("center bore", ("hub bore",)),
    ("bolt pattern", ("bolt circle",)),
    ("pcd", ("bolt circle",)),
    ("et", ("offset",)),
    ("backspacing", ("offset",)),
    ("ride height", ("arch point height", "measured drop")),
    ("fender height", ("arch point height", "measured drop")),
    ("wheel arch", ("arch",)),
    ("clearance", ("gap", "clearance")),
    ("strut", ("hub carrier", "strut")),
    ("upright", ("hub carrier",)),
    ("stub axle", ("hub carrier", "stub axle")),
    ("knuckle", ("hub carrier",)),
    ("shock absorber", ("damper",)),
    ("shock", ("damper",)),
    ("sway bar", ("anti roll bar",)),
    ("swaybar", ("anti roll bar",)),
    ("rotor", ("disc",)),
    ("intercooler", ("charge cooler",)),
    ("downpipe", ("dump pipe",)),
    ("blow off valve", ("relief valve",)),
    ("catalytic converter", ("catalyst",)),
    ("axle weight", ("axle load",)),
    ("corner weight", ("load kerb",)),
    ("kerb weight", ("kerb mass",)),
    ("curb weight", ("kerb mass",)),
    ("tyre size", ("tyre marking",)),
    ("wheel width", ("rim width",)),
    ("wheel size", ("rim width", "wheel diameter code")),
    ("lug", ("wheel",)),
    ("bhp", ("power",)),
)
"""What people say → the words of the addresses; more than one where it may mean either."""

IDLE = frozenset([
    "a", "an", "and", "at", "by", "for", "from", "in", "is", "it", "its", "my", "of", "on", "or",
    "the", "to", "with",
])  # fmt: skip
"""Words that say nothing of what is meant."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One thing that can be noted. ``address`` stands for all its places until it is narrowed.

    per: car, axle or corner; part: id of a part that is not on the car yet.
    """

    address: str
    declared: Declared
    per: str = "car"
    part: str = ""

    def narrowed(self, axle: str, side: str) -> Entry:
        """The same at the axle and side that were named, as far as it has them."""
        where = [word for word in (axle, side) if word] if self.per == "corner" else []
        if self.per == "axle" and axle:
            where = [axle]
        root, _, rest = self.address.partition(".")
        return replace(self, address=".".join((root, *where, rest)))


@dataclass(frozen=True, slots=True)
class Found:
    """An entry and how well it answers.

    exact: it was said by its own words, all of them and no other; named: all but its table's.
    """

    entry: Entry
    score: float
    exact: bool
    named: bool


def entries(opened: OpenBuild) -> tuple[Entry, ...]:
    """All that can be noted for this build: tables, places, and parts that are not on it yet."""
    found: dict[str, Entry] = {}
    fixing = all_held_by(opened.present.state)
    blends = (one for b in opened.build.blends for one in declared_blend(b).values())
    for declared in (*declared_addresses().values(), *blends):
        if not _can_be_noted(declared):
            continue
        root, per = _root_and_per(declared)
        if of_the_other(root, declared.path[0], fixing):
            continue
        address = ".".join((root, *declared.path))
        found.setdefault(address, Entry(address, declared, per))
    on_the_car = set(opened.present.state.fitted.values())
    for part_id, part in opened.build.parts.items():
        if part_id not in on_the_car and not part.standard:
            found |= {e.address: e for e in _of_part(opened, part_id)}
    return tuple(found.values())


def _root_and_per(declared: Declared) -> tuple[str, str]:
    place = place_of().get(declared.owner)
    if place is not None:
        return place.root, place.per
    root = declared.owner.partition(".")[0]
    if root == "blend":
        return declared.owner, "car"
    return root, root if root in ("axle", "corner") else "car"


def _of_part(opened: OpenBuild, part_id: str) -> Iterator[Entry]:
    kind = getattr(opened.build.parts[part_id], "kind", "")
    place = next((p for p in places().values() if p.kind == kind), None)
    if place is None:
        return
    owner = place.instances[0]
    for declared in declared_addresses().values():
        if declared.owner == owner and _can_be_noted(declared):
            address = ".".join(("part", part_id, *declared.path))
            yield Entry(address, declared, part=part_id)


def _can_be_noted(declared: Declared) -> bool:
    head = len(declared.path) == 1 and declared.path[0] in HEAD_FIELDS
    return not head and inner_model(declared.field.annotation) is None


def search(opened: OpenBuild, words: str) -> list[Found]:
    """What the words may mean, the likeliest first.

    Where only one entry is named so, it need not be said of which part it is: ``hub bore``.
    """
    known = entries(opened)
    found: dict[str, Found] = {}
    for wording, whole in _wordings(words):
        axle = next((w for w in wording if w in AXLES), "")
        side = next((w for w in wording if w in SIDES), "")
        for entry in known:
            one = _judged(entry, wording, axle, side) if _has_all(entry, whole) else None
            if one is not None:
                address = one.entry.address
                if address not in found or found[address].score < one.score:
                    found[address] = one
    for entry in known:  # an address as it is typed is itself, whatever else its words may mean
        if entry.address == words.strip():
            found[entry.address] = Found(entry, float("inf"), exact=True, named=True)
    ranked = sorted(found.values(), key=lambda f: (not f.exact, -f.score, f.entry.address))
    named = [f for f in ranked if f.named]
    if len(named) == 1 and not ranked[0].exact:
        ranked.remove(named[0])
        ranked.insert(0, replace(named[0], exact=True))
    return [f for f in ranked if f.score >= 0.6 * ranked[0].score]


def _judged(entry: Entry, wording: tuple[str, ...], axle: str, side: str) -> Found | None:
    """How well an entry answers; None when two words, or half of them, stand nowhere in it."""
    placed = entry.per != "car"
    wanted = [w for w in wording if not (placed and w in (*AXLES, *SIDES))]
    name, doc, how = _words_of(entry.declared, entry.part, entry.address)
    table, path = _must_be_said(entry)
    if not wanted or _only_beside(entry.declared, wanted):
        return None
    marks = [_mark(word, name, doc, how) for word in wanted]
    if marks.count(0.0) > min(1, (len(marks) - 1) // 2):
        return None
    unsaid = {w for w in table | path if not any(_alike(w, said) for said in wanted)}
    score = sum(marks) / len(marks) - 0.04 * min(len(unsaid), 4)
    if entry.per == "axle" and side:
        score -= 0.1
    named = min(marks) == 1.0 and not unsaid & path and not (entry.per == "axle" and side)
    return Found(entry.narrowed(axle, side), score, named and not unsaid, named)


def _only_beside(declared: Declared, wanted: list[str]) -> bool:
    """Whether it only stands beside a reading, and was not asked for with that reading's words."""
    if not declared.beside:
        return False
    own = [set(_split(name)) - {"point"} for name in declared.path[-2:]]
    return any(words.isdisjoint(wanted) for words in own)


def _mark(word: str, name: frozenset[str], doc: frozenset[str], how: frozenset[str]) -> float:
    if word in name:
        return 1.0
    if any(_alike(word, one) for one in name):
        return 0.8
    if word in doc:
        return 0.5
    return 0.3 if word in how or any(_alike(word, one) for one in doc) else 0.0


@cache
def _alike(one: str, other: str) -> bool:
    """The same word, its beginning, or the word with a slip of the keys."""
    if one == other:
        return True
    short, long = sorted((one, other), key=len)
    if len(short) < 4:
        return False
    return long.startswith(short) or SequenceMatcher(None, one, other).ratio() >= 0.82


def _must_be_said(entry: Entry) -> tuple[frozenset[str], frozenset[str]]:
    """Words that tell it from others: of its place, where it is a part's, and of its own."""
    path = frozenset(_split(" ".join(entry.declared.path))) - {"point"}
    root = entry.address.partition(".")[0]
    table = () if entry.part or root in TABLES else _split(root)
    return frozenset(table) - path, path


@cache
def _words_of(
    declared: Declared, part: str, address: str
) -> tuple[frozenset[str], frozenset[str], frozenset[str]]:
    """Words of its name, of what it means, and of how it is measured."""
    place = place_of().get(declared.owner)
    name = [*_split(address), *_split(part), *_split(declared.plain)]
    doc = _split(f"{about(declared)} {declared.doc}")
    if place is not None:
        name += _split(place.kind) + (_split(place.root) if not part else [])
        doc += _split(place.title)
    if part:
        name += ["planned", "new"]
    measure = declared.measure
    how = _split(f"{measure.tool} {measure.how}") if measure is not None else []
    return frozenset(name), frozenset(doc), frozenset(how)


def about(declared: Declared) -> str:
    """What the table is about in which a fact lies, where it lies in a table of its own."""
    above = declared_addresses().get(declared.address.rpartition(".")[0])
    return above.doc if above is not None else ""


def _split(text: str) -> list[str]:
    words = re.findall(r"[a-z0-9]+", text.lower().replace("'", ""))
    return [_single(word) for word in words if word not in IDLE]


def _single(word: str) -> str:
    """A word without the ending of many: nuts → nut."""
    return word[:-1] if len(word) > 3 and word.endswith("s") and not word.endswith("ss") else word


def _has_all(entry: Entry, whole: frozenset[str]) -> bool:
    """Whether it has all the words that stand for one name: half of them is another fact."""
    return not whole or whole <= _words_of(entry.declared, entry.part, entry.address)[0]


def _wordings(words: str) -> list[tuple[tuple[str, ...], frozenset[str]]]:
    """The words as the addresses have them, and of them those that stand for one name of several
    words; more than one wording where they may mean either."""
    texts = [(" ".join(map(_spelt, _split(words))), frozenset[str]())]
    for said, meant in SAME:
        pattern = rf"\b{said}\b"
        if any(re.search(pattern, text) for text, _ in texts):
            texts = [(re.sub(pattern, one, text), whole | _whole_name(one))
                     for text, whole in texts for one in meant]  # fmt: skip
    return list(dict.fromkeys((tuple(_split(text)), whole) for text, whole in texts))


def _whole_name(words: str) -> frozenset[str]:
    split = frozenset(_split(words))
    return split if len(split) > 1 else frozenset()


def _spelt(word: str) -> str:
    """A word of SAME with a slip of the keys as it is spelt there."""
    said = {one for phrase, _ in SAME for one in phrase.split()}
    if word in said or word in _names() or len(word) < 4:
        return word
    return next((one for one in sorted(said) if len(one) > 3 and _alike(word, one)), word)


@cache
def _names() -> frozenset[str]:
    return frozenset(word for address in declared_addresses() for word in _split(address))


def takes(declared: Declared) -> str:
    """What a fact takes: its quantity and units, its words, or the sort of thing."""
    if is_list(declared):
        return f"a list, each {_takes_one(declared)}"
    return _takes_one(declared)


def _takes_one(declared: Declared) -> str:
    kind = field_kind(declared.field)
    if kind is not None:
        what, units = KINDS[kind].what, listed(KINDS[kind])
        if units == "no unit":
            return what
        return f"{what}, in {units}".replace("in no unit, %", "bare or in %")
    waiting: list[Any] = [declared.field.annotation, *declared.field.metadata]
    while waiting:
        one = waiting.pop()
        if isinstance(one, OfCurve):
            return f"a curve of {_plain(one.y_kind)} over {_plain(one.x_kind)}"
        words = [word for word in get_args(one) if isinstance(word, str)]
        if words:
            return f"a word: {' or '.join(words)}"
        if one is bool:
            return "true or false"
        if one in (int, float):
            return "a whole number" if one is int else "a number"
        waiting += get_args(one)
    return "words as they stand on it"


def _plain(kind: str) -> str:
    return KINDS[kind].what.removeprefix("a ").removeprefix("an ")


def _curve_words(declared: Declared, curve: DrawnCurve, system: System) -> str:
    """How many points it has, and its ends, both in one unit."""
    axes = axes_of(declared)
    said = f"a curve of {len(curve.x)} points"
    if axes is None or len(curve.x) < 2:
        return said
    xs = show_numbers(axes.x_kind, [float(curve.x[end]) for end in (0, -1)], system)
    ys = show_numbers(axes.y_kind, [float(np.median(curve.y[end])) for end in (0, -1)], system)
    return f"{said}, {' to '.join(f'{y} at {x}' for x, y in zip(xs, ys, strict=True))}"


class Present:
    """What stands at an address now, in words."""

    def __init__(self, opened: OpenBuild, system: System = "metric") -> None:
        self.opened = opened
        self.system = system
        self._draws = Draws()
        self._facts: dict[str, DrawnFacts] = {}

    def said(self, entry: Entry) -> str:
        """What stands there and how it is known; of each place, where they differ."""
        if entry.part:
            return self._said_of_part(entry)
        state = self.opened.present.state
        where: dict[str, list[str]] = {}
        for address in expand(entry.address):
            where.setdefault(self.at(address, state), []).append(where_words(address))
        if len(where) == 1:
            return next(iter(where))
        return "; ".join(f"{', '.join(named)}: {said}" for said, named in where.items())

    def size(self, address: str, state: State) -> float:
        """How large the figure at an address is, SI; 0 where none stands there."""
        fact = self._fact(address, state, "")
        value = fact.value if isinstance(fact, Fact) else None
        if isinstance(value, str | bool) or not isinstance(value, float | int | np.ndarray):
            return 0.0
        return abs(float(np.nanmedian(np.asarray(value, dtype=np.float64))))

    def _fact(self, address: str, state: State, part: str) -> Fact | Missing:
        if part not in self._facts:
            self._facts[part] = DrawnFacts(state, self._draws)
        return self._facts[part].fact(address)

    def at(self, address: str, state: State, part: str = "", *, size: float = 0.0) -> str:
        """What stands at one address in a state. size: of what it is laid beside, SI."""
        declared = declaration(address)
        fact = self._fact(address, state, part)
        if declared is None or not isinstance(fact, Fact):
            empty = declared is not None and declared.owner in place_of()
            nobody = empty and not state.fitted.get(declared.owner)  # type: ignore[union-attr]
            return "nothing fitted there" if nobody else "not stated"
        how = f", {fact.how.words}" if fact.how is not None else ""
        if fact.how is HowKnown.MEASURED and field_kind(declared.field) is None:
            how = ", read off"  # nobody takes a gauge to a word
        return f"{self._number(declared, fact, size)}{how}"

    def _said_of_part(self, entry: Entry) -> str:
        """A part in hand, as if it were fitted to the first place where it can go."""
        owner = entry.declared.owner
        state = self.opened.build.base_state.after([Change("fit", owner, entry.part)])
        return self.at(entry.declared.address, state, entry.part)

    def _number(self, declared: Declared, fact: Fact, size: float) -> str:
        value, kind = fact.value, field_kind(declared.field)
        if isinstance(value, DrawnCurve):
            return _curve_words(declared, value, self.system)
        if isinstance(value, tuple):
            plain = all(isinstance(one, str | int | float) for one in value)
            return ", ".join(map(str, value)) if plain else f"{len(value)} rows"
        if isinstance(value, Model) and type(value).__str__ is Model.__str__:
            return "stated, figure by figure"
        if kind is None or isinstance(value, str | bool):
            return {True: "yes", False: "no"}.get(value, str(value))
        array = np.asarray(value, dtype=np.float64)
        if array.ndim == 0:
            return show(kind, float(array), system=self.system, size=size)
        low, median, high = np.nanquantile(array, (0.025, 0.5, 0.975))
        return show(kind, float(median), float(low), float(high), system=self.system, size=size)


def where_words(address: str) -> str:
    """The axle and side of an address in words: rear left; empty where it has none."""
    return " ".join(word for word in address.split(".")[1:3] if word in (*AXLES, *SIDES))


def beside(opened: OpenBuild, addresses: Iterable[str]) -> str:
    """The planned part that a reading of a place is not of, when there is one; else nothing."""
    now, planned = opened.present.state.fitted, opened.state("finished").fitted
    for address in addresses:
        place = next((p for p in place_of() if address.startswith(f"{p}.")), "")
        part = planned.get(place)
        if place and part and part != now.get(place):
            return f"part.{part}{address.removeprefix(place)}"
    return ""
