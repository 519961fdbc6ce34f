"""Photographs from a screen: kept, shown, taken back; and who sends what is none, or too much."""

from __future__ import annotations

import base64
import io
import os
import re
import shutil
import socket
import struct
import time
import zlib
from collections.abc import Iterator
from pathlib import Path

import httpx2 as httpx
import pytest
from forms import token_in
from PIL import Image
from served import EXAMPLE, Served, serving
from starlette.testclient import TestClient

import drybuild
from drybuild.examine.book import make_book
from drybuild.examine.photographs import NotKept, kept, photograph_bytes
from drybuild.journal import EntryRefused
from drybuild.show.book_paper import set_with_pictures
from drybuild.web.pages import photographs as page
from drybuild.web.photograph_job import photograph as made_anew
from drybuild.web.photograph_job import small

PLACE = b"48 deg 12 min N"


def camera(wide: int = 400, tall: int = 300, form: str = "JPEG", turned: int = 1) -> bytes:
    """A picture, left half dark, that says where it was taken, by which camera, and more."""
    found = Image.new("RGB", (wide, tall), "white")
    found.paste((20, 20, 20), (0, 0, wide // 2, tall))
    exif = Image.Exif()
    exif[0x0112], exif[0x010E], exif[0x010F] = turned, PLACE.decode(), "Quern cameras"
    exif.get_ifd(0x8825)[2] = (48.0, 12.0, 30.0)
    out = io.BytesIO()
    found.save(out, form, exif=exif, **({"comment": PLACE} if form == "JPEG" else {}))
    return out.getvalue() + PLACE


def send(client: TestClient, data: bytes, name: str = "p.jpg", **fields: str):  # type: ignore[no-untyped-def]
    token = token_in(client.get("/findings").text)
    said = {"token": token, "who": "Ilse", "shows": "chassis number", **fields}
    return client.post("/photographs", data=said, files={"file": (name, data, "image/jpeg")})


def in_folder(folder: Path) -> list[str]:
    return sorted(p.name for p in (folder / "photos").glob("*"))


def standing(folder: Path):  # type: ignore[no-untyped-def]
    return kept(drybuild.open_build(folder))


@pytest.fixture
def before(folder: Path) -> list[str]:
    return in_folder(folder)


def test_a_photograph_is_kept_named_shown_and_in_the_book(browser, folder: Path) -> None:  # type: ignore[no-untyped-def]
    here = browser()
    answer = send(here, camera(turned=6))
    assert (answer.status_code, answer.headers["location"]) == (303, "/book#photographs")
    [one] = standing(folder)
    assert (one.shows, one.by, one.task) == ("chassis number", "Ilse", "")
    data = (folder / "photos" / one.file).read_bytes()
    assert one.file == f"{one.taken}-{one.digest[:12]}.jpg"
    # the place is neither in it nor behind it, and it was turned the right way up: dark on top
    assert PLACE not in data
    assert b"Exif" not in data
    assert b"Quern" not in data
    seen = Image.open(io.BytesIO(data))
    assert seen.size == (300, 400)
    assert seen.getpixel((150, 40))[0] < 60 < 200 < seen.getpixel((150, 360))[0]  # type: ignore[index]
    answer = here.get(f"/photographs/{one.entry}.jpg?whole=true")
    assert (answer.content, answer.headers["content-type"]) == (data, "image/jpeg")
    shown = here.get(f"/photographs/{one.entry}.jpg")
    assert max(Image.open(io.BytesIO(shown.content)).size) == 320
    assert f'src="/photographs/{one.entry}.jpg"' in here.get("/book").text
    book = make_book(drybuild.open_build(folder))
    content, pictures = set_with_pictures(book, "metric")
    last = content["photographs"][-1]
    assert (last["shows"], last["fault"]) == ("chassis number", "")
    assert pictures[last["image"]].startswith(b"\xff\xd8\xff")


def test_what_a_phone_sends_is_kept_upright_small_and_without_its_place(  # type: ignore[no-untyped-def]
    browser, folder: Path
) -> None:
    """Twelve million points on their side, a place, a camera, a small picture of its own."""
    wide, tall = 4032, 3024
    found = Image.effect_noise((wide, tall), 60).convert("RGB")
    found.paste((10, 10, 10), (0, 0, wide // 2, tall))
    exif = Image.Exif()
    exif[0x0112], exif[0x010F], exif[0x0132] = 6, "Quern cameras", "2026:11:28 10:11:12"
    exif.get_ifd(0x8825).update({1: "N", 2: (48.0, 12.0, 30.0), 3: "E", 4: (11.0, 3.0, 9.0)})
    out = io.BytesIO()
    found.save(out, "JPEG", quality=88, exif=exif, xmp=b"<x>" + PLACE + b"</x>")
    data = out.getvalue()
    assert len(data) > 2_000_000
    assert Image.open(io.BytesIO(data)).getexif().get_ifd(0x8825)[2] == (48.0, 12.0, 30.0)
    answer = send(browser(), data, "Fahrgestellnummer übers Rad – 1.JPG")
    assert answer.status_code == 303, answer.text[:300]
    [one] = standing(folder)
    made = (folder / "photos" / one.file).read_bytes()
    assert len(made) < 1_200_000
    seen = Image.open(io.BytesIO(made))
    assert seen.size == (1200, 1600)
    assert seen.getpixel((600, 100))[0] < 60 < seen.getpixel((600, 1500))[0]  # type: ignore[index]
    assert (dict(seen.getexif()), seen.info.get("xmp")) == ({}, None)
    for word in (PLACE, b"Quern", b"Exif", b"2026:11:28"):
        assert word not in made


@pytest.fixture(scope="module")
def slow(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Served, Path]]:
    """A real server that waits 1.5 s for a form, and its folder."""
    where = tmp_path_factory.mktemp("slow") / "plover"
    shutil.copytree(EXAMPLE, where)
    with serving(where, within=1.5) as one:
        yield one, where


def on_the_wire(served: Served, data: bytes) -> tuple[bytes, bytes]:
    """Head and body of a form with a photograph, as a browser sends them."""
    with httpx.Client(base_url=served.url) as client:
        token = token_in(client.get("/devices").text)
        cookie = "; ".join(f"{name}={value}" for name, value in client.cookies.items())
    said = {"token": token, "who": "Ilse", "shows": "chassis number"}
    edge = "----of-a-phone"
    parts = [
        f'--{edge}\r\nContent-Disposition: form-data; name="{name}"\r\n\r\n{value}\r\n'
        for name, value in said.items()
    ]
    name = 'form-data; name="file"; filename="Bremse übergroß 1.jpg"'
    parts.append(f"--{edge}\r\nContent-Disposition: {name}\r\nContent-Type: image/jpeg\r\n\r\n")
    body = "".join(parts).encode() + data + f"\r\n--{edge}--\r\n".encode()
    head = (
        f"POST /photographs HTTP/1.1\r\nHost: 127.0.0.1:{served.port}\r\nCookie: {cookie}\r\n"
        f"Content-Type: multipart/form-data; boundary={edge}\r\n"
        f"Content-Length: {len(body)}\r\nConnection: close\r\n\r\n"
    )
    return head.encode(), body


def answered(served: Served, head: bytes, body: bytes, *, over: float, whole: bool = True) -> bytes:
    """What comes back when the body comes evenly over these seconds, or half of it and no more."""
    pieces = 20
    size = -(-len(body) // pieces)
    with socket.create_connection(("127.0.0.1", served.port), 20) as wire:
        wire.sendall(head)
        for n in range(pieces if whole else pieces // 2):
            wire.sendall(body[n * size : (n + 1) * size])
            time.sleep(over / pieces)
        got = b""
        while piece := wire.recv(65536):
            got += piece
    return got


def test_a_photograph_over_a_slow_network_has_the_time_that_its_size_wants(
    slow: tuple[Served, Path],
) -> None:
    served, where = slow
    data = camera(1200, 900) + b"\0" * 300_000
    head, body = on_the_wire(served, data)
    got = answered(served, head, body, over=2.5)
    assert b" 303 " in got.split(b"\r\n")[0], got[:300]
    assert len(standing(where)) == 1


def test_a_photograph_that_breaks_off_is_not_kept_and_stops_nobody(
    slow: tuple[Served, Path],
) -> None:
    served, where = slow
    before = (in_folder(where), len(standing(where)))
    head, body = on_the_wire(served, camera(600, 400))
    with socket.create_connection(("127.0.0.1", served.port), 5) as wire:
        wire.sendall(head + body[: len(body) // 2])
    began = time.monotonic()
    got = answered(served, head, body, over=0.1, whole=False)
    assert b" 408 " in got.split(b"\r\n")[0], got[:300]
    assert time.monotonic() - began < 8
    assert (in_folder(where), len(standing(where))) == before
    assert httpx.get(f"{served.url}/devices").status_code == 200
    # sent once more, as a whole, it is taken
    got = answered(served, head, body, over=0.1)
    assert b" 303 " in got.split(b"\r\n")[0], got[:300]
    assert len(standing(where)) == before[1] + 1


def test_it_is_taken_back_and_said_anew_by_further_entries(browser, folder: Path) -> None:  # type: ignore[no-untyped-def]
    here = browser()
    send(here, camera())
    [one] = standing(folder)
    journal = drybuild.open_build(folder).journal
    journal.correct(one.entry, {"words": "engine number"}, who="Ilse", why="the other number")
    assert standing(folder)[0].shows == "engine number"
    token = token_in(here.get("/book").text)
    back = {"token": token, "entry": str(one.entry), "who": "Ilse", "back": "/book"}
    answer = here.post("/records/undo", data=back)
    assert (answer.status_code, answer.headers["location"]) == (303, "/book")
    assert standing(folder) == ()
    assert here.get(f"/photographs/{one.entry}.jpg").status_code == 404
    assert one.file in in_folder(folder)
    assert "chassis number (photos/" in here.get("/records").text


def test_no_entry_leads_to_another_file(browser, folder: Path) -> None:  # type: ignore[no-untyped-def]
    send(browser(), camera())
    [one] = standing(folder)
    journal = drybuild.open_build(folder).journal
    for name in ("../car.toml", "../../etc/passwd", "car.toml", "2026-01-01-aaaaaaaaaaaa.jpg"):
        with pytest.raises(EntryRefused, match="photograph"):
            journal.correct(one.entry, {"photograph": name}, who="Ilse")
        with pytest.raises(EntryRefused, match="photograph"):
            journal.remark("x", who="Ilse", photograph=name, digest="b" * 64)


def test_a_file_that_was_exchanged_is_not_shown_as_the_one_that_was_kept(  # type: ignore[no-untyped-def]
    browser, folder: Path
) -> None:
    here = browser()
    send(here, camera())
    [one] = standing(folder)
    path = folder / "photos" / one.file
    path.write_bytes(made_of(camera(600, 200)))
    answer = here.get(f"/photographs/{one.entry}.jpg")
    assert answer.status_code == 409
    assert "another one than was kept" in answer.text
    content, _ = set_with_pictures(make_book(drybuild.open_build(folder)), "metric")
    assert "another one than was kept" in content["photographs"][-1]["fault"]
    path.unlink()
    assert here.get(f"/photographs/{one.entry}.jpg").status_code == 409


def made_of(data: bytes) -> bytes:
    return base64.b64decode(made_anew(data))


@pytest.mark.skipif(os.name == "nt", reason="links want rights there")
def test_links_out_of_the_folder_are_neither_written_through_nor_followed(  # type: ignore[no-untyped-def]
    browser, folder: Path, tmp_path: Path
) -> None:
    here = browser()
    send(here, camera())
    [one] = standing(folder)
    outside = tmp_path / "outside"
    outside.mkdir()
    path = folder / "photos" / one.file
    path.rename(outside / "kept.jpg")
    path.symlink_to(outside / "kept.jpg")
    assert here.get(f"/photographs/{one.entry}.jpg").status_code == 409
    with pytest.raises(NotKept, match="link out"):
        photograph_bytes(folder, one)
    path.unlink()
    (folder / "photos").rename(folder / "photos.was")
    (folder / "photos").symlink_to(outside)
    refused = send(here, camera(320, 320))
    assert refused.status_code == 409
    assert "is a link" in refused.text
    assert [p.name for p in outside.iterdir()] == ["kept.jpg"]
    assert len(standing(folder)) == 1


@pytest.mark.parametrize(
    "name",
    [
        "../../evil.jpg", "/tmp/evil.jpg", "..\\evil.jpg", "evil\x00.jpg", "car.toml",
        "evil brake, left (2).jpeg", "evil Bremse übergroß – vorn.JPG", "evil “2” 写真.jpg", "evil",
    ],
)  # fmt: skip
def test_the_name_that_it_came_with_is_nowhere(browser, folder: Path, name: str) -> None:  # type: ignore[no-untyped-def]
    around = sorted(p.name for p in folder.parent.iterdir())
    car = (folder / "car.toml").read_bytes()
    assert send(browser(), camera(), name).status_code == 303
    assert sorted(p.name for p in folder.parent.iterdir()) == around
    assert (folder / "car.toml").read_bytes() == car
    assert not [n for n in in_folder(folder) if "evil" in n]
    assert "evil" not in drybuild.open_build(folder).journal.export()


def chunk(kind: bytes, data: bytes) -> bytes:
    return struct.pack(">I4s", len(data), kind) + data + struct.pack(">I", zlib.crc32(kind + data))


def bomb(wide: int, tall: int) -> bytes:
    """A small PNG whose points are many."""
    head = struct.pack(">IIBBBBB", wide, tall, 8, 6, 0, 0, 0)
    rows = zlib.compress(b"\0" * 30_000_000, 9)
    return (
        b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", rows) + chunk(b"IEND", b"")
    )  # fmt: skip


def clear(side: int) -> bytes:
    """A whole PNG in which nothing is to be seen, and whose points take much room."""
    out = io.BytesIO()
    Image.new("RGBA", (side, side)).save(out, "PNG", compress_level=1)
    return out.getvalue()


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "no photograph was chosen"),
        (b"GIF89a" + b"\0" * 100, "no JPEG and no PNG"),
        (b"<svg xmlns='http://www.w3.org/2000/svg'><script>1</script></svg>", "no JPEG"),
        (b"%PDF-1.7", "no JPEG"),
        (b"\0\0\0\x18ftypheic" + b"\0" * 100, "HEIF picture"),
        (b"\0\0\0\x18ftypmif1" + b"\0" * 100, "set the phone&#39;s camera to keep JPEG"),
        (b"\0\0\0\x18ftypqt  " + b"\0" * 100, "no JPEG and no PNG"),
        (b"\xff\xd8\xff" + b"\0" * 1000, "no whole JPEG or PNG"),
        (camera()[:900], "no whole JPEG or PNG"),
        (b"\x89PNG\r\n\x1a\n" + b"IHDR" * 50, "no whole JPEG or PNG"),
        (bomb(50_000, 50_000), "more than 60 million points"),
        (bomb(2**31 - 1, 1), "more than 60 million points"),
        (clear(7_700), "memory"),
        (camera(8, 8), "nothing is to be seen"),
    ],
    ids=[
        "none",
        "gif",
        "svg",
        "pdf",
        "heif",
        "heif-too",
        "film",
        "noise",
        "cut",
        "png",
        "bomb",
        "wide",
        "memory",
        "dot",
    ],
)
def test_what_is_no_photograph_is_refused_and_nothing_kept(  # type: ignore[no-untyped-def]
    browser, folder: Path, before: list[str], data: bytes, said: str
) -> None:
    refused = send(browser(), data)
    assert refused.status_code == 409, refused.text[:300]
    assert said in refused.text
    assert "chassis number" in refused.text
    assert (in_folder(folder), standing(folder)) == (before, ())


def test_what_is_too_large_is_not_even_read(browser, folder: Path, before: list[str]) -> None:  # type: ignore[no-untyped-def]
    assert send(browser(), b"\xff\xd8\xff" + b"\0" * 12_200_000).status_code == 413
    assert send(browser(), b"\xff\xd8\xff" + b"\0" * page.MOST_BYTES).status_code == 409
    assert in_folder(folder) == before


def test_who_and_what_are_said(browser, folder: Path, before: list[str]) -> None:  # type: ignore[no-untyped-def]
    here = browser()
    for fields, said in (
        ({"who": " "}, "say who you are"),
        ({"shows": " "}, "what is to be seen"),
        ({"other": "x" * 130}, "at most 120"),
    ):
        refused = send(here, camera(), **fields)
        assert refused.status_code == 409
        assert said in refused.text
    assert (in_folder(folder), standing(folder)) == (before, ())


def test_only_forms_of_our_own_and_devices_that_work(  # type: ignore[no-untyped-def]
    browser, folder: Path, before: list[str]
) -> None:
    here = browser()
    token = token_in(here.get("/devices").text)
    files = {"file": ("p.jpg", camera(), "image/jpeg")}
    said = {"who": "Ilse", "shows": "plate"}
    assert here.post("/photographs", data=said, files=files).status_code == 403
    elsewhere = {"origin": "http://elsewhere.example"}
    data = {"token": token, **said}
    answer = here.post("/photographs", data=data, files=files, headers=elsewhere)
    assert answer.status_code == 403
    for role, status in (("look", 403), ("cards", 303)):
        code = paired(here, browser, role)
        assert send(code, camera()).status_code == status
        assert len(standing(folder)) == (status == 303)
    away = browser(away=True)
    assert away.get("/photographs/1.jpg").headers["location"] == "/pair"


def paired(here: TestClient, browser, role: str) -> TestClient:  # type: ignore[no-untyped-def]
    """A phone that was let in."""
    token = token_in(here.get("/devices").text)
    page_of_code = here.post("/devices/code", data={"token": token, "role": role})
    found = re.search(r"Code (\d{4}) (\d{4})", page_of_code.text)
    assert found is not None
    phone: TestClient = browser(away=True)
    answer = phone.post("/pair", data={"code": found[1] + found[2], "name": "phone"})
    assert answer.status_code == 303
    return phone


def test_a_picture_that_lies_behind_a_picture_stays_out() -> None:
    both = camera() + camera(500, 200)
    found = made_of(both)
    assert found.count(b"\xff\xd9") == 1
    assert len(small(found)) <= len(found)
