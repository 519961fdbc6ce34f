"""The build book on paper and as a page: what every page names, and what nobody's words can do."""

from __future__ import annotations

import re
import shutil
import struct
import subprocess
import sys
import zlib
from dataclasses import replace
from datetime import datetime
from html.parser import HTMLParser
from importlib import resources
from pathlib import Path

import built_car
import pytest

import drybuild
from drybuild.build import Change
from drybuild.examine.book import make_book
from drybuild.examine.photographs import keep
from drybuild.show.book import contents
from drybuild.show.book_page import book_page
from drybuild.show.book_paper import book_pages, set_with_pictures, write_book
from drybuild.show.photographs import NoPicture, picture
from drybuild.show.typeset import NOT_TO_KEEP, PaperExtraMissing

MADE = datetime(2026, 12, 14, 9, 30)
NASTY = '#panic() <script>alert(1)</script> $x$ ${{7*7}} "]\\" `*_[#] </style> &amp; é\u202e'


def text_of(path):
    """Words of each page. The tool that reads them back is not everywhere."""
    if shutil.which("pdftotext") is None:
        pytest.skip("pdftotext is not here: the pages of the PDF were not read back")
    got = subprocess.run(["pdftotext", "-layout", str(path), "-"], capture_output=True, check=True)
    return got.stdout.decode().split("\f")[:-1]


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return built_car.make(tmp_path_factory.mktemp("built") / "car")


@pytest.fixture(scope="module")
def book(folder):
    return make_book(drybuild.open_build(folder), made_on=MADE, draws=1024)


@pytest.fixture(scope="module")
def pdf(book, tmp_path_factory):
    path = tmp_path_factory.mktemp("paper") / "book.pdf"
    assert write_book(path, book) == ""
    return path


@pytest.fixture(scope="module")
def page(book):
    return book_page(book)


def test_every_page_names_build_state_date_revision_fingerprint_and_its_number(pdf, book):
    pages = text_of(pdf)
    shown = " ".join(re.findall("....", book.imprint.fingerprint[:16]))
    assert len(pages) > 10
    for number, text in enumerate(pages, 1):
        for wanted in (
            "Fennick Plover 1.8T", "as built, by the record up to 2026-12-13",
            "not named, entry 15",
            "Mon 14 Dec 2026 09:30", shown, f"page {number}", f"of {len(pages)}", "NO SIGNATURE",
        ):  # fmt: skip
            assert wanted in text, (number, wanted)


def test_a_use_names_the_page_of_the_rule_that_the_car_is_outside_of_as_found(tmp_path):
    root = Path(__file__).parents[2]
    untouched = make_book(
        drybuild.open_build(root / "examples" / "plover_saturdays"), made_on=MADE, draws=64
    )
    write_book(tmp_path / "book.pdf", untouched)
    pages = text_of(tmp_path / "book.pdf")
    (page,) = re.findall(r"outside as found: 1\s+\(page (\d+)\)", " ".join(pages))
    assert "catch tank" in pages[int(page) - 1]
    assert "best estimate outside" in " ".join(pages[int(page) - 1].split())


def test_the_same_book_is_the_same_file(pdf, book, tmp_path):
    write_book(tmp_path / "again.pdf", book)
    assert (tmp_path / "again.pdf").read_bytes() == pdf.read_bytes()


def test_it_says_that_it_is_of_the_kind_to_keep(pdf):
    data = pdf.read_bytes()
    streams = [data]
    for found in re.finditer(rb"stream\r?\n(.*?)\r?\nendstream", data, re.DOTALL):
        try:
            streams.append(zlib.decompress(found[1]))
        except zlib.error:
            streams.append(found[1])
    meta = b"".join(streams)
    assert b"<pdfaid:part>2</pdfaid:part>" in meta
    assert b"<pdfaid:conformance>A</pdfaid:conformance>" in meta
    assert b"<pdfuaid:part>1</pdfuaid:part>" in meta


