"""Reads the library's files and lays them over each other: common, outline, the owner's own."""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from functools import cache, partial
from importlib.resources import files
from types import MappingProxyType
from typing import Any, Final, TypeVar

from drybuild.build.errors import Fault
from drybuild.build.fixings import Fixing, in_own_words
from drybuild.build.lines import line_of
from drybuild.build.model import Model
from drybuild.build.reading import check_model
from drybuild.build.work_file import (
    ComponentTable,
    EffectTable,
    JobTable,
    PlaceTable,
    ToolTable,
    WearTable,
    WorkFile,
    WorkTables,
)
from drybuild.findings import AXLES
from drybuild.work.errors import WorkFaults

OUTLINES: Final = ("transverse-turbo", "flat-four-turbo", "in-line-rear-drive")
COMMON: Final = ("common", "corners", "places", "effects", "wear")
"""Files that every outline begins with."""

AFTER: Final = ("beforehand", "hours")
"""Files that are laid over every outline, as far as that has their tables."""

BY_CAR: Final[Mapping[str, str]] = MappingProxyType({
    "front-turbo-hatch": "transverse-turbo",
    "awd-turbo-wagon": "flat-four-turbo",
    "rear-turbo-coupe": "in-line-rear-drive",
    "light-roadster": "in-line-rear-drive",
    "v8-saloon": "in-line-rear-drive",
    "utility-4x4": "in-line-rear-drive",
})  # fmt: skip
"""Starter car → outline of the work library."""

KINDS: Final = ("component", "effect", "place", "job", "tool", "wear")
BY_AXLE: Final = ("component", "effect", "wear")
"""Kinds of table whose name may hold ``{axle}``: it is written out for both axles."""

T = TypeVar("T", bound=Model)


@dataclass(frozen=True, slots=True)
class Where:
    """Where a table, or a key of it, was said last."""

    file: str
    line: int | None
    keys: str

    def fault(self, found: str, expected: str, hint: str = "") -> Fault:
        """A fault found there."""
        return Fault(self.file, self.line, self.keys, found, expected, hint)


@dataclass(frozen=True, slots=True)
class _Said:
    """A file that says something of a table."""

    file: str
    text: str
    keys: tuple[str, ...]
    fields: frozenset[str]


@dataclass(frozen=True)
class Library:
    """All tables of an outline, laid over each other; see ``build.work_file`` for their keys.

    without: components and wear that the car has not got, and where that is said.
    """

    outline: str
    components: Mapping[str, ComponentTable]
    effects: Mapping[str, EffectTable]
    places: Mapping[str, PlaceTable]
    jobs: Mapping[str, JobTable]
    tools: Mapping[str, ToolTable]
    wear: Mapping[str, WearTable]
    without: Mapping[str, Where]
    _said: Mapping[tuple[str, str], tuple[_Said, ...]]

    def where(self, kind: str, name: str, key: str = "") -> Where:
        """The file and line that said this table or key last."""
        said = self._said.get((kind, name), ())
        chosen = next((s for s in reversed(said) if not key or key in s.fields), None)
        chosen = chosen or (said[-1] if said else None)
        if chosen is None:
            return Where(f"work library, {self.outline}", None, f"{kind}.{name}")
        keys = (*chosen.keys, key) if key else chosen.keys
        return Where(chosen.file, line_of(chosen.text, keys), ".".join(keys))

    def has_had(self, name: str) -> bool:
        """Whether any file of the library has a component or wear of that name."""
        return ("component", name) in self._said or ("wear", name) in self._said

    def place(self, root: str, axle: str = "") -> PlaceTable | None:
        """What fitting to a place takes; an entry of the one axle goes over that of both."""
        general, own = self.places.get(root), self.places.get(f"{root}.{axle}")
        found = _over(general, own) if general is not None and own is not None else own or general
        return _with_axle(found, axle) if found is not None and axle else found


def outlines() -> tuple[str, ...]:
    """The outlines that the library has."""
    return OUTLINES


def outline_of(car_outline: str) -> str:
    """The library's outline for that of a car, or an empty text when it has none."""
    name = car_outline.strip().lower().replace(" ", "-")
    return name if name in OUTLINES else BY_CAR.get(name, "")


