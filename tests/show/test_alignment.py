"""The alignment sheet and the load-transfer bars: words, signs, units, and drawings that stand."""

from __future__ import annotations

import math
import re
import xml.etree.ElementTree as ET
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import drybuild
from drybuild.cli import main
from drybuild.examine.setting_sheet import AngleRow, PartsNow, SettingSheet, setting_sheet
from drybuild.findings.finding import Interval
from drybuild.show.alignment import (
    MIDDLE_Y,
    _row_lines,
    aim_figure,
    angle_text,
    minutes,
    sheet_svg,
    sheet_text,
    toe_text,
)
from drybuild.show.load_transfer import tendency, transfer_svg, transfer_text
from drybuild.show.setting_page import setting_page

DEMO = Path(__file__).parents[2] / "examples" / "plover"
SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def sheet() -> SettingSheet:
    return setting_sheet(drybuild.open_build(DEMO).examine("finished", draws=256))


def row(toe: float, over: float | None = 0.4318) -> AngleRow:
    at = Interval(toe, toe, toe)
    return AngleRow("front.left", "toe", at, at, None, None, None, True, None, None, over)


def test_toe_is_said_in_degrees_minutes_and_over_its_diameter() -> None:
    # 2 mm over 431.8 mm is 0.265382 deg, 15.92 minutes (workshop note)
    text = toe_text(row(np.arcsin(2 / 431.8)), row(np.arcsin(2 / 431.8)).after, "metric")
    assert "0.27 deg" in text  # as finely as a rig reads
    assert "16 min in" in text
    assert "2.0 mm over 432 mm" in text
    # of the angle as it is read: sin(0.27 deg) x 431.8 mm = 2.035 mm
    assert "0.080 in over 17.00 in" in toe_text(
        row(np.arcsin(2 / 431.8)), row(np.arcsin(2 / 431.8)).after, "us"
    )


def test_one_angle_has_one_length_on_every_face() -> None:
    """0.03 deg is 0.2 mm over 471 mm, be it the aim or what the parts leave near it."""
    aim, near = row(math.radians(0.03), over=0.471), row(math.radians(0.0345), over=0.471)
    assert toe_text(aim, aim.after, "metric").endswith("(2 min in; 0.2 mm over 471 mm)")
    assert toe_text(near, near.after, "metric") == toe_text(aim, aim.after, "metric")


def test_toe_out_and_toe_without_a_diameter() -> None:
    one = row(-0.003, over=None)
    text = toe_text(one, one.after, "metric")
    assert "out" in text
    assert "mm" not in text


def test_no_figure_is_finer_than_a_rig_reads_and_nothing_has_no_sign() -> None:
    assert aim_figure(math.radians(-0.0000098)) == aim_figure(0.0) == "0 deg"
    assert aim_figure(math.radians(-1.8)) == "−1.8 deg"
    read = Interval(*(math.radians(x) for x in (-0.001, -0.098, 0.098)))
    assert angle_text(read) == "about 0.0 deg, −0.1 to 0.1"


def test_minutes_of_arc() -> None:
    assert minutes(np.radians(1.2)) == "1 deg 12 min"
    assert minutes(np.radians(-0.1)) == "6 min"


def test_sheet_names_both_sides_the_order_and_what_it_leaves_out(sheet: SettingSheet) -> None:
    text = sheet_text(sheet)
    for words in ("front left", "rear right", "before", "after", "the drop did", "to spare",
                  "In this order", "ride height and corner weights first", "bushes"):  # fmt: skip
        assert words in text, words
    spare = re.findall(r"reach it with (.+?) to spare", " ".join(text.split()))
    assert spare
    assert all(re.fullmatch(r"about [\d.]+ deg, [\d.]+ to [\d.]+", one) for one in spare), spare
    assert text.index("rear camber, then rear toe") < text.index("front toe last")
    assert not re.search(r"\b(passed|OK|safe)\b", text)
    assert max(map(len, text.splitlines())) <= 100


def test_sheet_says_when_both_sides_were_written_as_one(sheet: SettingSheet) -> None:
    assert "both sides were written down as one" in " ".join(sheet_text(sheet).split())


def _wheel(svg: str, style: str, right_side: bool, front: bool) -> tuple[float, ...]:
    for path in ET.fromstring(svg).iter(f"{SVG}path"):
        if path.get("class") == f"wheel {style}":
            x0, y0, x1, y1 = map(float, re.findall(r"-?[\d.]+", path.get("d", "")))
            middle = ((x0 + x1) / 2, (y0 + y1) / 2)
            if (middle[1] < MIDDLE_Y) == right_side and (middle[0] < 480) == front:
                return x0, y0, x1, y1
    raise AssertionError("no such wheel")


def test_toe_in_turns_the_front_edge_towards_the_middle(sheet: SettingSheet) -> None:
    at = Interval(0.02, 0.02, 0.02)
    rows = tuple(replace(r, after=at) if r.angle == "toe" else r for r in sheet.rows)
    svg = sheet_svg(replace(sheet, rows=rows))
    for right in (True, False):
        for front in (True, False):
            x0, y0, x1, y1 = _wheel(svg, "after", right, front)
            lead, trail = (y0, y1) if x0 < x1 else (y1, y0)
            assert abs(lead - MIDDLE_Y) < abs(trail - MIDDLE_Y)


