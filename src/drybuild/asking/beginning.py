"""The folder of a first visit: the same as ``drybuild new`` makes, with what was answered in it.

Numbers off tyres, wheels and boxes go into the parts' files; the one measurement goes into the
journal as ``drybuild note`` writes it. Where an answer makes a stand-in impossible (a wheel of 17
under a tyre of 18), the stand-in follows, and the file says that it did.
"""

from __future__ import annotations

import os
import re
import tempfile
import tomllib
from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import Any

import tomlkit

from drybuild.asking.questions import (
    ALSO,
    FALLBACK,
    MEASURED,
    PARTS_FILE,
    STAND_INS,
    WHO,
    WHO_ASKED,
    Answers,
    asked_along,
    questions,
    tyre_of,
    wheel_of,
)
from drybuild.asking.understood import changes_named
from drybuild.build import Build, read_build
from drybuild.build.editing import edit_file, set_facts
from drybuild.build.errors import UnknownName
from drybuild.build.migrate import FORMAT
from drybuild.build.new import DONT_KNOW, make_build
from drybuild.build.tyre_marking import TyreMarking, parse_marking
from drybuild.build.wheel_marking import WheelMarking
from drybuild.examine.noting import Said, note
from drybuild.examine.opened import open_build
from drybuild.examine.schemas import write_schemas
from drybuild.findings import AXLES
from drybuild.systems.corners.formulas import design_overall_diameter, measuring_rim_width

STANDARD_FILE = "parts/standard.toml"
INCH = 0.0254
ASPECTS = range(25, 85, 5)

Fact = tuple[Sequence[str], Any, str]
"""Keys in a file, what stands there, and the comment behind it."""


def begin(
    folder: Path, answers: Answers, *, measured_at: str = "", tool: str = "", asked: str = ""
) -> None:
    """Make a build folder from the answers, in one step: nobody sees half of it.

    measured_at: the address of the one measurement; asked: check and place of the answer that was
    given, for the build to go on saying first. Raises UnknownName when the folder is in use;
    what noting a reading raises.
    """
    folder = folder.resolve()
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise UnknownName(f"{folder.name} is in use: name another folder")
    folder.parent.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(prefix=".drybuild-", dir=folder.parent) as beside:
        made = Path(beside) / folder.name
        make(made, answers, measured_at=measured_at, tool=tool)
        if asked:
            comment = "what you asked first: said first until it is enough"
            set_facts(read_build(made), "build.toml", [(("build", "asked"), asked, comment)])
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
        then=changes_named(answers.get(ALSO, "")),
    )
    if _begins_standard(folder, answers):
        _begin_standard(folder, tyre_of(answers, "tyre") is not None)
    build = read_build(folder)
    facts = _as_it_is(build, answers)
    if answers.get("first") == "wheels":
        facts += _as_wanted(build, answers)
    for question in (*questions(answers), *asked_along(answers)):
        if question.figure and answers.get(question.name):
            figure, text = question.figure, answers[question.name]
            raw = _maker(text) if figure.file == PARTS_FILE else text
            facts.append((figure.file, (figure.path, raw, _dated("as you said"))))
    for file in dict.fromkeys(file for file, _ in facts):
        set_facts(build, file, [fact for where, fact in facts if where == file])
    if measured_at and answers.get(MEASURED):
        said = Said((answers[MEASURED],), answers.get(WHO_ASKED, "") or WHO, tool)
        note(open_build(folder), measured_at, said)


def _dated(words: str) -> str:
    return f"{words}, {date.today().isoformat()}"


def _of(file: str, part: str, key: str, raw: Any, comment: str) -> tuple[str, Fact]:
    return file, (("part", part, key), raw, comment)


def _as_it_is(build: Build, answers: Answers) -> list[tuple[str, Fact]]:
    """Tyre and wheel that are on the car: into the standard parts, which all four corners wear.

    A hub has the bolt holes of the wheel that is on it, whatever cars like it have.
    """
    tyre, wheel = tyre_of(answers, "tyre"), wheel_of(answers, "wheel")
    if tyre is None and wheel is None:
        return []
    facts = _wheel(build, STANDARD_FILE, "std_wheel", wheel, tyre, "read off the wheel")
    if wheel is not None:
        rows = _bolt_holes(wheel, _dated("as the wheel on it has"))
        for axle in AXLES:
            facts += [("car.toml", (("corner", axle, key), raw, why)) for key, raw, why in rows]
    if tyre is not None:
        raw = {"is": str(tyre), "by": "eye"}
        facts.append(_of(STANDARD_FILE, "std_tyre", "marking", raw, _dated("read off the tyre")))
    return facts


