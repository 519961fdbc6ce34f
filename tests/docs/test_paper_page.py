"""The page on paper is held to the code: what it says of the folder makes a book and its sheets."""

from __future__ import annotations

import re
import shutil
from datetime import datetime
from pathlib import Path
from textwrap import dedent

import built_car
import pytest

import drybuild
from drybuild.examine.book import make_book
from drybuild.examine.sheets import scrutineer_side
from drybuild.examine.sheets.scrutineer import ORDER

PAGE = (Path(__file__).parents[2] / "docs" / "paper.md").read_text(encoding="utf-8")
INDENTED = re.compile(r"(?:^(?: {4}.*)?\n)*^ {4}.*\n(?:^(?: {4}.*)?\n)*", re.MULTILINE)


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    folder = tmp_path_factory.mktemp("page") / "car"
    shutil.copytree(built_car.PLOVER, folder)
    (folder / "photos").mkdir()
    (folder / "photos" / "chassis.jpg").write_bytes(built_car.picture(8, 8))
    blocks = [dedent(found[0]) for found in INDENTED.finditer(PAGE) if "\n    [" in found[0]]
    car = [b for b in blocks if "[identity]" in b]
    build = [b for b in blocks if "[identity]" not in b]
    assert (len(car), len(build)) == (1, 2)
    for name, texts in (("car.toml", car), ("build.toml", build)):
        file = folder / name
        file.write_text(file.read_text("utf-8") + "\n".join(texts), "utf-8")
    return folder


def test_what_the_page_puts_into_the_folder_is_in_the_book(folder):
    book = make_book(drybuild.open_build(folder), made_on=datetime(2026, 12, 14), draws=64)
    assert {f.title: f.value for f in book.identity}["chassis number"] == "FNK1PLVR0G0004711"
    assert book.body_work == ()
    assert [p.file for p in book.photographs] == ["chassis.jpg"]
    assert book.head.owner == "Ilse Brandt"
    assert book.examination.state.build.instruments[0].calibrated == "2026-05-11"


def test_the_clubs_order_on_the_page_is_taken(folder):
    side = scrutineer_side(drybuild.open_build(folder))
    assert [i.title for i in side.items] == ["belts and seat", "extinguisher", "Tape on the lamps",
                                             "leaks"]  # fmt: skip


def test_the_page_names_every_item_of_ours():
    said = " ".join(PAGE.rpartition("Ours are called: ")[2].split()).rstrip(".")
    assert tuple(said.split(", ")) == ORDER
