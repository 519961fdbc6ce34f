"""The text form of a sheet: TOML that goes out with blanks and comes back filled in.

Blanks are ``""``. Everything above the blanks is there to be compared and must come back as it
went out: it says which car and which parts the answers are of.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from drybuild.build import BuildProblem
from drybuild.build.declared import declaration, is_word
from drybuild.build.errors import Fault
from drybuild.build.model import Part
from drybuild.examine.book.fingerprint import SHOWN
from drybuild.examine.sheets.calibrator import MEASURED, CalibratorSheet, Known, map_fields
from drybuild.examine.sheets.measuring import Sheet
from drybuild.examine.sheets.wording import STARTER, asked, choice_text, doc_of
from drybuild.values import KINDS, Curve, Value, show_numbers, to_unit

FORM = 1
"""Number of the form; one of a later number is refused, not guessed at."""
MOST_BYTES = 500_000
DEEPEST = 5

TOP = ("form", "sheet", "build", "state", "revision", "fingerprint", "who", "at", "words")


class FormRefused(BuildProblem):
    """A sheet that cannot be taken in; ``faults`` has everything that is wrong with it."""

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__("\n".join(str(f) for f in self.faults))


@dataclass(frozen=True, slots=True)
class Form:
    """A form as read: its text and its tables, not judged yet."""

    name: str
    text: str
    data: dict[str, Any]


def read_form(text: str, *, name: str) -> Form:
    """The tables of a form's text. Raises FormRefused."""

    def refuse(found: str, expected: str) -> FormRefused:
        return FormRefused([Fault(name, None, "", found, expected)])

    if len(text.encode("utf-8", "replace")) > MOST_BYTES:
        raise refuse(f"{len(text):,} letters", f"a sheet of at most {MOST_BYTES:,} bytes")
    try:
        data = tomllib.loads(text.removeprefix("\ufeff"))
    except RecursionError:
        raise refuse("tables nested beyond all use", "a sheet as it was written out") from None
    except ValueError as error:
        line, found, expected = _amiss(text, str(error))
        raise FormRefused([Fault(name, line, "", found, expected)]) from None
    if _depth(data) > DEEPEST:
        raise refuse("tables nested beyond all use", "a sheet as it was written out")
    return Form(name, text, data)


def _amiss(text: str, said: str) -> tuple[int | None, str, str]:
    """The line that cannot be read, as it stands, and what it lacks; as the reader of TOML says it
    where that is not known."""
    at = re.search(r"at line (\d+)", said)
    lines = text.splitlines()
    if at is None or int(at[1]) > len(lines):
        return None, said[:200], "a sheet as it was written out, in TOML"
    line = int(at[1])
    wrote = lines[line - 1].strip()
    marks = wrote.partition("#")[0].count('"')
    if marks % 2:
        return line, wrote[:120], 'a quotation mark before it and one behind it: name = "text"'
    if marks == 0 and "=" in wrote:
        return line, wrote[:120], 'what is filled in between quotation marks: name = "text"'
    why = re.sub(r"\s*\(at line.*", "", said)
    return line, wrote[:120], f"a line as it was written out ({why[:120]})"


def _depth(data: Any) -> int:
    level: list[Any] = [data]
    depth = 0
    while level and depth <= DEEPEST:
        depth += 1
        level = [
            inner for item in level if isinstance(item, dict | list)
            for inner in (item.values() if isinstance(item, dict) else item)
        ]  # fmt: skip
    return depth


def _not_stated(one: Known) -> str:
    return f"{doc_of(one)}: not stated"


