"""Paper as it comes out of a printer: every page rendered, kept as a picture, and measured.

The pictures lie in results/paper/, to be looked at. What the file says of itself is held to
ISO 19005-2 (PDF/A-2) clause by clause as far as these tools reach; veraPDF is asked where it is.
"""

from __future__ import annotations

import re
import shutil
import subprocess
import zlib
from datetime import datetime
from pathlib import Path

import built_car
import matplotlib.image
import numpy as np
import pytest
from small_demo import copy_with

import drybuild
from drybuild.cli import main
from drybuild.examine.book import make_book
from drybuild.show.book_paper import write_book

ROOT = Path(__file__).parents[2]
KEPT = ROOT / "results" / "paper"
TOOLS = ("pdftoppm", "pdftotext", "pdffonts", "pdfinfo")
DOTS = 80
MM = DOTS / 25.4
EDGE = 4.0
"""mm that a printer cannot reach: nothing may be drawn there."""

MADE = datetime(2026, 12, 14, 9, 30)
AT = MADE.isoformat()
NAME = "Fennick Plover 1.8T"
PAPERS = ("book", "measuring", "calibrator", "scrutineer", "cards")
A4, A5 = (210, 297), (148, 210)

JOBS, SESSIONS = ("brake-fluid", "catch-tank", "bar-links"), ("sat-1", "sat-2", "sat-3")


@pytest.fixture(scope="module")
def papers(tmp_path_factory) -> dict[str, Path]:  # type: ignore[no-untyped-def]
    """Each paper as the commands write it, with its pages as pictures beside it."""
    missing = [tool for tool in TOOLS if shutil.which(tool) is None]
    if missing:
        pytest.skip(f"paper was not looked at: no {', '.join(missing)} here (poppler-utils)")
    out = tmp_path_factory.mktemp("paper")
    car = built_car.make(out / "car")
    found = {name: out / f"{name}.pdf" for name in PAPERS}
    write_book(found["book"], make_book(drybuild.open_build(car), made_on=MADE, draws=1024))
    for name in ("measuring", "calibrator", "scrutineer"):
        assert main(["sheets", str(car), f"--{name}", str(found[name]), "--at", AT]) == 0
    planned = str(copy_with(out / "planned", JOBS, SESSIONS))
    assert main(["plan", planned, "--seconds", "10"]) == 0
    assert main(["cards", planned, "--paper", str(found["cards"])]) == 0
    for name, path in found.items():
        _run("pdftoppm", "-png", "-r", str(DOTS), str(path), str(path.parent / name))
    _keep(out)
    return found


def _keep(made: Path) -> None:
    """The pictures once more where they are looked at; several runs may do so at the same time."""
    KEPT.mkdir(parents=True, exist_ok=True)
    for old in KEPT.glob("*.png"):
        old.unlink(missing_ok=True)
    for picture in made.glob("*.png"):
        shutil.copyfile(picture, KEPT / picture.name)


def _run(*words: str) -> str:
    done = subprocess.run(words, capture_output=True, check=True)
    return done.stdout.decode("utf-8", "replace")


def _pictures(paper: Path) -> list[np.ndarray]:
    """Pages of a paper as arrays of ink, 1 where it is black."""
    return [
        1.0 - matplotlib.image.imread(path)[..., :3].mean(axis=2)
        for path in sorted(paper.parent.glob(f"{paper.stem}-*.png"))
    ]


def _pages(path: Path) -> list[str]:
    return _run("pdftotext", "-layout", str(path), "-").split("\f")[:-1]


def _plainly(path: Path) -> bytes:
    """The whole file with its packed streams opened."""
    data = path.read_bytes()
    found = [data]
    for stream in re.finditer(rb"stream\r?\n(.*?)\r?\nendstream", data, re.DOTALL):
        try:
            found.append(zlib.decompress(stream[1]))
        except zlib.error:
            continue
    return b"\n".join(found)


@pytest.mark.parametrize("name", PAPERS)
def test_every_page_has_something_on_it_and_nothing_where_no_printer_reaches(papers, name) -> None:  # type: ignore[no-untyped-def]
    pages = _pictures(papers[name])
    assert len(pages) == len(_pages(papers[name]))
    edge = round(EDGE * MM)
    for number, ink in enumerate(pages, 1):
        assert ink.mean() > 0.004, (name, number, "nearly empty")
        inside = ink[edge:-edge, edge:-edge]
        assert ink.sum() - inside.sum() < 1.0, (name, number, "runs out of the page")


