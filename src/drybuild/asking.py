"""``new`` and ``demo``: the four plain questions, and the copies they lead to."""

from __future__ import annotations

import shutil
import sys
from importlib.resources import files
from pathlib import Path

from drybuild.build.errors import UnknownName, nearest
from drybuild.build.new import FIRST_CHANGES, STARTERS, make_build
from drybuild.examine.schemas import write_schemas

DONT_KNOW = "don't know"


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
    nearest = _answer("Which is nearest to your car?", nearest, (*STARTERS, "none"), asked)
    driving = _answer("Is it standard and driving today?", driving, ("yes", "no"), asked)
    inspection = inspection or (
        _plain("Last inspection and known faults?", asked) if inspection is None else DONT_KNOW
    )
    first = _answer("What are you changing first?", first, tuple(FIRST_CHANGES), asked)
    make_build(folder, nearest=nearest, driving=driving, inspection=inspection, first_change=first)
    write_schemas(folder / "schema")
    return (
        f"{folder} is made: build.toml (goals, jobs), car.toml (your car), parts/ (what goes on).\n"
        f"Every number in it is assumed, with wide doubt, until you measure it.\n"
        f"next: drybuild check {folder}\nthen: drybuild measure {folder}"
    )


def copy_demo(folder: Path) -> None:
    """Copy the invented demo build. Raises UnknownName when the folder is in use."""
    if folder.exists() and any(folder.iterdir()):
        raise UnknownName(f"{folder} is not empty: name another folder")
    with_examples = Path(str(files("drybuild"))) / "examples" / "plover"
    if not with_examples.is_dir():
        with_examples = Path(str(files("drybuild"))).parents[1] / "examples" / "plover"
    shutil.copytree(with_examples, folder, dirs_exist_ok=True)


def _answer(question: str, given: str | None, known: tuple[str, ...], asked: bool) -> str:
    if given is None and asked:
        print(f"{question}\n  " + "\n  ".join((*known, DONT_KNOW)))
        given = input("> ").strip()
    if not given or given == DONT_KNOW:
        return DONT_KNOW
    if given not in known:
        close = nearest(given, known)
        raise UnknownName(f"{given!r}: expected one of {', '.join(known)} or {DONT_KNOW}. {close}")
    return given


def _plain(question: str, asked: bool) -> str:
    if not asked:
        return DONT_KNOW
    return input(f"{question} ({DONT_KNOW} is an answer)\n> ").strip() or DONT_KNOW
