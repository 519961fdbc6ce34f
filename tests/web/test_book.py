"""The book and the sheets served: what they hold, what is lacking, planned parts apart."""

from __future__ import annotations

import re
import tomllib
from html import unescape
from pathlib import Path

import pytest
from tests.web.conftest import Browser

from drybuild.build import job_changes
from drybuild.examine import open_build
from drybuild.examine.book import make_book
from drybuild.journal import Journal
from drybuild.show.book_page import book_page
from drybuild.show.book_text import lacks

pytest.importorskip("typst")

PAPERS = (
    "/book/build-book.pdf", "/book/measuring.pdf", "/book/measuring.pdf?corner=rear.left",
    "/book/calibrator.pdf", "/book/scrutineer.pdf",
)  # fmt: skip


def text_of(page: str) -> str:
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", page)).split())


def test_the_page_says_what_the_book_would_hold_and_lack(browser: Browser, folder: Path) -> None:
    opened = open_build(folder)
    Journal(folder).did(job_changes(opened.build.jobs[0]), who="Ilse", job=opened.build.jobs[0].id)
    made = make_book(open_build(folder))
    said = text_of(browser().get("/book").text)
    changed = sum(p.changed for p in made.parts)
    assert changed
    assert f"{changed} part{'' if changed == 1 else 's'} changed" in said
    assert f"{len(made.limits)} limit" in said
    for lack in lacks(made):
        assert lack[1:] in said
    stated = sum(bool(f.value) for f in made.identity)
    assert f"{stated} of {len(made.identity)} marks and numbers that name it" in said
    assert "it is no signature" in said


def test_what_the_book_leaves_out_is_counted_as_printed(browser: Browser, folder: Path) -> None:
    made = make_book(open_build(folder))
    printed = book_page(made)
    left_out = printed[printed.index('id="not-assessed"') :]
    left_out = left_out[: left_out.index('id="documents"')]
    listed = len(re.findall("<li", left_out))
    assert listed > 10
    said = text_of(browser().get("/book").text)
    assert f"Not assessed {listed} entries" in said
    assert "0 parts changed, 0 without a document" in said  # nothing is on it yet that was not


def test_planned_parts_are_apart_from_what_is_built(browser: Browser, folder: Path) -> None:
    page = browser().get("/book").text
    jobs = [job.title or job.id for job in open_build(folder).build.jobs]
    apart = page[page.index('<details class="apart">') :]
    built, apart = page[: page.index('<details class="apart">')], apart[: apart.index("</details>")]
    for title in jobs:
        assert title in unescape(apart)
        assert f">{title}<" not in unescape(built)
    assert f"Apart: {len(jobs)} jobs planned and not built" in apart


@pytest.mark.parametrize("where", PAPERS)
def test_every_paper_can_be_taken(browser: Browser, where: str) -> None:
    answer = browser().get(where)
    assert answer.status_code == 200, answer.text[:200]
    assert answer.headers["content-type"] == "application/pdf"
    assert answer.content.startswith(b"%PDF-")
    assert re.fullmatch(
        r'attachment; filename="plover-[a-z-]+\.pdf"', answer.headers["content-disposition"]
    )


def test_the_page_links_every_paper_and_they_are_there(browser: Browser) -> None:
    client = browser()
    page = client.get("/book").text
    found = {w for w in re.findall(r'href="(/book/[^"]+)"', page)}
    assert {"/book/calibrator", "/book/scrutineer.pdf", "/book/measuring.toml"} <= found
    for where in found:
        assert client.get(unescape(where)).status_code == 200, where


def test_the_book_is_one_page_that_loads_nothing_and_runs_nothing(browser: Browser) -> None:
    answer = browser().get("/book/build-book.html?revision=B")
    assert answer.status_code == 200
    rules = answer.headers["content-security-policy"]
    assert "default-src 'none'" in rules
    assert "sandbox" in rules
    assert "script-src" not in rules
    assert "revision B" in text_of(answer.text)
    assert not re.search(r'(?:src|href)="(?!data:|#)', answer.text)
    assert "content-disposition" not in answer.headers
    taken = browser().get("/book/build-book.html?take=true")
    assert taken.headers["content-disposition"].endswith('build-book.html"')


def test_the_text_forms_read_as_forms(browser: Browser) -> None:
    for where in ("/book/measuring.toml", "/book/calibrator.toml"):
        answer = browser().get(where)
        assert answer.status_code == 200
        assert tomllib.loads(answer.text)
        assert answer.headers["content-disposition"].startswith("attachment")


def test_a_state_that_is_not_there_is_refused_in_words(browser: Browser) -> None:
    for state in ("after:never", "draft:never", "yesterday"):
        answer = browser().get(f"/book/calibrator.pdf?state={state}")
        assert answer.status_code == 404, state
        assert "no state" in answer.text


def test_without_a_plan_there_is_no_card_and_it_says_so(browser: Browser) -> None:
    client = browser()
    assert client.get("/book/cards.pdf").status_code == 404
    assert "There is no plan yet" in text_of(client.get("/book").text)


def test_without_the_typesetter_the_page_says_what_is_missing(
    browser: Browser, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(__import__("sys").modules, "typst", None)
    client = browser()
    page = client.get("/book").text
    assert 'pip install "drybuild[paper]"' in unescape(page)
    assert ".pdf" not in page.replace("/book/build-book.pdf", "")
    answer = client.get("/book/scrutineer.pdf")
    assert answer.status_code == 409
    assert "drybuild[paper]" in answer.json()["detail"]
    assert client.get("/book/build-book.html").status_code == 200


def test_a_pdf_that_is_not_of_the_kind_to_keep_is_named_so(browser: Browser, folder: Path) -> None:
    file = folder / "build.toml"
    text = file.read_text(encoding="utf-8")
    file.write_text(text.replace('name = "Fennick Plover', 'name = "猫 Fennick Plover', 1), "utf-8")
    answer = browser().get("/book/scrutineer.pdf")
    assert answer.status_code == 200
    assert 'filename="plover-scrutineer-plain.pdf"' in answer.headers["content-disposition"]
