"""Files that come in: each promise of uploads.py has somebody who sends a file that breaks it."""

from __future__ import annotations

import gzip
import io
import os
import re
import sys
import time
import zipfile
from datetime import date, timedelta
from pathlib import Path

import built_car
import pytest
from forms import token_in
from starlette.testclient import TestClient

import drybuild
from drybuild.examine.sheets import measuring_form, measuring_sheets
from drybuild.web import uploads
from drybuild.web.app import make_app
from drybuild.web.uploads import (
    MOST_BYTES,
    Busy,
    Limits,
    UploadRefused,
    in_worker,
    label,
    plain_text,
)

HERE = str(Path(__file__).parent)
GAP = "corner.front.left.arch_point.gap"
SHORT = Limits(memory=400_000_000, work=1, clock=6.0)

needs_limits = pytest.mark.skipif(sys.platform == "win32", reason="limits by the clock only there")


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return Path(built_car.make(tmp_path_factory.mktemp("came") / "car"))


@pytest.fixture
def car(made: Path, tmp_path: Path) -> Path:
    import shutil

    return Path(shutil.copytree(made, tmp_path / "car"))


@pytest.fixture
def here(car: Path, browser) -> TestClient:  # type: ignore[no-untyped-def]
    return browser(serving=make_app(car, hosts=frozenset({"127.0.0.1:8000"})))


@pytest.fixture(scope="module")
def sheet(made: Path) -> str:
    opened = drybuild.open_build(made)
    return measuring_form(
        measuring_sheets(opened), build=opened.build.head.name, state="now", fingerprint="0" * 16
    )


def filled(sheet: str, value: str = "46 ± 1 mm") -> bytes:
    before = f'"{GAP}" = ""'
    assert before in sheet
    return sheet.replace(before, f'"{GAP}" = "{value}"', 1).encode()


def token_of(client: TestClient) -> str:
    page = client.get("/book/calibrator").text
    return token_in(page)


def bring(client: TestClient, data: bytes, name: str = "sheet.toml", kind: str = "text/plain"):  # type: ignore[no-untyped-def]
    return client.post(
        "/book/calibrator",
        data={"token": token_of(client), "who": "Ines"},
        files={"file": (name, data, kind)},
    )


def mark_of(page: str) -> str:
    return re.search(r'name="mark" value="([0-9a-f]+)"', page)[1]  # type: ignore[index]


def left(folder: Path) -> dict[str, bytes]:
    """Every file of a folder, but for what a look at the journal may touch."""
    return {
        str(p.relative_to(folder)): p.read_bytes()
        for p in sorted(folder.rglob("*"))
        if p.is_file() and "journal.db-" not in p.name
    }


# What it is for


def test_a_sheet_is_shown_first_and_written_when_it_is_confirmed(  # type: ignore[no-untyped-def]
    here, car: Path, sheet: str
) -> None:
    before = left(car)
    shown = bring(here, filled(sheet))
    assert shown.status_code == 200
    assert "46 ± 1 mm" in shown.text
    assert "1 reading<" in shown.text
    assert left(car) == before
    data = {"token": token_of(here), "mark": mark_of(shown.text)}
    assert here.post("/book/calibrator/note", data=data).status_code == 303
    readings = [r for r in drybuild.open_build(car).journal.readings() if r.address == GAP]
    assert readings[-1].raw == {"is": "46 ± 1 mm", "by": "coins"}
    again = here.post("/book/calibrator/note", data=data)
    assert again.status_code == 409
    assert "bring it once more" in again.text


def test_a_day_ahead_is_asked_about_before_anything_is_written(  # type: ignore[no-untyped-def]
    here, car: Path, sheet: str
) -> None:
    ahead = (date.today() + timedelta(days=2)).isoformat()
    text = filled(sheet).decode().replace('at = ""', f'at = "{ahead}"', 1)
    assert f"It says {ahead}, and today is {date.today()}. Is the day right?" in " ".join(
        bring(here, text.encode()).text.split()
    )
    today = text.replace(ahead, date.today().isoformat())
    assert "Is the day right?" not in bring(here, today.encode()).text