@pytest.mark.parametrize("name", PAPERS)
def test_every_page_is_of_a_size_that_is_printed(papers, name) -> None:  # type: ignore[no-untyped-def]
    allowed = {A5, A4} if name == "cards" else {A4}
    for ink in _pictures(papers[name]):
        size = tuple(sorted(round(side / MM) for side in ink.shape))
        assert min(abs(size[0] - a) + abs(size[1] - b) for a, b in allowed) <= 2, size


@pytest.mark.parametrize("name", PAPERS)
def test_every_page_names_build_date_fingerprint_and_its_number(papers, name) -> None:  # type: ignore[no-untyped-def]
    pages = _pages(papers[name])
    first = re.search(r"\b([0-9a-f]{4} [0-9a-f]{4} [0-9a-f]{4} [0-9a-f]{4})\b", pages[0])
    assert first, pages[0]
    for number, text in enumerate(pages, 1):
        words = " ".join(text.split())
        assert NAME in words, (number, "build")
        assert first[1] in words, (number, "fingerprint")
        assert re.search(r"\b20\d\d\b", words), (number, "date")
        assert re.search(rf"\bpage {number}\b", words), (number, "page n")
        assert re.search(rf"\bof {len(pages)}\b", words), (number, "of N")


def test_every_page_of_the_book_names_the_state(papers) -> None:  # type: ignore[no-untyped-def]
    for number, text in enumerate(_pages(papers["book"]), 1):
        assert "as built, by the record up to 2026-12-13" in text, number


@pytest.mark.parametrize("name", PAPERS)
def test_letters_come_along_and_nothing_is_locked_or_runs(papers, name) -> None:  # type: ignore[no-untyped-def]
    rows = _run("pdffonts", str(papers[name])).splitlines()[2:]
    assert rows
    for row in rows:
        # the last six columns: emb sub uni object-number generation
        embedded, _, unicode = row.split()[-5:-2]
        assert (embedded, unicode) == ("yes", "yes"), row
    info = _run("pdfinfo", str(papers[name]))
    for wanted in ("Encrypted: no", "JavaScript: no", "Tagged: yes", "Form: none"):
        key, value = wanted.split(": ")
        assert re.search(rf"^{key}:\s+{value}", info, re.MULTILINE), (wanted, info)
    assert re.search(r"^Title:\s+\S", info, re.MULTILINE), info


@pytest.mark.parametrize("name", PAPERS)
def test_it_names_itself_of_the_kind_to_keep_and_holds_to_it(papers, name) -> None:  # type: ignore[no-untyped-def]
    data = _plainly(papers[name])
    # ISO 19005-2, 6.6.4: part and level of conformance, by the schema of that name
    assert b"http://www.aiim.org/pdfa/ns/id/" in data
    assert b"<pdfaid:part>2</pdfaid:part>" in data
    assert b"<pdfaid:conformance>A</pdfaid:conformance>" in data
    # 6.1.3: an identifier in the trailer, nothing encrypted
    assert re.search(rb"/ID\s*\[", data)
    assert b"/Encrypt" not in data
    # 6.2.3: an output intent with its profile inside
    assert b"/OutputIntents" in data
    assert re.search(rb"/S\s*/GTS_PDFA1", data)
    assert b"/DestOutputProfile" in data
    # 6.1.7.2, 6.5.1, 6.6.1: nothing outside, no program, no sound or film, no file within
    for forbidden in (b"/JavaScript", b"/Launch", b"/Sound", b"/Movie", b"/RichMedia", b"/XFA",
                      b"/LZWDecode", b"/EmbeddedFiles", b"/AA "):  # fmt: skip
        assert forbidden not in data, forbidden
    # 6.7: structure, marked content, language
    assert b"/StructTreeRoot" in data
    assert re.search(rb"/Marked\s+true", data)
    assert re.search(rb"/Lang\s*\(en", data)


def test_verapdf_has_nothing_to_say(papers) -> None:  # type: ignore[no-untyped-def]
    if shutil.which("verapdf") is None:
        pytest.skip("no veraPDF here: paper was held to the clauses above alone")
    for path in papers.values():
        said = _run("verapdf", "--format", "text", "--flavour", "2a", str(path))
        assert said.startswith("PASS"), said
