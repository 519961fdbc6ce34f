"""Measuring sheets, calibrator's sheet and scrutineer's side as they are printed."""

from __future__ import annotations

import re
import shutil
import subprocess
import xml.etree.ElementTree as ET
from dataclasses import replace
from datetime import datetime
from string import ascii_lowercase

import built_car
import pytest

import drybuild
from drybuild.build.new import make_build
from drybuild.examine.book import imprint
from drybuild.examine.sheets import (
    Look,
    calibrator_form,
    calibrator_sheet,
    measuring_sheets,
    scrutineer_side,
)
from drybuild.examine.sheets.measuring import DRAWINGS
from drybuild.examine.sheets.wording import STARTER
from drybuild.show.measuring_drawings import SKETCHES, drawing_of
from drybuild.show.measuring_lines import Sketch
from drybuild.show.sheets import (
    SCRUTINEER,
    pages,
    scrutineer_content,
    whose,
    write_calibrator,
    write_measuring,
    write_scrutineer,
)

MADE = datetime(2026, 12, 14, 9, 30)
SVG = "{http://www.w3.org/2000/svg}"
WIDE, TALL = 760, 330


def text_of(path):
    if shutil.which("pdftotext") is None:
        pytest.skip("pdftotext is not here: the pages of the PDF were not read back")
    got = subprocess.run(["pdftotext", "-layout", str(path), "-"], capture_output=True, check=True)
    return got.stdout.decode().split("\f")[:-1]


@pytest.fixture(scope="module")
def opened(tmp_path_factory):
    return drybuild.open_build(built_car.make(tmp_path_factory.mktemp("built") / "car"))


@pytest.fixture(scope="module")
def sheets(opened):
    return measuring_sheets(opened)


@pytest.fixture(scope="module")
def side(opened):
    return scrutineer_side(opened, made=MADE)


# Measuring


def rings(svg):
    """Letters in the drawing."""
    texts = [t.text for t in ET.fromstring(svg).iter(f"{SVG}text")]
    return sorted(t for t in texts if t and re.fullmatch("[a-z]", t))


def test_the_drawing_has_each_letter_that_is_asked_for_once_and_no_other(sheets):
    for sheet in sheets:
        letters = [row.letter for row in sheet.rows]
        assert rings(drawing_of(sheet)) == letters, sheet.title
        assert letters == list(ascii_lowercase[: len(letters)])
        assert not any(row.title.startswith("pads pad") for row in sheet.rows)


def test_words_in_a_drawing_are_no_smaller_on_paper_than_they_are_read(sheets):
    for sheet in sheets:
        drawn = ET.fromstring(drawing_of(sheet))
        wide = 182 / float(drawn.get("viewBox").split()[2])  # mm of paper to a unit
        for text in drawn.iter(f"{SVG}text"):
            points = float(text.get("font-size")) * wide / 0.3528
            assert points > 5.5, (sheet.title, text.text, points)


@pytest.mark.parametrize("name", sorted(DRAWINGS))
def test_every_letter_of_a_drawing_is_drawn_inside_it(name):
    wanted = frozenset("abcdefghijklmnopq"[: len(DRAWINGS[name])])
    sketch = Sketch(wanted)
    SKETCHES[name](sketch)
    root = ET.fromstring(sketch.svg(WIDE, TALL, name))
    found = {}
    for text in root.iter(f"{SVG}text"):
        x, y = float(text.get("x")), float(text.get("y"))
        assert 0 <= x <= WIDE, text.text
        assert 6 <= y <= TALL, text.text
        if text.text in wanted and text.get("font-weight") == "700":
            assert text.text not in found
            found[text.text] = (x, y)
    assert set(found) == wanted
    spots = list(found.values())
    for n, (x, y) in enumerate(spots):
        for other in spots[n + 1 :]:
            assert abs(x - other[0]) > 20 or abs(y - other[1]) > 20, (name, found)


def test_a_sheet_is_a_page_and_names_what_every_page_names(opened, sheets, tmp_path):
    path = tmp_path / "m.pdf"
    assert write_measuring(path, sheets, imprint(opened, MADE)) == ""
    texts = text_of(path)
    assert len(texts) == len(sheets)
    for number, (text, sheet) in enumerate(zip(texts, sheets, strict=True), 1):
        for wanted in (
            "Fennick Plover 1.8T", "as built, by the record up to 2026-12-13", "Mon 14 Dec 2026",
            f"page {number}", f"of {len(sheets)}", "NO SIGNATURE", "Take care.",
        ):  # fmt: skip
            assert wanted in text, (sheet.title, wanted)