def test_a_sheet_that_names_its_writer_is_not_written_under_another_name(  # type: ignore[no-untyped-def]
    here, car: Path, sheet: str
) -> None:
    text = filled(sheet).decode().replace('who = ""', 'who = "Quill"', 1)
    shown = bring(here, text.encode())
    data = {"token": token_of(here), "mark": mark_of(shown.text)}
    assert here.post("/book/calibrator/note", data=data).status_code == 303
    journal = drybuild.open_build(car).journal
    assert {journal.readings()[-1].who, journal.remarks()[-1].who} == {"Quill"}
    again = bring(here, text.encode())
    assert again.status_code == 409
    assert f"entry {journal.remarks()[-1].id}" in again.text


def test_a_journal_as_text_is_shown_and_taken_when_it_goes_on_from_ours(  # type: ignore[no-untyped-def]
    here, car: Path
) -> None:
    journal = drybuild.open_build(car).journal
    before = len(journal.entries())
    old = (car / "journal.db").read_bytes()
    journal.remark("written elsewhere", who="Ines")
    text = journal.export()
    (car / "journal.db").write_bytes(old)
    shown = bring(here, text.encode(), "journal.txt")
    assert f"A journal of {before + 1} entries" in shown.text
    assert "1 of them are not here yet" in shown.text
    here.post("/book/calibrator/note", data={"token": token_of(here), "mark": mark_of(shown.text)})
    assert drybuild.open_build(car).journal.export() == text


def test_another_journal_is_refused_and_nothing_written(  # type: ignore[no-untyped-def]
    here, car: Path, tmp_path: Path
) -> None:
    from drybuild.journal import Journal

    other = Journal(tmp_path)
    other.remark("of another car", who="Ines")
    shown = bring(here, other.export().encode(), "journal.txt")
    before = left(car)
    data = {"token": token_of(here), "mark": mark_of(shown.text)}
    refused = here.post("/book/calibrator/note", data=data)
    assert refused.status_code == 409
    assert "Nothing was written" in refused.text
    assert left(car) == before


def test_what_is_wrong_with_a_sheet_is_said_with_its_line(  # type: ignore[no-untyped-def]
    here, sheet: str
) -> None:
    refused = bring(here, filled(sheet, "46 parsec"))
    assert refused.status_code == 409
    assert re.search(r"sheet\.toml[^<]*:\d+", refused.text)
    assert "parsec" in refused.text, refused.text


def test_only_who_may_edit_brings_or_notes_and_only_the_browser_that_brought_it(  # type: ignore[no-untyped-def]
    car: Path, browser, sheet: str
) -> None:
    app = make_app(car, hosts=frozenset({"127.0.0.1:8000"}))
    one, other = browser(serving=app), browser(serving=app)
    mark = mark_of(bring(one, filled(sheet)).text)
    stolen = other.post("/book/calibrator/note", data={"token": token_of(other), "mark": mark})
    assert stolen.status_code == 409
    kept = one.post("/book/calibrator/note", data={"token": token_of(one), "mark": mark})
    assert kept.status_code == 303


# Files that are none


def zipped() -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as made:
        made.writestr("sheet.toml", b"0" * 50_000_000)
    return out.getvalue()


RECORD = "# The record of a car, written out by drybuild: a block for each entry, oldest first.\n"
LAUGHS = (
    '<?xml version="1.0"?><!DOCTYPE l [<!ENTITY a "ha">'
    + "".join(f'<!ENTITY {b} "&{a};&{a};&{a};&{a};&{a};&{a};&{a};&{a};">'
              for a, b in zip("abcdefgh", "bcdefghi", strict=True))
    + "]><l>&i;</l>"
)  # fmt: skip


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "empty"),
        (b" \n\t ", "empty"),
        (zipped(), "a ZIP"),
        (gzip.compress(b"0" * 50_000_000), "compressed (gzip)"),
        (b"%PDF-1.7\n1 0 obj", "a PDF"),
        (LAUGHS.encode(), "a page or XML"),
        (b"<html><script>alert(1)</script>", "a page or XML"),
        (b"\xff\xd8\xff\xe0\x00\x10JFIF", "a photograph"),
        (b"\x89PNG\r\n\x1a\n", "a picture"),
        (b"SQLite format 3\x00" + b"\x00" * 100, "a database"),
        (b"\x7fELF\x02\x01", "a program"),
        (b"form = 1\n\x00", "Line 2 has a sign"),
        (b"form = 1\n\xff\xfe", "Byte 9"),
        ("form = 1".encode("utf-16"), "Byte 0"),
        (b"#" + b"a" * (MOST_BYTES + 1), "at most 500,000"),
    ],
)
def test_what_is_no_sheet_is_refused_by_what_it_is_whatever_it_is_called(  # type: ignore[no-untyped-def]
    here, car: Path, data: bytes, said: str
) -> None:
    before = left(car)
    refused = bring(here, data, "sheet.toml", "text/plain")
    assert refused.status_code == 409
    assert said in refused.text
    assert "Nothing was written" in refused.text
    assert left(car) == before


