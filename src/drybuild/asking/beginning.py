"""The folder of a first visit: the same as ``drybuild new`` makes, with what was answered in it.

Numbers off tyres, wheels and boxes go into the parts' files; the one measurement goes into the
journal as ``drybuild note`` writes it. Where an answer makes a stand-in impossible (a wheel of 17
under a tyre of 18), the stand-in follows, and the file says that it did.
"""

from __future__ import annotations

import os
import re
import tempfile
from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import Any

import tomlkit

from drybuild.asking.questions import (
    FALLBACK,
    MEASURED,
    PARTS_FILE,
    STAND_INS,
    WHO,
    WHO_ASKED,
    Answers,
    questions,
    tyre_of,
    wheel_of,
)
from drybuild.build import Build, read_build
from drybuild.build.editing import edit_file, set_fact
from drybuild.build.errors import UnknownName
from drybuild.build.new import DONT_KNOW, make_build
from drybuild.build.tyre_marking import TyreMarking, parse_marking
from drybuild.build.wheel_marking import WheelMarking
from drybuild.examine.noting import Said, note
from drybuild.examine.opened import open_build
from drybuild.examine.schemas import write_schemas
from drybuild.systems.corners.formulas import design_overall_diameter, measuring_rim_width

STANDARD_FILE = "parts/standard.toml"
INCH = 0.0254
ASPECTS = range(25, 85, 5)


def begin(folder: Path, answers: Answers, *, measured_at: str = "", tool: str = "") -> None:
    """Make a build folder from the answers, in one step: nobody sees half of it.

    measured_at: the address of the one measurement. Raises UnknownName when the folder is in use;
    what noting a reading raises.
    """
    folder = folder.resolve()
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise UnknownName(f"{folder.name} is in use: name another folder")
    folder.parent.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(prefix=".drybuild-", dir=folder.parent) as beside:
        made = Path(beside) / folder.name
        make(made, answers, measured_at=measured_at, tool=tool)
        write_schemas(made / "schema")
        if folder.exists():
            folder.rmdir()
        os.rename(made, folder)


def make(folder: Path, answers: Answers, *, measured_at: str = "", tool: str = "") -> None:
    """Write the folder in its place, without the schemas."""
    make_build(
        folder,
        nearest=answers.get("car", "") or FALLBACK,
        driving=answers.get("driving", "") or DONT_KNOW,
        first_change=STAND_INS[answers.get("first", "")],
    )
    _as_it_is(folder, answers)
    if answers.get("first") == "wheels":
        _as_wanted(folder, answers)
    for question in questions(answers):
        if question.figure and answers.get(question.name):
            figure, text = question.figure, answers[question.name]
            raw = _maker(text) if figure.file == PARTS_FILE else text
            _set(folder, figure.file, figure.path, raw, _read("as you said"))
    if measured_at and answers.get(MEASURED):
        said = Said((answers[MEASURED],), answers.get(WHO_ASKED, "") or WHO, tool)
        note(open_build(folder), measured_at, said)


def _read(words: str) -> str:
    return f"{words}, {date.today().isoformat()}"


def _set(folder: Path, file: str, path: Sequence[str], raw: Any, comment: str) -> None:
    set_fact(read_build(folder), file, path, raw, comment=comment)


def _as_it_is(folder: Path, answers: Answers) -> None:
    """Tyre and wheel that are on the car: into the standard parts, which all four corners wear."""
    tyre, wheel = tyre_of(answers, "tyre"), wheel_of(answers, "wheel")
    if tyre is None and wheel is None:
        return
    build = read_build(folder)
    if STANDARD_FILE not in build.files:
        _begin_standard(folder, build, tyre is not None, wheel is not None or tyre is not None)
    if tyre is not None:
        _set(folder, STANDARD_FILE, ("part", "std_tyre", "marking"),
             {"is": str(tyre), "by": "eye"}, _read("read off the tyre"))  # fmt: skip
    _wheel(folder, STANDARD_FILE, "std_wheel", wheel, tyre, "read off the wheel")


def _as_wanted(folder: Path, answers: Answers) -> None:
    """The new wheel and tyre; where only one was named, the other is taken to match it."""
    wheel, tyre = wheel_of(answers, "new-wheel"), tyre_of(answers, "new-tyre")
    if wheel is None and tyre is None:
        return
    _wheel(folder, PARTS_FILE, "my_wheel", wheel, tyre, "as you named it")
    if wheel is not None:
        _set(folder, PARTS_FILE, ("part", "my_wheel", "name"), f"wheel, {wheel}",
             _read("as you named it"))  # fmt: skip
    if tyre is not None:
        _set(folder, PARTS_FILE, ("part", "my_tyre", "marking"), {"is": str(tyre), "by": "maker"},
             _read("as you named it"))  # fmt: skip
    elif wheel is not None:
        taken = tyre_for(wheel, _stated(folder, "my_tyre"), _stated(folder, "std_tyre"))
        _set(folder, PARTS_FILE, ("part", "my_tyre", "marking"), taken,
             "a guess: for that wheel, rolls most like the tyre that is on it")  # fmt: skip