def _as_wanted(build: Build, answers: Answers) -> list[tuple[str, Fact]]:
    """The new wheel and tyre; where only one was named, the other is taken to match it."""
    wheel, tyre = wheel_of(answers, "new-wheel"), tyre_of(answers, "new-tyre")
    if wheel is None and tyre is None:
        return []
    named = _dated("as you named it")
    facts = _wheel(build, PARTS_FILE, "my_wheel", wheel, tyre, "as you named it")
    if wheel is not None:
        facts.append(_of(PARTS_FILE, "my_wheel", "name", f"wheel, {wheel}", named))
    if tyre is not None:
        facts.append(_of(PARTS_FILE, "my_tyre", "marking", _maker(str(tyre)), named))
        facts.append(_of(PARTS_FILE, "my_tyre", "name", f"tyre, {tyre}", named))
    elif wheel is not None:
        like = str(tyre_of(answers, "tyre") or _stated(build, "std_tyre"))
        taken = tyre_for(wheel, _stated(build, "my_tyre"), like)
        why = "a guess: for that wheel, rolls most like the tyre that is on it"
        facts.append(_of(PARTS_FILE, "my_tyre", "marking", taken, why))
    return facts


def _wheel(
    build: Build, file: str, part: str, wheel: WheelMarking | None, tyre: TyreMarking | None,
    words: str,
) -> list[tuple[str, Fact]]:  # fmt: skip
    """What a wheel's marking says, for a part; the tyre alone says the rim's code, no more."""
    code = wheel.rim_code if wheel else int(tyre.rim_code) if tyre else 0
    table = tomllib.loads(build.files[file])["part"][part]
    was = table.get("diameter_code")  # a plain number: nobody has said it before
    changed = was is not None and int(was) != code
    rows: list[tuple[str, Any, str]] = []
    if was is None or changed or wheel:
        seen = words if wheel else "as the tyre on it says"
        sure = wheel is not None or part == "std_wheel"
        stands = _seen(code) if part == "std_wheel" else _maker(code)
        rows.append(("diameter_code", stands if sure else code, _dated(seen)))
    if changed:
        moved = _moved(str(table.get("barrel_inner_radius", "")), (code - int(was)) * INCH / 2)
        if moved:
            rows.append(("barrel_inner_radius", moved, "a guess: the stand-in's, with the rim"))
    if wheel is not None:
        rows += _said_by(wheel, _dated(words), on_it=part == "std_wheel")
    elif tyre is not None and (changed or part == "my_wheel"):
        width = float(measuring_rim_width(
            nominal_width=tyre.section_width_mm / 1e3, aspect_ratio=tyre.aspect_percent / 100
        )) / INCH  # fmt: skip
        rows.append(("rim_width", f"{width:g} in", "a guess: the rim that the tyre is measured on"))
    return [_of(file, part, *row) for row in rows]


def _said_by(wheel: WheelMarking, comment: str, *, on_it: bool) -> list[tuple[str, Any, str]]:
    """on_it: it is on the car, and was read there; of one that is wanted its maker says it."""
    rows: list[tuple[str, Any, str]] = [
        ("rim_width", _maker(f"{wheel.rim_width_in:g} in"), comment)
    ]
    if wheel.offset_mm is not None:
        rows.append(("offset", _maker(f"{wheel.offset_mm:g} mm"), comment))
    return rows + _bolt_holes(wheel, comment, on_it=on_it)


def _bolt_holes(
    wheel: WheelMarking, comment: str, *, on_it: bool = True
) -> list[tuple[str, Any, str]]:
    if wheel.bolt_count is None or wheel.circle_mm is None:
        return []
    circle = _maker(f"{wheel.circle_mm:g} mm")
    count = _seen(wheel.bolt_count) if on_it else _maker(wheel.bolt_count)
    return [("bolt_count", count, comment), ("bolt_circle", circle, comment)]


def _seen(number: int) -> dict[str, Any]:
    return {"is": number, "by": "eye"}


def _maker(text: str | int) -> dict[str, Any]:
    return {"is": text, "by": "maker"}


def _moved(text: str, by: float) -> str:
    """A radius of a stand-in for a rim of another code: as much further out, and as unsure."""
    match = re.fullmatch(r"([\d.]+) ± ([\d.]+) mm", text)
    return f"{float(match[1]) + by * 1e3:.0f} ± {match[2]} mm" if match else ""


def _stated(build: Build, part: str) -> str:
    return str(getattr(build.parts.get(part), "marking", None) or "")


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


def _begins_standard(folder: Path, answers: Answers) -> bool:
    """Whether something that is on the car was read, and no standard parts are there to hold it."""
    read = tyre_of(answers, "tyre") is not None or wheel_of(answers, "wheel") is not None
    return read and not (folder / STANDARD_FILE).exists()


def _begin_standard(folder: Path, tyre: bool) -> None:
    """A file of standard parts for a car that is near no starter car, and where they are fitted."""
    kinds = ("wheel", "tyre") if tyre else ("wheel",)
    document = tomlkit.document()
    document.add(tomlkit.comment("What is on the car as found, read off it."))
    document.add("format", tomlkit.item(FORMAT))
    document.add("known", tomlkit.item("assumed"))
    parts = tomlkit.table(is_super_table=True)
    for kind in kinds:
        table = tomlkit.table()
        table.add("kind", kind)
        table.add("name", f"the {kind} that is on it")
        table.add("standard", True)
        parts.add(f"std_{kind}", table)
    document.add("part", parts)
    (folder / STANDARD_FILE).write_text(tomlkit.dumps(document), encoding="utf-8", newline="\n")

    def fit(car: Any) -> None:
        for kind in kinds:
            car["fitted"][kind] = f"std_{kind}"

    edit_file(read_build(folder), "car.toml", fit)