def calibrator_form(sheet: CalibratorSheet) -> str:
    """The calibrator's sheet as text to fill in."""
    lines = [
        "# The calibrator's sheet. Fill in between the quotation marks and send the file back:",
        "#   drybuild sheets DIR --take-in FILE",
        "# What is left blank stays unknown. Figures with their unit: \"980 cc/min\", \"3 bar\".",
        "# Nothing on this sheet is advice, and taking it in raises no figure of the owner's.",
        *_head(sheet, "calibrator"),
        "# Who wrote the map and filled in this sheet, and when (yyyy-mm-dd).",
        'who = ""', 'at = ""', "# Anything worth keeping.", 'words = ""', "",
        "# The hardware that the map is written for, by place. It must be this and no other: do",
        "# not change it here. Where other parts are fitted, the owner corrects the folder first.",
        "[hardware]",
    ]  # fmt: skip
    lines[-3:-3] = [
        "# The engine and its control unit. What is not stated, ask the owner.",
        *(f"#   {_comment(known_text(one) if one.value is not None else _not_stated(one))}"
          for one in sheet.engine), "",
    ]  # fmt: skip
    for one in sheet.hardware:
        if one.place == "map":
            continue
        lines.append(f"{one.place} = {_text(one.part_id)}")
        if one.part is not None:
            said = part_name(one.part)
            serial = f", serial {one.part.serial}" if one.part.serial else ""
            lines.append(f"#   {_comment(said)}{_comment(serial)}")
        lines += [f"#   {_comment(known_text(fact))}" for fact in one.known]
    lines += ["", "# Ceilings, as they are stated. Whoever states one answers for it. They must",
              "# come back as they went out.", "[ceilings]"]  # fmt: skip
    for limit in sheet.ceilings:
        said = f" ({STARTER})" if limit.standard else ""
        lines += [f"# {_comment(doc_of(limit))}{said}",
                  f"{_text(limit.address)} = {_text(value_text(limit.value))}"]  # fmt: skip
    lines += ["", "# What is in the tank, and where it is driven."]
    for name, facts in sheet.fuels:
        lines.append(f"#   {_comment(name)}: {_comment('; '.join(map(known_text, facts)))}")
    lines += [f"#   {_comment(known_text(one))}" for one in sheet.besides]
    lines += [
        "", "# The map as you wrote it: what it believes, not what it should. The checksum is the",
        "# file's, as the flashing tool shows it; without it nothing is taken in.",
        "[map]",
        "# id that it gets in parts/: letters, figures, _",
        'part = ""', 'name = ""', 'maker = ""',
    ]  # fmt: skip
    for name in map_fields():
        lines += [f"# {_comment(asked(f'map.{name}'))}", f'{name} = ""']
    lines += ["", "# What you measured of these very parts, if anything. Beside a figure you may",
              '# name how: { is = "980 cc/min", by = "flow bench", tool = "bench 2" }.',
              "# Of injectors, say flow together with its pressure difference and its test fluid.",
              '# A curve: { x = [10, 12, 14], x_unit = "V", y = [1.6, 1.2, 0.9], y_unit = "ms" }.',
              "[measured]"]  # fmt: skip
    fitted = {one.place for one in sheet.hardware if one.part is not None}
    for address in MEASURED:
        if address.partition(".")[0] in fitted:
            lines += [f"# {_comment(asked(address))}", f'{_text(address)} = ""']
    return "\n".join(lines) + "\n"


def measuring_form(sheets: tuple[Sheet, ...], *, build: str, state: str, fingerprint: str) -> str:
    """Measuring sheets as text to fill in, or to be typed in from paper."""
    lines = [
        "# Measuring sheets. Fill in between the quotation marks, then:",
        "#   drybuild sheets DIR --take-in FILE",
        '# With its unit: "46 mm"; with its doubt: "46 ± 1 mm"; several: ["46 mm", "47 mm"].',
        '# Another tool than the one named: { is = "46 mm", by = "rule", tool = "rule 2" }.',
        f"form = {FORM}", 'sheet = "measuring"', f"build = {_text(build)}",
        f"state = {_text(state)}", f"fingerprint = {_text(fingerprint)}",
        "# Who measured, and when (yyyy-mm-dd).", 'who = ""', 'at = ""', 'words = ""',
        "", "[readings]",
    ]  # fmt: skip
    seen: set[str] = set()
    for sheet in sheets:
        rows = [row for row in sheet.rows if row.address not in seen]
        seen |= {row.address for row in rows}
        if rows:
            lines += ["", f"# {_comment(sheet.title)}"]
        for row in rows:
            lines += [
                f"# {row.letter}  {_comment(row.doc)} · {_comment(row.tool)}: {_comment(row.how)}",
                f'{_text(row.address)} = ""',
            ]
    return "\n".join(lines) + "\n"


