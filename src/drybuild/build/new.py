"""A new build folder from four plain questions, each of which may be answered "don't know".

The starter cars and what is put on first are data in ``starter_cars/``. Everything in the new
folder is assumed, with wide doubt, until somebody measures it.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Mapping, Sequence
from functools import cache
from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path
from types import MappingProxyType
from typing import Any, Final

import tomlkit
from tomlkit.items import Table

from drybuild.build.errors import UnknownName, nearest
from drybuild.build.migrate import FORMAT

DONT_KNOW: Final = "don't know"
NONE: Final = "none"

STARTERS: Final[Mapping[str, str]] = MappingProxyType({
    "front-turbo-hatch": "front-drive transverse turbo hatch: struts, twist beam",
    "awd-turbo-wagon": "all-wheel-drive flat-four turbo wagon: struts, multi-link",
    "rear-turbo-coupe": "rear-drive in-line turbo coupe: struts, multi-link",
    "light-roadster": "light roadster: double wishbones all round",
    "v8-saloon": "rear-drive V8 saloon: struts, live axle on coils",
    "utility-4x4": "4x4 utility: ladder frame, leaf-sprung live axle",
})  # fmt: skip
"""Starter car → its outline."""

FIRST_CHANGES: Final[Mapping[str, str]] = MappingProxyType({
    "wheels and tyres": "other wheels and tyres on all four corners",
    "lower it": "lower springs all round",
    "more fuel": "larger injectors and pump",
    "brakes": "discs, pads and fluid in front",
    "power": "intake and exhaust, with a turbo also cooler, dump pipe and a first map",
    "remap": "the map: written anew by whoever calibrates, for what is fitted",
    "a whole list": "all of these, one job after the other",
})  # fmt: skip
"""What is changed first → what that means."""

WHOLE_LIST: Final = "a whole list"
REMAP: Final = "remap"
BLANK: Final = "blank"
"""The folder in ``starter_cars`` for a car that is near none of them."""

ANSWERS: Final = ("yes", "no", DONT_KNOW)

WRITTEN_FOR: Final = ("injector_flow", "injector_pressure", "dead_time")
"""What a map says of the injectors: of new ones it says what whoever writes it puts there."""


def make_build(
    directory: Path | str,
    *,
    nearest: str = DONT_KNOW,
    driving: str = DONT_KNOW,
    inspection: str = DONT_KNOW,
    first_change: str = DONT_KNOW,
    then: Sequence[str] = (),
) -> Path:
    """Write a build folder that checks at once; returns its path.

    nearest: a key of STARTERS, ``none`` or ``don't know``; driving (standard and driving today):
    yes, no, don't know; inspection: the last inspection and known faults in plain words, or don't
    know; first_change: a key of FIRST_CHANGES or don't know; then: more of its keys, for all else
    that is to be changed. Raises UnknownName for another answer, and for a folder that is in use:
    nothing that exists is ever overwritten.
    """
    _one_of("nearest", nearest, (*STARTERS, NONE, DONT_KNOW))
    _one_of("driving", driving, ANSWERS)
    _one_of("first_change", first_change, (*FIRST_CHANGES, DONT_KNOW))
    for change in then:
        _one_of("then", change, tuple(FIRST_CHANGES))
    folder = Path(directory)
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise UnknownName(f"{folder} is in use: name another folder")
    starter = nearest if nearest in STARTERS else BLANK
    source = starter_folder(starter)
    (folder / "parts").mkdir(parents=True, exist_ok=True)
    _write(folder / "car.toml", _text(source, "car.toml"))
    standard = source.joinpath("parts", "standard.toml")
    if standard.is_file():
        _write(folder / "parts" / "standard.toml", standard.read_text(encoding="utf-8"))
    jobs = _jobs(starter, (first_change, *then))
    if jobs:
        _write(folder / "parts" / "first.toml", _first_parts(source, jobs.values()))
    name = " ".join(folder.resolve().name.replace("_", " ").replace("-", " ").split())
    _write(folder / "build.toml", _build_text(name, starter, driving, inspection, jobs))
    return folder


def starter_folder(name: str) -> Traversable:
    """Where the data of a starter car lies: car.toml, goal.toml, parts/, first_changes.toml."""
    return files("drybuild.build").joinpath("starter_cars", name)


@cache
def first_changes(starter: str) -> Mapping[str, Any]:
    """The tables of a starter car's ``first_changes.toml``: one a change, and ``part``."""
    return MappingProxyType(tomllib.loads(_text(starter_folder(starter), "first_changes.toml")))


def _one_of(question: str, answer: str, known: tuple[str, ...]) -> None:
    if answer not in known:
        hint = nearest(answer, known)
        raise UnknownName(f"{question}: {answer!r}; expected one of {', '.join(known)}. {hint}")


def _text(folder: Traversable, name: str) -> str:
    return folder.joinpath(name).read_text(encoding="utf-8")


def _write(path: Path, text: str) -> None:
    path.write_text(text, encoding="utf-8", newline="\n")


def one_by_one(changes: Iterable[str]) -> tuple[str, ...]:
    """Each change once, in the order in which they are named; a whole list is all that is left."""
    wanted = [name for name in dict.fromkeys(changes) if name != DONT_KNOW]
    if WHOLE_LIST in wanted:
        wanted = list(dict.fromkeys((*wanted, *FIRST_CHANGES)))
        wanted.remove(WHOLE_LIST)
    return tuple(wanted)