def test_a_body_beyond_a_sheet_is_not_even_read(here) -> None:  # type: ignore[no-untyped-def]
    refused = bring(here, b"a" * 800_000)
    assert refused.status_code == 413


@pytest.mark.parametrize(
    "text",
    [
        "a = " + "[" * 50_000,
        "a = " + "[" * 50_000 + "]" * 50_000,
        "".join(f"[{'a.' * 400}b{i}]\n" for i in range(500)),
        "a = " + "{b = " * 20_000,
        "form = 1\nwords = '''" + "x" * 400_000,
        "form = " + "9" * 400_000,
        "form = 1\n" + "".join(f"k{i} = 0\n" for i in range(40_000)),
        f"{RECORD}form 1\n" + "entry 1  " * 30_000,
        f'{RECORD}form 1\nentry 1  work  "2026-11-01T10:00"  "{"[" * 90_000}"\n',
    ],
    ids=["open", "nested", "dotted", "tables", "unended", "digits", "keys", "record", "brackets"],
)  # fmt: skip
def test_a_text_made_to_choke_a_reader_is_answered_in_words_and_soon(  # type: ignore[no-untyped-def]
    here, car: Path, text: str
) -> None:
    before, began = left(car), time.monotonic()
    refused = bring(here, text.encode())
    assert refused.status_code == 409, refused.text[:400]
    assert time.monotonic() - began < 35
    assert left(car) == before


# Names


@pytest.mark.parametrize(
    ("name", "shown"),
    [
        ("../../../etc/passwd", "passwd"),
        ("..\\..\\windows\\system.ini", "system.ini"),
        ("/etc/shadow", "shadow"),
        ("sheet\x00.toml", "sheet_.toml"),
        ("..", "a file without a name"),
        ("", "a file without a name"),
        ("a" * 500, "a" * 80),
        ("<b>x</b>", "b_"),
        ("x\r\nSet-Cookie: a=b", "x__Set-Cookie_ a_b"),
        ("\u202egnp.exe", "_gnp.exe"),
        ("CON", "CON"),
    ],
)
def test_a_name_is_a_label(name: str, shown: str) -> None:
    assert label(name) == shown


def test_a_name_with_a_way_in_it_writes_nothing_outside(  # type: ignore[no-untyped-def]
    here, car: Path, sheet: str
) -> None:
    around = {p.name for p in car.parent.iterdir()}
    shown = bring(here, filled(sheet), "../../evil\x00/../x.toml")
    data = {"token": token_of(here), "mark": mark_of(shown.text)}
    assert here.post("/book/calibrator/note", data=data).status_code == 303
    assert {p.name for p in car.parent.iterdir()} == around
    remark = drybuild.open_build(car).journal.remarks()[-1].words
    assert "x.toml" in remark
    assert "evil" not in remark


@pytest.mark.parametrize("part", ["../evil", "/tmp/evil", "a\\u0000b"])
def test_a_map_whose_id_is_a_way_is_refused(here, car: Path, part: str) -> None:  # type: ignore[no-untyped-def]
    from drybuild.examine.sheets import calibrator_form, calibrator_sheet

    blank = calibrator_form(calibrator_sheet(drybuild.open_build(car)))
    assert '\npart = ""' in blank
    text = blank.replace('\npart = ""', f'\npart = "{part}"', 1)
    before = left(car.parent)
    assert bring(here, text.encode()).status_code == 409
    assert left(car.parent) == before