def _head(sheet: CalibratorSheet, kind: str) -> list[str]:
    imprint = sheet.imprint
    return [
        f"form = {FORM}", f"sheet = {_text(kind)}", f"build = {_text(imprint.build)}",
        f"state = {_text(sheet.state)}", f"revision = {_text(imprint.revision)}",
        f"fingerprint = {_text(imprint.fingerprint[:SHOWN])}",
    ]  # fmt: skip


def _text(text: str) -> str:
    """A basic string of TOML."""
    kept = "".join(
        f"\\u{ord(sign):04x}" if not sign.isprintable() and ord(sign) < 0x10000 else sign
        for sign in text.replace("\\", "\\\\").replace('"', '\\"')
        if sign.isprintable() or ord(sign) < 0x10000
    )
    return f'"{kept}"'


def _comment(text: str) -> str:
    """Words that may stand behind a #: on one line, nothing that no editor shows."""
    return "".join(sign if sign.isprintable() else " " for sign in text)


def known_text(one: Known) -> str:
    """A stated figure in one line: what it is, how much, how it is known."""
    if one.value is None:
        return f"{one.doc}: not stated"
    how = f", {one.how.words}" if one.how is not None else ""
    declared = declaration(one.address)
    if isinstance(one.value, str) and declared is not None and is_word(declared):
        return f"{choice_text(declared, one.value)}{how}"
    return f"{one.doc}: {value_text(one.value)}{how}"


def part_name(part: Part) -> str:
    """Maker and name, the maker once."""
    if not part.maker or part.maker in part.name:
        return part.name
    return f"{part.maker} {part.name}".strip()


def value_text(value: Any) -> str:
    """A value as somebody would write it; empty for none."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Curve):
        return curve_text(value)
    if isinstance(value, Value):
        return _value_text(value)
    return str(value)


def _value_text(value: Value) -> str:
    unit = _unit_of(value.kind, value.unit)
    if value.shape == "uniform":
        said = f"{_figure(value.low, value, unit)} to {_figure(value.high, value, unit)}"
    elif value.shape in ("above", "below"):
        sign, edge = (">", value.low) if value.shape == "above" else ("<", value.high)
        said = f"{sign} {_figure(edge, value, unit)}"
    else:
        said = _figure(value.centre, value, unit)
        if value.half_width:
            said += f" ± {_figure(value.half_width, value, unit, difference=True)}"
    return f"{said} {unit}".strip()


def _unit_of(kind: str, unit: str) -> str:
    """The unit it was written in, else the kind's own; nothing for a bare number."""
    known = unit or KINDS[kind].si
    return "" if known == "1" or kind == "money" else known


def _figure(number: float, value: Value, unit: str, *, difference: bool = False) -> str:
    shown = to_unit(value.kind, number, unit) if unit else number
    if difference:
        shown -= to_unit(value.kind, 0.0, unit) if unit else 0.0
        return _plain_figure(shown, 2)  # a doubt is not known to three figures
    return _plain_figure(shown, 6)


def _plain_figure(number: float, most: int) -> str:
    """So many figures at most, and no powers of ten."""
    text = f"{number:.{most}g}"
    return f"{float(text):.0f}" if "e+" in text else text


def curve_text(curve: Curve) -> str:
    """The points of a curve: ``12 V 1.22 ms · 14 V 0.95 ms``, each column in one unit."""
    xs, ys = show_numbers(curve.x_kind, curve.x), show_numbers(curve.y_kind, curve.y)
    return " · ".join(f"{x} {y}" for x, y in zip(xs, ys, strict=True))