@cache
def load(outline: str, fixing: Fixing = "") -> Library:
    """The library of an outline. Raises KeyError for one that it does not have.

    fixing: what holds the wheels of the car that it speaks of, where that is known.
    """
    if fixing:
        return _worded(load(outline), partial(in_own_words, fixing=fixing))
    if outline not in OUTLINES:
        raise KeyError(f"no outline {outline!r}; known: {', '.join(OUTLINES)}")
    library = Library(outline, {}, {}, {}, {}, {}, {}, {}, {})
    for name in (*COMMON, outline, *AFTER):
        text = files(__package__).joinpath(f"{name}.toml").read_text(encoding="utf-8")
        faults: list[Fault] = []
        file = f"work library/{name}.toml"
        tables = check_model(
            WorkFile, tomllib.loads(text), file=file, text=text, at=(), known="", faults=faults
        )
        if tables is None:
            raise WorkFaults(faults)
        if name in AFTER:
            tables = _of_what_it_has(library, tables)
        library = overlaid(library, tables, file=file, text=text)
    return library


def _of_what_it_has(library: Library, tables: WorkFile) -> WorkFile:
    """Tables of another file without components that the library has not got."""
    known = {
        own: _with_axle(table, axle)
        for name, table in tables.component.items()
        for axle in AXLES
        if (own := name.replace("{axle}", axle)) in library.components
    }
    return tables.model_copy(update={"component": known})


def tool_words(name: str) -> str:
    """A tool's name, and what it is where the library says it in other words."""
    plain = name.replace("_", " ")
    tool = load(OUTLINES[0]).tools.get(name)
    if tool is None or not tool.title or tool.title.lower().startswith(plain.lower()):
        return tool.title if tool is not None and tool.title else plain
    return f"{plain}: {tool.title}"


def overlaid(library: Library, tables: WorkTables, *, file: str, text: str) -> Library:
    """The library with the tables of another file over it, key by key."""
    made: dict[str, dict[str, Any]] = {kind: dict(getattr(library, _field(kind))) for kind in KINDS}
    said = dict(library._said)
    for kind in KINDS:
        for name, table in getattr(tables, kind).items():
            for axle in AXLES if "{axle}" in name and kind in BY_AXLE else ("",):
                own = name.replace("{axle}", axle)
                new = _with_axle(table, axle) if axle else table
                old = made[kind].get(own)
                made[kind][own] = _over(old, new) if old is not None else new
                row = _Said(file, text, (kind, name), frozenset(table.model_fields_set))
                said[kind, own] = (*said.get((kind, own), ()), row)
    line = line_of(text, ("without",))
    anew = {*tables.component, *tables.wear}
    without = {name: where for name, where in library.without.items() if name not in anew}
    without |= {name: Where(file, line, "without") for name in tables.without}
    for name in tables.without:
        if name in made["component"] or name in made["wear"]:
            made["component"].pop(name, None)
            made["wear"].pop(name, None)
    return Library(
        library.outline, made["component"], made["effect"], made["place"], made["job"],
        made["tool"], made["wear"], without, said,
    )  # fmt: skip


def _worded(library: Library, words: Callable[[str], str]) -> Library:
    """The library with every text of its tables in other words."""
    said: dict[str, Any] = {
        (of := _field(kind)): {n: _each(t, words) for n, t in getattr(library, of).items()}
        for kind in KINDS
    }
    return replace(library, **said)


def _field(kind: str) -> str:
    return kind if kind == "wear" else f"{kind}s"


def _over(old: T, new: T) -> T:
    """The old table with what the new one says; tables inside it likewise."""
    update: dict[str, Any] = {}
    for name in new.model_fields_set:
        was, now = getattr(old, name), getattr(new, name)
        update[name] = _over(was, now) if isinstance(was, Model) and type(was) is type(now) else now
    return old.model_copy(update=update)


def _with_axle(table: T, axle: str) -> T:
    """The table with ``{axle}`` written out in every text of it."""
    return _each(table, lambda text: text.replace("{axle}", axle))


def _each(table: T, words: Callable[[str], str]) -> T:
    """The table with every text of it put through ``words``."""
    stated = table.model_fields_set
    return table.model_copy(update={name: _put(getattr(table, name), words) for name in stated})


def _put(value: Any, words: Callable[[str], str]) -> Any:
    if isinstance(value, str):
        return words(value)
    if isinstance(value, tuple):
        return tuple(_put(item, words) for item in value)
    return _each(value, words) if isinstance(value, Model) else value