def _wheel(
    folder: Path, file: str, part: str, wheel: WheelMarking | None, tyre: TyreMarking | None,
    words: str,
) -> None:  # fmt: skip
    """What a wheel's marking says, into a part; the tyre alone says the rim's code, no more."""
    code = wheel.rim_code if wheel else int(tyre.rim_code) if tyre else 0
    facts = read_build(folder).files[file]
    table = tomlkit.parse(facts)["part"][part]
    was = table.get("diameter_code")  # a plain number: nobody has said it before
    changed = was is not None and int(was) != code
    rows: list[tuple[str, Any, str]] = []
    if was is None or changed or wheel:
        seen = words if wheel else "as the tyre on it says"
        sure = wheel is not None or part == "std_wheel"
        rows.append(("diameter_code", {"is": code, "by": "eye"} if sure else code, _read(seen)))
    if changed:
        moved = _moved(str(table.get("barrel_inner_radius", "")), (code - int(was)) * INCH / 2)
        if moved:
            rows.append(("barrel_inner_radius", moved, "a guess: the stand-in's, with the rim"))
    if wheel is not None:
        rows.append(("rim_width", _maker(f"{wheel.rim_width_in:g} in"), _read(words)))
        if wheel.offset_mm is not None:
            rows.append(("offset", _maker(f"{wheel.offset_mm:g} mm"), _read(words)))
        if wheel.circle_mm is not None:
            rows.append(("bolt_count", {"is": wheel.bolt_count, "by": "eye"}, _read(words)))
            rows.append(("bolt_circle", _maker(f"{wheel.circle_mm:g} mm"), _read(words)))
    elif tyre is not None and (changed or part == "my_wheel"):
        width = float(measuring_rim_width(
            nominal_width=tyre.section_width_mm / 1e3, aspect_ratio=tyre.aspect_percent / 100
        )) / INCH  # fmt: skip
        rows.append(("rim_width", f"{width:g} in", "a guess: the rim that the tyre is measured on"))
    for key, raw, comment in rows:
        _set(folder, file, ("part", part, key), raw, comment)


def _maker(text: str) -> dict[str, str]:
    return {"is": text, "by": "maker"}


def _moved(text: str, by: float) -> str:
    """A radius of a stand-in for a rim of another code: as much further out, and as unsure."""
    match = re.fullmatch(r"([\d.]+) ± ([\d.]+) mm", text)
    return f"{float(match[1]) + by * 1e3:.0f} ± {match[2]} mm" if match else ""


def _stated(folder: Path, part: str) -> str:
    return str(getattr(read_build(folder).parts.get(part), "marking", None) or "")


def tyre_for(wheel: WheelMarking, stand_in: str, standard: str) -> str:
    """A size for a wheel where nobody named one: rolls most like what is on the car."""
    like = next((parse_marking(t) for t in (standard, stand_in) if t), None)
    if like is None:
        like = parse_marking("205/55 R16")
    base = parse_marking(stand_in) if stand_in else like
    wanted = _diameter(like.section_width_mm, like.aspect_percent, like.rim_code)
    width = base.section_width_mm
    aspect = min(ASPECTS, key=lambda a: abs(_diameter(width, a, wheel.rim_code) - wanted))
    service = f" {base.service}" if base.service else ""
    return f"{width}/{aspect} R{wheel.rim_code}{service}"


def _diameter(width: float, aspect: float, code: float) -> float:
    return float(
        design_overall_diameter(nominal_width=width / 1e3, aspect_ratio=aspect / 100, rim_code=code)
    )


def _begin_standard(folder: Path, build: Build, tyre: bool, wheel: bool) -> None:
    """A file of standard parts for a car that is near no starter car, and where they are fitted."""
    document = tomlkit.document()
    document.add(tomlkit.comment("What is on the car as found, read off it."))
    document.add("format", tomlkit.item(1))
    document.add("known", tomlkit.item("assumed"))
    parts = tomlkit.table(is_super_table=True)
    for kind, there in (("wheel", wheel), ("tyre", tyre)):
        if there:
            table = tomlkit.table()
            table.add("kind", kind)
            table.add("name", f"the {kind} that is on it")
            table.add("standard", True)
            parts.add(f"std_{kind}", table)
    document.add("part", parts)
    (folder / STANDARD_FILE).write_text(tomlkit.dumps(document), encoding="utf-8", newline="\n")

    def fit(car: Any) -> None:
        for kind, there in (("wheel", wheel), ("tyre", tyre)):
            if there:
                car["fitted"][kind] = f"std_{kind}"

    edit_file(build, "car.toml", fit)