def test_thrust_to_the_right_of_a_car_that_faces_left_goes_up(sheet: SettingSheet) -> None:
    at = Interval(0.01, 0.01, 0.01)
    svg = sheet_svg(replace(sheet, thrust=(None, at)))
    line = next(p for p in ET.fromstring(svg).iter(f"{SVG}path") if p.get("class") == "thrust")
    _, y0, _, y1 = map(float, re.findall(r"-?[\d.]+", line.get("d", "")))
    assert y1 < y0
    assert "to the right" in svg


def test_drawings_are_whole_and_tell_nothing_by_colour_alone(sheet: SettingSheet) -> None:
    bars = transfer_svg(sheet)
    assert bars is not None
    for svg in (sheet_svg(sheet), bars):
        root = ET.fromstring(svg)
        assert root.get("role") == "img"
        assert len(root.get("aria-label", "")) > 40
    page = setting_page(sheet)
    colours = set(re.findall(r"#[0-9a-f]{6}", page))
    assert colours <= {"#26343b", "#b9c4c6", "#9a4f1c", "#4a585f", "#fffdf7", "#7d898e"}
    fills = re.findall(r'fill="url\(#(\w+)\)"', bars)
    assert set(fills) == {"plain", "lines", "dots", "cross"}
    assert "http://" not in page.replace("http://www.w3.org/2000/svg", "")


def test_bars_are_to_one_scale_and_their_parts_add_up(sheet: SettingSheet) -> None:
    bars = transfer_svg(sheet)
    assert bars is not None
    widths: dict[str, float] = {}
    for box in ET.fromstring(bars).iter(f"{SVG}rect"):
        if box.get("class") == "part":
            y = box.get("y", "")
            widths[y] = widths.get(y, 0.0) + float(box.get("width", "0"))
    shown = [p for axle in ("front", "rear") for when in (sheet.transfer_before,
             sheet.transfer_after) for p in when if p.axle == axle]  # fmt: skip
    totals = [sum(v for _, v in p.parts) for p in shown]
    ratios = [w / t for w, t in zip(widths.values(), totals, strict=True)]
    assert np.allclose(ratios, ratios[0], rtol=0.01)


def test_a_part_below_nothing_is_drawn_left_of_the_line(sheet: SettingSheet) -> None:
    parts = (("springs", 100.0), ("bar", 50.0), ("roll centre", -20.0), ("wheels and hubs", 10.0))
    axle = PartsNow("front", parts, Interval(140.0, 130.0, 150.0))
    bars = transfer_svg(replace(sheet, transfer_before=(), transfer_after=(axle,)))
    assert bars is not None
    root = ET.fromstring(bars)
    zero = next(p for p in root.iter(f"{SVG}path") if p.get("class") == "zero")
    line = float(re.findall(r"[\d.]+", zero.get("d", ""))[0])
    left = [r for r in root.iter(f"{SVG}rect")
            if r.get("class") == "part" and float(r.get("x", "0")) < line - 1]  # fmt: skip
    assert [r.get("fill") for r in left] == ["url(#dots)"]


@pytest.mark.parametrize(("change", "falls", "words"), [
    (Interval(-0.02, -0.03, -0.01), 1.0, "towards oversteer"),
    (Interval(0.02, 0.01, 0.03), 0.0, "towards understeer"),
    (Interval(0.001, -0.02, 0.02), 0.45, "less than the doubt"),
    (Interval(0.0, 0.0, 0.0), 0.0, "as it was"),
    (None, None, "not known"),
])  # fmt: skip
def test_tendency_is_a_comparison_only(
    sheet: SettingSheet, change: Interval | None, falls: float | None, words: str
) -> None:
    said = tendency(replace(sheet, share_change=change, share_falls=falls))
    assert words in said
    if change is not None and change.low != change.high:
        assert "comparison of before and after only" in said


def test_units_of_choice(sheet: SettingSheet) -> None:
    assert "lbf" in transfer_text(sheet, "us")
    assert " N" in transfer_text(sheet, "metric")
    assert " in over " in sheet_text(sheet, "us")


def test_nothing_known_is_said_in_words(sheet: SettingSheet) -> None:
    bare = replace(sheet, rows=(), whole=(), transfer_before=(), transfer_after=(), weights=None)
    assert transfer_svg(bare) is None
    assert "not known" in transfer_text(bare)
    assert "nothing measured" in sheet_text(bare)
    ET.fromstring(sheet_svg(bare))


def test_the_command_prints_the_sheet_and_writes_the_page(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    page = tmp_path / "alignment.html"
    asked = ["alignment", str(DEMO), "--draws", "256", "--over", "431.8 mm", "--page", str(page)]
    assert main(asked) == 0
    out = capsys.readouterr().out
    assert "over 432 mm" in out
    assert "LOOK UP" in out
    assert page.read_text(encoding="utf-8").count("<svg") == 2


@pytest.mark.parametrize("over", ["17", "5 kg", "3 m"])
def test_a_diameter_that_is_none_is_refused(
    over: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["alignment", str(DEMO), "--draws", "64", "--over", over]) == 2
    assert "--over" in capsys.readouterr().err


def test_what_is_left_to_set_stands_beside_the_aim_until_the_angle_is_read() -> None:
    at = Interval(-0.045, -0.052, -0.040)
    worked_out = AngleRow(
        "rear.left", "camber", at, at, None, None, None, False, -0.035, None
    )
    said = " ".join(" ".join(_row_lines(worked_out, "metric")).split())
    assert "left to set about 0.6 deg, 0.3 to 1.0" in said
    assert "left to set" not in " ".join(_row_lines(replace(worked_out, measured=True), "metric"))
    there = replace(worked_out, aim=at.median)
    assert "left to set" not in " ".join(_row_lines(there, "metric"))