def _jobs(starter: str, changes: Iterable[str]) -> dict[str, dict[str, Any]]:
    """Change → its table, for the changes asked for."""
    tables = first_changes(starter)
    jobs = {name: dict(tables[name]) for name in one_by_one(changes)}
    if REMAP in jobs and "map" in jobs.get("power", {}).get("fit", {}):
        # One map is written for both: the cautious one, by the job that is the map's own.
        power = dict(jobs["power"]["fit"])
        jobs[REMAP]["fit"] = {"map": power.pop("map")}
        jobs["power"]["fit"] = power
    return jobs


def _first_parts(source: Traversable, jobs: Iterable[Mapping[str, Any]]) -> str:
    """The stand-in parts that the jobs fit, with the comments of the data kept."""
    fitted = {place: part for job in jobs for place, part in job["fit"].items()}
    used = set(fitted.values())
    document = tomlkit.parse(_text(source, "first_changes.toml"))
    parts = document["part"]
    kept = tomlkit.document()
    for line in (
        ":schema ../schema/parts.json",
        " Stand-ins for what you will put on: guesses with wide doubt. Replace each figure by what",
        " stands on the box, and name the part.",
    ):
        comment = tomlkit.comment(line)
        comment.trivia.comment = "#" + line
        kept.add(comment)
    kept.add("format", tomlkit.item(FORMAT))
    kept.add("known", tomlkit.item("assumed"))
    table = tomlkit.table(is_super_table=True)
    assert isinstance(parts, Table)
    for name, part in parts.items():
        if name not in used:
            continue
        if part.get("kind") == "map" and "injectors" in fitted:
            _unsay(part, WRITTEN_FOR, "of the new injectors: whoever calibrates says it")
        table.add(name, part)
    kept.add("part", table)
    return tomlkit.dumps(kept)


def _unsay(part: Any, facts: Iterable[str], why: str) -> None:
    """Take facts out of a part's table; what is missing, and why, stands in their place."""
    gone = [fact for fact in facts if part.pop(fact, None) is not None]
    for fact in gone:
        part.add(tomlkit.comment(f"{fact}: not known yet, {why}"))


def _build_text(
    name: str,
    starter: str,
    driving: str,
    inspection: str,
    jobs: Mapping[str, Mapping[str, Any]],
) -> str:
    """build.toml as text; it is written by hand so that its comments teach."""
    begun = "begun without a starter car"
    if starter in STARTERS:
        begun = f"begun from the starter car {starter} ({STARTERS[starter]})"
    lines = [
        "#:schema schema/build.json",
        "# Your build. Every figure is assumed until you measure it: drybuild measure says what.",
        f"format = {FORMAT}",
        'known = "assumed"',
        "",
        "[build]",
        f"name = {_quoted(name or 'my build')}",
        f"scenario = {_quoted(begun)}",
        'use = "drive"                          # what you want it to do in the end',
        'rule_sets = ["un-base"]                # also: au-light-modified; see the docs for all',
    ]
    if driving != DONT_KNOW:
        lines += [
            f"driving = {'true' if driving == 'yes' else 'false'}"
            "                         # standard and driving today",
            'driving_stated = "by the owner, when this folder was made"',
        ]
    else:
        lines.append("# driving = true                       # standard and driving today? say so")
    if inspection != DONT_KNOW and inspection.strip():
        lines.append(f"last_inspection = {_quoted(inspection.strip())}")
    else:
        lines.append('# last_inspection = "date, result, known faults"')
    lines += [
        "",
        "[site]",
        'altitude = "0 to 600 m"                # where you drive at full load',
        'temperature = "22 ± 12 °C"',
        'humidity = "50 ± 30 %"',
        'hot_day = "36 ± 5 °C"',
        "",
        "[goal]",
        'load = "150 ± 75 kg"                   # people and luggage',
        'lambda_full_load = "0.85 ± 0.05 lambda"',
        *_goals(starter),
        "",
        "[blend.petrol]",
        'name = "petrol from the pump"',
        "used = true",
        'ethanol = "0 to 10 %"',
        'research_octane = "95 ± 1"             # as the pump says',
        'vapour_pressure = "60 ± 15 kPa absolute"',
    ]
    for change, job in jobs.items():
        lines += ["", "[[job]]", f"id = {_quoted(change.replace(' ', '-'))}"]
        lines += [f"title = {_quoted(FIRST_CHANGES[change])}"]
        lines.append(f"fit = {_inline(job['fit'])}")
        if job.get("set"):
            lines.append(f"set = {_inline(job['set'])}")
    return "\n".join(lines) + "\n"


def _goals(starter: str) -> list[str]:
    """The lines that a starter car adds to [goal]; a car of its own kind has none yet."""
    found = starter_folder(starter).joinpath("goal.toml")
    if not found.is_file():
        return []
    lines = found.read_text(encoding="utf-8").splitlines()
    return [line for line in lines if line and not line.startswith("#")]


def _quoted(text: str) -> str:
    return tomlkit.item(" ".join(text.split())).as_string()


def _inline(table: Mapping[str, Any]) -> str:
    inline = tomlkit.inline_table()
    for key, value in table.items():
        inner: Any = value
        if isinstance(value, Mapping):
            inner = tomlkit.inline_table()
            inner.update(value)
        inline.append(tomlkit.key(key) if "." not in key else tomlkit.string(key), inner)
    return str(inline.as_string())
