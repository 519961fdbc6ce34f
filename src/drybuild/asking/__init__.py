"""``new`` and ``demo``: the four plain questions, and the copies they lead to."""

from __future__ import annotations

import shutil
import sys
from collections.abc import Callable, Mapping
from importlib.resources import files
from pathlib import Path
from typing import TypeVar

from drybuild.asking.understood import changes_named, understood
from drybuild.build.errors import UnknownName
from drybuild.build.new import DONT_KNOW, FIRST_CHANGES, STARTERS, make_build
from drybuild.examine.schemas import write_schemas

T = TypeVar("T", str, tuple[str, ...])
YES_NO = {"yes": "", "no": ""}


def list_starters() -> str:
    """The starter cars, a line each."""
    return "\n".join(f"{name:<22} {title}" for name, title in STARTERS.items())


def ask_and_make(
    folder: Path,
    *,
    nearest: str | None,
    driving: str | None,
    inspection: str | None,
    first: str | None,
) -> str:
    """Ask what was not given (when somebody is there to ask), make the folder, say what to do."""
    asked = sys.stdin.isatty()
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise UnknownName(f"{folder} is in use: name another folder")
    unsaid = [
        f"--{option}"
        for option, given in (
            ("nearest", nearest), ("driving", driving),
            ("inspection", inspection), ("first", first),
        )
        if given is None
    ]  # fmt: skip
    cars = {**STARTERS, "none": "near none of these"}
    nearest = _answer("Which is nearest to your car?", nearest, cars, asked, understood)
    driving = _answer("Is it standard and driving today?", driving, YES_NO, asked, understood)
    inspection = inspection or (
        _plain("Last inspection and known faults?", asked) if inspection is None else DONT_KNOW
    )
    changes = _answer(
        "What are you changing first? Several, in turn: 2, 4", first, FIRST_CHANGES, asked,
        changes_named,
    ) or (DONT_KNOW,)  # fmt: skip
    make_build(
        folder, nearest=nearest, driving=driving, inspection=inspection, first_change=changes[0],
        then=changes[1:],
    )  # fmt: skip
    write_schemas(folder / "schema")
    lines = [
        f"{folder} is made: build.toml (goals, jobs), car.toml (your car), parts/ (what goes on).",
        "Every number in it is assumed, with wide doubt, until you measure it.",
    ]
    if unsaid and not asked:
        lines.append(f'Nobody was there to ask: "{DONT_KNOW}" was taken for {", ".join(unsaid)}.')
    lines += [f"next: drybuild check {folder}", f"then: drybuild measure {folder}"]
    return "\n".join(lines)


def copy_demo(folder: Path, *, work: bool = False) -> None:
    """Copy the invented demo build, with the work of six Saturdays where ``work``.

    Raises UnknownName when the folder is in use.
    """
    if folder.exists() and not (folder.is_dir() and not any(folder.iterdir())):
        what = "not empty" if folder.is_dir() else "a file"
        raise UnknownName(f"{folder} is {what}: name another folder")
    installed = Path(str(files("drybuild")))
    places = (installed / "examples", installed.parents[1] / "examples")  # as a wheel; a checkout
    examples = next(place for place in places if place.is_dir())
    demo = examples / ("plover_saturdays" if work else "plover")
    shutil.copytree(
        demo, folder, ignore=shutil.ignore_patterns("schema", ".*"), dirs_exist_ok=True
    )  # fmt: skip
    write_schemas(folder / "schema")


def _answer(
    question: str, given: str | None, known: Mapping[str, str], asked: bool,
    meant: Callable[[str, Mapping[str, str]], T],
) -> T:  # fmt: skip
    """One of the known answers, by its name, its number or its beginning; asked until it is.

    meant: reads what was typed.
    """
    if given is not None or not asked:
        return meant(given or "", known)
    print(question)
    for number, (name, meaning) in enumerate(known.items(), 1):
        print(f"  {number}  {name:<18} {meaning}".rstrip())
    print(f"     {DONT_KNOW}: just press enter")
    while True:
        try:
            return meant(input("> "), known)
        except UnknownName as error:
            print(error)


def _plain(question: str, asked: bool) -> str:
    if not asked:
        return DONT_KNOW
    return input(f"{question}\n     {DONT_KNOW}: just press enter\n> ").strip() or DONT_KNOW