def test_the_parts_of_the_book_are_there(pdf):
    text = "\n".join(text_of(pdf))
    for wanted in (
        "FNK1PLVR0G0004711", "UC 4711", "K18T-220417", "84312 km", "L-22871 left",
        "week 25 of 2026", "not read", "corner scales of Halm", "2026-05-11",
        "UN R39, para 5.3", "from memory", "none known", "Loft load test report LT-8817",
        "the owner declares", "the workshop did", "the engineer inspected",
        "Apart: planned, not built", "Not assessed", "1024 draws",
    ):  # fmt: skip
        assert wanted in text, wanted


def test_nothing_planned_stands_before_the_last_part(pdf, book):
    text = "\n".join(text_of(pdf))
    built, _, apart = text.rpartition("Apart: planned, not built")
    parts = book.examination.state.build.parts
    on_it = {p.part.name for p in book.parts}
    planned = {parts[p].name for job in book.still_open for p in job.fit.values()} - on_it
    assert planned
    for name in planned:
        assert name not in built, name
    assert "larger turbocharger" in apart


def test_each_deed_is_named_as_the_records_name_it(tmp_path):
    """What was only taken off or put back is a deed too, and no bare number of an entry."""
    opened = drybuild.open_build(built_car.make(tmp_path / "car"))
    for kind, what in (("open", "raised_rear"), ("open", "wheels_rear"), ("close", "wheels_rear")):
        opened.journal.did([Change(kind, what)], who="Ilse", at="2026-12-13")
    book = make_book(drybuild.open_build(tmp_path / "car"), made_on=MADE, draws=64)
    deeds = contents(book)["deeds"]
    assert all(d["what"] for d in deeds)
    named = [d["what"] for d in deeds[-3:]]
    assert named == [["rear up on axle stands"], ["rear wheels off"], ["rear wheels on"]]
    page = book_page(book)
    done = page[page.index('<h2 id="done">') :]
    assert "rear up on axle stands" in done


def test_a_planned_job_has_a_booking_or_is_said_to_have_none(book):
    """The column stands only where a job is booked for a day, and then no cell of it is empty."""
    one, *others = (job.model_copy(update={"session": ""}) for job in book.still_open)
    assert others
    free = replace(book, still_open=(one, *others))
    assert {j["session"] for j in contents(free)["open"]} == {""}
    booked = replace(book, still_open=(one.model_copy(update={"session": "some-day"}), *others))
    found = contents(booked)["open"]
    assert [j["session"] for j in found] == ["some-day", *["not booked"] * len(others)]
    assert "booked for" in book_page(booked)
    assert "booked for" not in book_page(free)


def test_a_photograph_of_a_card_is_named_with_where_it_lies(tmp_path):
    folder = built_car.make(tmp_path / "car")
    opened = drybuild.open_build(folder)
    data = (folder / "photos" / "chassis.png").read_bytes()
    keep(opened, data, shows="hose brackets", who="Ilse", task="take:raised_rear")
    book = make_book(drybuild.open_build(folder), made_on=MADE, draws=64)
    (named,) = contents(book)["on-cards"]
    assert (named["shows"], named["task"]) == ("hose brackets", "rear up on axle stands")
    assert (folder / "photos" / named["file"]).read_bytes() == data
    write_book(tmp_path / "book.pdf", book)
    for text in (book_page(book), "\n".join(text_of(tmp_path / "book.pdf"))):
        assert named["file"] in text.replace("\u200b", "")
        assert "hose brackets" in text


FORBIDDEN = re.compile(r"\b(safe|passed|pass(es)?|ok to drive|approved for use)\b", re.IGNORECASE)


def test_it_never_says_that_all_is_well(page, pdf):
    own = re.sub(r"<style>.*?</style>", "", page, flags=re.DOTALL)
    for text in (own, "\n".join(text_of(pdf))):
        found = [m for m in FORBIDDEN.finditer(text)]
        assert not found, [text[max(0, m.start() - 60) : m.end() + 20] for m in found]


def test_the_fingerprint_is_called_what_it_is(page, pdf):
    for text in (page, " ".join(text_of(pdf)[0].split())):
        assert "It is no signature" in text