def test_nothing_to_measure_is_said(opened, tmp_path):
    assert write_measuring(tmp_path / "m.pdf", (), imprint(opened, MADE)) == ""
    assert "Nothing to measure" in text_of(tmp_path / "m.pdf")[0]


# The calibrator's


def test_the_calibrators_sheet_names_hardware_reference_and_ceilings(opened, tmp_path):
    path = tmp_path / "c.pdf"
    assert write_calibrator(path, calibrator_sheet(opened, made=MADE)) == ""
    texts = text_of(path)
    text = " ".join(" ".join(texts).split())
    for wanted in (
        "Brack 980, matched set of", "980 ± 20 cc/min", "3 ± 0.015 bar", "684 ± 3.4",
        "14 V 0.95 ms", "2.5 ± 0.03 bar absolute", "1.5 bar gauge", "checksum", "7A31-04C9",
        "gives no figure to aim at",
    ):  # fmt: skip
        assert wanted in text, wanted
    assert all("NO SIGNATURE" in page and "hardware when finished" in page for page in texts)


# The scrutineer's


def test_it_is_one_side(side, tmp_path):
    write_scrutineer(tmp_path / "s.pdf", side)
    texts = text_of(tmp_path / "s.pdf")
    assert len(texts) == 1
    text = " ".join(texts[0].split())
    for wanted in (
        "Nothing altered since this sheet was printed.", "about 1086 kg, 1074 to 1098", "47",
        "B2, road cars",
        "throttle return", "battery isolator", "catch tank", "fuel lines", "leaks", "towing eyes",
        "belts", "extinguisher", "wheel studs", "play", "of 1",
    ):  # fmt: skip
        assert wanted in text, wanted
    tyres = next(one for one in side.items if one.title == "tyres")
    assert tyres.stated == "front: Sallow Ridge 225/45 R17; rear: Sallow Ridge 245/40 R17"


@pytest.mark.parametrize("items", [1, 12, 40])
def test_it_stays_one_side_however_long_the_clubs_form_is(side, items):
    many = tuple(Look(f"item {n}", "looked at from all around, twice", "") for n in range(items))
    content = scrutineer_content(replace(side, items=many), "metric")
    assert len(pages(SCRUTINEER, content, side.imprint, 30)) == 1


def test_nothing_is_printed_as_found_good(side, tmp_path):
    write_scrutineer(tmp_path / "s.pdf", side)
    text = " ".join(text_of(tmp_path / "s.pdf"))
    assert not re.search(r"\b(passed|pass|ok|safe|good|in order|✓|☑)\b", text, re.IGNORECASE)


def test_a_car_that_says_nothing_has_blanks_and_a_side(tmp_path):
    side = scrutineer_side(drybuild.open_build(built_car.PLOVER), made=MADE)
    write_scrutineer(tmp_path / "s.pdf", side)
    assert len(text_of(tmp_path / "s.pdf")) == 1


def test_a_wish_that_nobody_spoke_is_not_said_to_be_the_owners_word(tmp_path):
    folder = make_build(tmp_path / "hatch", nearest="front-turbo-hatch", driving="yes")
    head = folder / "build.toml"

    def said():
        sheet = calibrator_sheet(drybuild.open_build(folder))
        return {one.address: whose(one) for one in sheet.ceilings}

    assert said()["goal.boost"] == STARTER
    form = calibrator_form(calibrator_sheet(drybuild.open_build(folder)))
    before = form.partition('"goal.boost" =')[0].splitlines()[-1]
    assert before.startswith("#")
    assert STARTER in before
    text = head.read_text(encoding="utf-8")
    spoken = re.sub(r'boost = "[^"]*" +# as standard', 'boost = "0.5 bar gauge"  # Ann says', text)
    assert spoken != text
    head.write_text(spoken, encoding="utf-8")
    assert said()["goal.boost"] == "the owner's word"
    assert said()["goal.boost_ceiling"] == STARTER