@pytest.mark.skipif(os.name == "nt", reason="links want rights there")
def test_a_link_among_the_parts_is_not_written_through(  # type: ignore[no-untyped-def]
    here, car: Path, tmp_path: Path
) -> None:
    """Somebody put a link where the new map's file would be written on the way."""
    from drybuild.examine.sheets import calibrator_form, calibrator_sheet

    outside = tmp_path / "outside.toml"
    outside.write_text("keep me")
    (car / "parts" / f"map_nine.{os.getpid()}.part").symlink_to(outside)
    text = calibrator_form(calibrator_sheet(drybuild.open_build(car)))
    said = {"part": "map_nine", "name": "Map nine", "checksum": "9F31", "who": "Ines"}
    for key, value in said.items():
        assert f'\n{key} = ""' in text
        text = text.replace(f'\n{key} = ""', f'\n{key} = "{value}"', 1)
    shown = bring(here, text.encode())
    assert shown.status_code == 200, shown.text
    assert "It is put among the parts" in shown.text
    data = {"token": token_of(here), "mark": mark_of(shown.text)}
    refused = here.post("/book/calibrator/note", data=data)
    assert refused.status_code == 409
    assert "the folder does not take it" in refused.text
    assert outside.read_text() == "keep me"
    assert not (car / "parts" / "map_nine.toml").exists()


def test_a_map_that_came_leads_on_to_what_is_done_with_it(here, car: Path) -> None:  # type: ignore[no-untyped-def]
    from drybuild.examine.sheets import calibrator_form, calibrator_sheet

    text = calibrator_form(calibrator_sheet(drybuild.open_build(car)))
    said = {"part": "map_nine", "name": "Map nine", "checksum": "9F31", "who": "Ines"}
    for key, value in said.items():
        text = text.replace(f'\n{key} = ""', f'\n{key} = "{value}"', 1)
    data = {"token": token_of(here), "mark": mark_of(bring(here, text.encode()).text)}
    answer = here.post("/book/calibrator/note", data=data)
    page = here.get(answer.headers["location"]).text
    assert '<a href="/parts/map_nine">the map that came</a>' in page
    assert here.get("/parts/map_nine").status_code == 200


# The worker


def test_a_worker_answers() -> None:
    assert in_worker("hungry_jobs:fine", b"four", {}, paths=(HERE,)) == 4


@needs_limits
@pytest.mark.parametrize(
    ("job", "said"),
    [
        ("spin", "more time or memory"),
        ("devour", "more memory"),
        ("fall_over", "broken off"),
        ("deep", "cannot be read"),
        ("talk", "more than fits"),
    ],
)
def test_a_reader_that_goes_wrong_ends_and_nobody_else_does(job: str, said: str) -> None:
    began = time.monotonic()
    with pytest.raises(UploadRefused, match=said):
        in_worker(f"hungry_jobs:{job}", b"data", {}, limits=SHORT, paths=(HERE,))
    assert time.monotonic() - began < SHORT.clock + 2


def test_a_reader_that_hangs_is_ended_by_the_clock() -> None:
    began = time.monotonic()
    limits = Limits(clock=2.0)
    with pytest.raises(UploadRefused, match="longer than 2 s"):
        in_worker("hungry_jobs:sleep", b"x" * 300_000, {}, limits=limits, paths=(HERE,))
    assert time.monotonic() - began < 5


@needs_limits
def test_a_worker_writes_no_file(tmp_path: Path) -> None:
    target = tmp_path / "written"
    with pytest.raises(UploadRefused):
        in_worker("hungry_jobs:write", b"data", {"path": str(target)}, paths=(HERE,))
    assert not target.exists() or target.read_bytes() == b""


def test_so_many_workers_and_no_more(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(uploads, "WAITS", 0.05)
    taken = [uploads._workers.acquire(timeout=0) for _ in range(uploads.AT_ONCE)]
    try:
        with pytest.raises(Busy):
            in_worker("hungry_jobs:fine", b"", {}, paths=(HERE,))
    finally:
        for _ in filter(None, taken):
            uploads._workers.release()
    assert in_worker("hungry_jobs:fine", b"", {}, paths=(HERE,)) == 0


def test_after_a_worker_that_failed_the_place_is_free_again() -> None:
    for _ in range(uploads.AT_ONCE + 1):
        with pytest.raises(UploadRefused):
            in_worker("hungry_jobs:fall_over", b"", {}, paths=(HERE,))
    assert in_worker("hungry_jobs:fine", b"ok", {}, paths=(HERE,)) == 2


def test_text_is_text() -> None:
    assert plain_text("\ufeffform = 1 # 46 ± 1 mm".encode(), expected="x").startswith("form")