class _Tags(HTMLParser):
    def __init__(self):
        super().__init__()
        self.tags, self.sources, self.events = [], [], []

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        for key, value in attrs:
            if key in ("src", "href", "action", "srcset"):
                self.sources.append(value or "")
            if key.startswith("on"):
                self.events.append(key)


def test_the_page_fetches_nothing_and_runs_nothing(page):
    seen = _Tags()
    seen.feed(page)
    assert not {"script", "iframe", "object", "link", "form", "base"} & set(seen.tags)
    assert not seen.events
    assert all(s.startswith(("data:image/", "#")) for s in seen.sources), seen.sources
    policy = "default-src 'none'; style-src 'unsafe-inline'; img-src data:"
    assert f'<meta http-equiv="Content-Security-Policy" content="{policy}">' in page


def test_page_and_paper_say_the_same(page, book):
    content = contents(book)
    for fact in content["identity"]["facts"]:
        assert fact["value"] in page
    for row in content["readings"]:
        assert f">{row['number']}<" in page
    for group in content["limits"]:
        for row in group["rows"]:
            assert row["title"] in page or row["title"].replace("'", "&#39;") in page


@pytest.fixture(scope="module")
def nasty(tmp_path_factory):
    quoted = '"' + NASTY.replace("\\", "\\\\").replace('"', '\\"') + '"'
    extra = f'\n[[photograph]]\nfile = "rear-left.png"\nshows = {quoted}\nby = {quoted}\n'
    folder = built_car.make(
        tmp_path_factory.mktemp("nasty") / "car",
        name=quoted,
        extra_car=extra,
        extra_build=f'\n[[instrument]]\nname = {quoted}\nis_a = "rule"\nserial = {quoted}\n',
    )
    opened = drybuild.open_build(folder)
    opened.journal.tightened(NASTY, figure="7 " + NASTY, tool=NASTY, who=NASTY, at="2026-12-12")
    opened.journal.note("car.wheelbase_left", "2330 mm", who=NASTY, instrument=NASTY,
                        at="2026-12-12")  # fmt: skip
    return make_book(drybuild.open_build(folder), made_on=MADE, revision=NASTY, draws=64)


def test_nobodys_words_are_read_as_markup_on_the_page(nasty):
    page = book_page(nasty)
    seen = _Tags()
    seen.feed(page)
    assert "script" not in seen.tags
    assert seen.tags.count("style") == 1
    assert "&lt;script&gt;alert(1)&lt;/script&gt;" in page
    assert "49" not in re.findall(r"\$\{?\{?(\d+)", page)


def test_nobodys_words_are_read_as_markup_on_paper(nasty, tmp_path):
    path = tmp_path / "nasty.pdf"
    write_book(path, nasty)
    text = "".join("".join(text_of(path)).split())
    assert "#panic()<script>alert(1)" in text.replace("\u200b", "")


def test_a_sign_without_a_letter_is_said(tmp_path):
    folder = built_car.make(tmp_path / "car", name='"Plover \u4e00"')
    book = make_book(drybuild.open_build(folder), made_on=MADE, draws=64)
    assert write_book(tmp_path / "book.pdf", book) == NOT_TO_KEEP


def test_without_the_typesetter_it_says_what_to_install(book, tmp_path, monkeypatch):
    monkeypatch.setitem(sys.modules, "typst", None)
    with pytest.raises(PaperExtraMissing, match=r"drybuild\[paper\]"):
        write_book(tmp_path / "x.pdf", book)


def test_a_car_as_found_has_a_book_too(tmp_path):
    opened = drybuild.open_build(built_car.PLOVER)
    book = make_book(opened, made_on=MADE, draws=64)
    assert write_book(tmp_path / "book.pdf", book) == ""
    assert len(book_pages(book, resolution=20)) > 5
    assert "nothing but the numbers above ties this book to the car" in book_page(book)
    page = next(p for p in text_of(tmp_path / "book.pdf") if "READINGS UNDER THESE" in p.upper()
                and "IN THIS BOOK" not in p.upper())  # fmt: skip
    assert "none is written down" in page  # no head of a table over nothing


