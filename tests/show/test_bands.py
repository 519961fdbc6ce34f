"""A finding has one band in words: on the terminal, on the page, in the book, in a picture."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import cache
from html import unescape
from pathlib import Path

import pytest

from drybuild.build.new import make_build
from drybuild.examine import Examination
from drybuild.examine.as_json import check_json
from drybuild.examine.book import Book, make_book
from drybuild.examine.book.limits import limits
from drybuild.examine.opened import open_build
from drybuild.findings import Finding, Verdict
from drybuild.findings.finding import Interval
from drybuild.show.bands import limit_figures, room_figures
from drybuild.show.book import contents
from drybuild.show.book_words import found_text, worst_text
from drybuild.show.page import page
from drybuild.show.room_bands import band_of, band_words, scale_of
from drybuild.show.sentences import room_text, wanted_text
from drybuild.show.text import check_text
from drybuild.values import System, band_text, number_of, show_number, unsigned

ROOT = Path(__file__).parents[2]
DEMOS = ("plover", "plover_saturdays")


@cache
def book_of(name: str) -> Book:
    """The book as it will be when all that is planned is done: the demos have done nothing yet."""
    opened = open_build(ROOT / "examples" / name)
    book, done = make_book(opened), opened.examine("finished")
    return replace(book, examination=done, limits=limits(done, book.readings, "metric"))


def banded(examination: Examination) -> list[Finding]:
    """Findings with a band; without doubt there is a figure alone, to its own."""
    return [f for f in examination.findings if f.margin is not None and f.slack is not None
            and f.kind != "match" and f.margin.high - f.margin.low > 1e-9]  # fmt: skip


def own_car(tmp_path: Path) -> Examination:
    folder = make_build(
        tmp_path / "car", nearest="front-turbo-hatch", driving="yes",
        first_change="wheels and tyres", then=("lower it",),
    )  # fmt: skip
    return open_build(folder).examine()


def agree(finding: Finding, system: System) -> None:
    """One unit, and the same words on each face."""
    room, limit = room_figures(finding, system), limit_figures(finding, system)
    assert room[3] == limit[3], finding.check
    worst = unsigned(room[1])
    said = room_text(finding, system)
    if worst not in ("far below", "far above"):
        assert worst in said, (finding.check, said)
        assert worst in worst_text(finding, system), finding.check
    there = wanted_text(finding, system)
    if there:
        middle = number_of(limit[0])
        assert f"about {unsigned(limit[0])}" in there, finding.check
        assert there.endswith("short") is (middle < 0), finding.check
        assert found_text(finding, system) == band_text(limit), finding.check
    band = band_of("now", finding)
    drawn = band_words(band, scale_of(finding), system)
    assert drawn in (band_text(room), band_text(limit)), finding.check


@pytest.mark.parametrize("system", ["metric", "us"])
@pytest.mark.parametrize("name", DEMOS)
def test_every_finding_of_the_demos_is_said_alike_in_the_book_and_elsewhere(
    name: str, system: System
) -> None:
    book = book_of(name)
    for finding in banded(book.examination):
        agree(finding, system)


def test_every_finding_of_a_car_of_guesses_is_said_alike_too(tmp_path: Path) -> None:
    """Wide bands begin or end near nothing here: there a sign takes a finer step for both."""
    examination = own_car(tmp_path)
    finer = 0
    for finding in banded(examination):
        agree(finding, "metric")
        room, limit = finding.but(slack=None), finding.but(margin=None)
        finer += room_figures(finding, "metric") != room_figures(room, "metric")
        finer += limit_figures(finding, "metric") != limit_figures(limit, "metric")
    assert finer  # else this tells nothing of how they agree


@pytest.mark.parametrize("name", DEMOS)
def test_terminal_page_json_and_book_have_the_same_words_of_each_finding(name: str) -> None:
    book = book_of(name)
    examination = book.examination
    terminal = plain(check_text(examination, examination, (), system="metric", everything=True))
    sheet = plain(unescape(page(examination, examination, ())))
    rows = {
        (row["check"], row["where"]): row
        for group in contents(book)["limits"] for row in group["rows"]
    }  # fmt: skip
    found = {text for row in rows.values() for text in (row["found"], row["worst"])}
    data = check_json(examination, (), version="0", rule_sets=[])
    told = {(f["check"], f["subject"]): f for f in data["findings"]}
    printed = 0
    changed = [finding for finding in banded(examination) if finding.armed]
    for finding in changed:
        said = room_text(finding, "metric")
        assert found_text(finding, "metric") in found, finding.check
        assert worst_text(finding, "metric") in found, finding.check
        printed += said in terminal
        assert (said in terminal) == (said in sheet), (finding.check, said)
        if finding.verdict in (Verdict.SHORT, Verdict.UNSURE) and finding.gap_wanted:
            assert finding.check in terminal
        one = told[finding.check, finding.subject]["margin"]
        assert one["median"] == pytest.approx(finding.margin.median, rel=1e-8)  # type: ignore[union-attr]
    # What stands at several places alike is printed of the first of them.
    assert printed > 0.8 * len(changed)


def plain(text: str) -> str:
    return re.sub(r"\s+", " ", text)


def test_a_band_that_ends_near_nothing_gives_its_step_to_the_other_one() -> None:
    examination = book_of("plover").examination
    some = next(f for f in banded(examination) if f.kind == "length")
    margin, slack = Interval(9.7e-3, -0.1e-3, 19.5e-3), Interval(13.7e-3, 3.9e-3, 23.5e-3)
    finding = some.but(margin=margin, slack=slack, gap_wanted=4e-3)
    assert room_text(finding, "metric") == "about 9.7 mm to spare: from 0.1 short to 19.5 to spare"
    assert found_text(finding, "metric") == "about 13.7 mm, 3.9 to 23.5"
    assert worst_text(finding, "metric") == "short by 0.1 mm"
    middle, there = room_figures(finding, "metric")[0], limit_figures(finding, "metric")[0]
    assert number_of(there) - number_of(middle) == pytest.approx(4.0)
    assert show_number("length", 4e-3) == "4 mm"
