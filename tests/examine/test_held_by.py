"""What holds the wheels: of nuts and studs nothing is asked on a car with bolts, nor the other way.

A guess of a file is no word: then both are asked, and it is said.
"""

from __future__ import annotations

import pytest

import drybuild
from drybuild.build.new import make_build
from drybuild.examine.book import make_book
from drybuild.examine.held_by import all_held_by, said_form
from drybuild.examine.lookup import entries
from drybuild.examine.sheets import measuring_sheets, scrutineer_side
from drybuild.examine.sheets.measuring import EITHER
from drybuild.show.measuring_drawings import drawing_of

OF_NUTS = {"wheel_nuts.thread_length", "wheel_studs.length", "corner.stud_spacing"}
OF_BOLTS = {"wheel_nuts.shank_length", "corner.hub_thread_depth"}
FORM = 'form = "nut"'


def folder(tmp_path, form):
    """A starter's folder in which somebody has read the form, or nobody."""
    made = make_build(tmp_path / "car", nearest="light-roadster")
    file = made / "parts" / "standard.toml"
    text = file.read_text()
    assert text.count(FORM) == 1
    if form:
        text = text.replace(FORM, f'form = {{ is = "{form}", by = "eye" }}')
    file.write_text(text)
    return drybuild.open_build(made)


def asked(opened):
    """What the sheets of a corner ask that only nuts or only bolts have."""
    rows = [r for s in measuring_sheets(opened, corners=("front.left",)) for r in s.rows]
    found = {r.address.replace("front.left.", "") for r in rows}
    return found & (OF_NUTS | OF_BOLTS)


@pytest.mark.parametrize(
    ("form", "wanted"), [("bolt", OF_BOLTS), ("nut", OF_NUTS), ("", OF_NUTS | OF_BOLTS)]
)
def test_sheets_and_addresses_ask_what_holds_this_cars_wheels_has(tmp_path, form, wanted):
    opened = folder(tmp_path, form)
    assert all_held_by(opened.present.state) == form
    assert said_form(opened.build, "std_wheel_nuts") == form
    assert asked(opened) == wanted
    known = {one.address for one in entries(opened)}
    assert known & (OF_NUTS | OF_BOLTS) == wanted
    notes = {s.drawing: s.note for s in measuring_sheets(opened, corners=("front.left",))}
    of_the_wheel = {notes.pop("wheel"), notes.pop("hub")}
    assert of_the_wheel == ({EITHER} if not form else {""})
    assert set(notes.values()) == {""}


def test_what_is_drawn_is_what_is_asked(tmp_path):
    """Of a hub with bolts no stud is drawn, and nothing is said of one."""
    nuts = {s.drawing: drawing_of(s) for s in measuring_sheets(folder(tmp_path / "a", "nut"))}
    bolts = {s.drawing: drawing_of(s) for s in measuring_sheets(folder(tmp_path / "b", "bolt"))}
    assert "less one stud" in nuts["hub"]
    assert "stud" not in bolts["hub"]
    assert nuts["wheel"] != bolts["wheel"]


def test_the_book_and_the_scrutineer_name_bolts_and_no_studs(tmp_path):
    opened = folder(tmp_path, "bolt")
    (said,) = {p.title for p in make_book(opened, draws=64).parts if "wheel_nuts" in p.places[0]}
    assert said == "wheel bolts"
    roots = {p.places[0].partition(".")[0] for p in make_book(opened, draws=64).parts}
    assert "wheel_studs" not in roots
    assert opened.build.part_names["std_wheel_nuts"] == "standard wheel bolts"
    (look,) = [x for x in scrutineer_side(opened).items if x.title.startswith("wheel studs")]
    assert look.stated == "standard wheel bolts"
    opened = folder(tmp_path / "other", "nut")
    assert "wheel_studs" in {
        p.places[0].partition(".")[0] for p in make_book(opened, draws=64).parts
    }  # fmt: skip