# Photographs


def jpeg(exif=b"", more=b""):
    """The smallest thing with the segments of a JPEG; its picture is not looked at here."""
    frame = b"\xff\xc0" + struct.pack(">HBHHB", 11, 8, 20, 30, 1) + b"\x01\x11\x00"
    app0 = b"\xff\xe0" + struct.pack(">H", 16) + b"JFIF\0\x01\x01\0\0\x01\0\x01\0\0"
    app1 = b"\xff\xe1" + struct.pack(">H", len(exif) + 2) + exif if exif else b""
    scan = b"\xff\xda" + struct.pack(">H", 8) + b"\x01\x01\x00\x00\x3f\x00" + b"\x12\x34"
    return b"\xff\xd8" + app0 + app1 + more + frame + scan + b"\xff\xd9"


def exif(orientation):
    entries = struct.pack(">HHIHH", 0x0112, 3, 1, orientation, 0)
    entries += struct.pack(">HHII", 0x8825, 4, 1, 60)  # where it was taken
    body = b"MM\0*" + struct.pack(">IH", 8, 2) + entries + struct.pack(">I", 0)
    return b"Exif\0\0" + body + b"GPS 51.5007 N 0.1246 W Camera of Ilse"


def test_where_a_photograph_was_taken_is_left_out_and_which_way_up_stays():
    more = b"\xff\xfe" + struct.pack(">H", 16) + b"comment here.."
    found = picture(jpeg(exif(6), more))
    assert b"GPS" not in found.data
    assert b"Ilse" not in found.data
    assert b"comment" not in found.data
    assert b"\x01\x12\x00\x03\x00\x00\x00\x01\x00\x06" in found.data
    assert (found.form, found.wide, found.tall) == ("jpg", 30, 20)


def test_words_in_a_png_are_left_out():
    whole = built_car.picture(8, 8)
    said = b"tEXtGPS\x0051.5007"
    chunk = struct.pack(">I", len(said) - 4) + said + struct.pack(">I", zlib.crc32(said))
    found = picture(whole[:33] + chunk + whole[33:])
    assert b"GPS" not in found.data
    assert found.data == whole


@pytest.mark.parametrize(
    "data",
    [b"", b"GIF89a", b"<svg/>", jpeg()[:-30], built_car.picture(8, 8)[:-14],
     b"\xff\xd8\xff", b"\xff\xd8" + b"\xff\xff" * 50, b"\x89PNG\r\n\x1a\n" + b"\0" * 40],
)  # fmt: skip
def test_what_is_no_picture_is_said_so(data):
    with pytest.raises(NoPicture):
        picture(data)


def test_a_file_that_is_no_picture_leaves_words_and_the_book_whole(tmp_path):
    folder = built_car.make(tmp_path / "car")
    (folder / "photos" / "chassis.png").write_bytes(b"not a picture")
    book = make_book(drybuild.open_build(folder), made_on=MADE, draws=64)
    content, pictures = set_with_pictures(book, "metric")
    assert "cannot be shown" in content["photographs"][0]["fault"]
    assert list(pictures) == ["photograph-1.png"]
    write_book(tmp_path / "book.pdf", book)
    assert "cannot be shown" in book_page(book)


def test_each_task_that_was_done_is_named_as_on_its_card_with_who_did_it(tmp_path):
    opened = drybuild.open_build(built_car.make(tmp_path / "car"))
    day = {"who": "Ilse", "at": "2026-12-13"}
    opened.journal.worked("clear:brakes_open", people=("Ann", "Ben"), **day)
    opened.journal.worked("take:raised_rear", **day)
    opened.journal.did([Change("open", "raised_rear")], **day)
    opened.journal.worked("clear:alignment", what="stopped", left=1.0, **day)
    book = make_book(drybuild.open_build(tmp_path / "car"), made_on=MADE, draws=64)
    *_, bled, raised = contents(book)["deeds"]
    first = bled["entry"]
    assert bled == {
        "entry": first, "when": "2026-12-13", "who": "Ann and Ben, written by Ilse", "job": "",
        "what": ["brakes bled"],
    }  # fmt: skip
    assert raised["entry"] == f"{int(first) + 1}, {int(first) + 2}"
    assert (raised["who"], raised["what"]) == ("Ilse", ["rear up on axle stands"])
    assert "brakes bled" in book_page(book)


def test_a_part_stands_by_its_figures_and_one_to_be_chosen_is_said_to_be_unnamed(tmp_path):
    folder = built_car.make(tmp_path / "car")
    opened = drybuild.open_build(folder)
    state = opened.present.state
    wheel = next(p for p in state.fitted.values() if p and opened.build.parts[p].kind == "wheel")
    spring = next(p for p in state.fitted.values() if p and opened.build.parts[p].kind == "spring")
    for file in (folder / "parts").glob("*.toml"):
        text = file.read_text(encoding="utf-8")
        for part, name in ((wheel, "wheel, 9Jx19 ET10"), (spring, "a spring, to be chosen")):
            form = rf'(\[part\.{part}\]\n(?:[^\[].*\n)*?name = )"[^"]*"'
            text = re.sub(form, rf'\1"{name}"', text)
        file.write_text(text, encoding="utf-8")
    book = make_book(drybuild.open_build(folder), made_on=MADE, draws=64)
    said = contents(book)
    names = [row["name"] for row in (*said["changed"], *said["unchanged"])]
    wheels = [name for name in names if "9Jx19" in name]
    assert wheels
    assert all(name.endswith(" (its name says 9Jx19 ET10)") for name in wheels)
    assert not any("wheel, 9Jx19" in name for name in wheels)
    assert any(
        name.endswith("a spring, to be chosen: not said which part it is, of which maker")
        for name in names
    )


def test_a_picture_that_only_looks_whole_is_left_out_and_said(tmp_path):
    folder = built_car.make(tmp_path / "car")
    (folder / "photos" / "chassis.png").write_bytes(jpeg())
    book = make_book(drybuild.open_build(folder), made_on=MADE, draws=64)
    assert write_book(tmp_path / "book.pdf", book) == ""
    text = " ".join("\n".join(text_of(tmp_path / "book.pdf")).split())
    assert "cannot be shown: the typesetter cannot read it" in text


def test_it_names_jobs_and_parts_as_they_are_called_and_says_why_a_check_is_owed(book, page):
    told = contents(book)
    titles = {job.id: job.title for job in book.examination.state.build.jobs}
    said = {deed["job"] for deed in told["deeds"]} - {""}
    assert said
    assert said <= set(titles.values())
    assert all(re.fullmatch(r"\d{4}-\d\d-\d\d", job["session"]) for job in told["open"])
    assert not re.search(r"\b[a-z]+_[a-z_]+ fitted", page)
    assert all(o["places"] == "" or o["places"].startswith("after work at ") for o in told["owed"])


def test_who_signs_for_a_car_without_a_number_writes_it_in():
    page = book_page(make_book(drybuild.open_build(built_car.PLOVER), made_on=MADE, draws=64))
    assert "No chassis number is stated: whoever signs writes it here" in page
    assert "chassis number <strong>not stated" not in page


def test_a_table_on_paper_without_a_row_is_a_word(tmp_path):
    typst = pytest.importorskip("typst")
    rules = resources.files("drybuild.show") / "templates" / "paper.typ"
    (tmp_path / "paper.typ").write_text(rules.read_text("utf-8"), "utf-8")
    for name, row in (("none", "()"), ("one", "([a], [b])")):
        asked = f'#import "paper.typ": *\n#rows-table((1fr, 1fr), ("head", "tail"), ({row},))\n'
        asked = asked.replace("((),)", "()")
        (tmp_path / f"{name}.typ").write_text(asked, "utf-8")
        typst.compile(str(tmp_path / f"{name}.typ"), output=str(tmp_path / f"{name}.pdf"))
    (empty,), (full,) = text_of(tmp_path / "none.pdf"), text_of(tmp_path / "one.pdf")
    assert "none" in empty
    assert "HEAD" not in empty.upper()
    assert "HEAD" in full.upper()
