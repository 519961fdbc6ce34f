"""One afternoon at the demo, in a real browser: look, try, measure, compare, set, work, book."""

from __future__ import annotations

import re
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from drybuild.build import read_build
from drybuild.journal import Journal
from drybuild.web.drafts import drafts
from real_server import Served, served

EXAMPLE = Path(__file__).parents[3] / "examples" / "plover"


@pytest.fixture(scope="module")
def demo(chrome: Browser, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """The demo, of which every chapter here changes something."""
    folder = Path(shutil.copytree(EXAMPLE, tmp_path_factory.mktemp("demo") / "plover"))
    with served(folder) as one:
        yield one


@pytest.fixture(scope="module")
def shop(planned: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """A planned build, to be worked through."""
    folder = Path(shutil.copytree(planned, tmp_path_factory.mktemp("shop") / "car"))
    with served(folder) as one:
        yield one


def _go(page: Page, words: str) -> None:
    page.get_by_role("navigation", name="Pages").get_by_role("link", name=words, exact=True).click()


def _moved(page: Page, slider: str, to: float) -> None:
    """Drag a slider to a figure, as a hand does: with many small moves."""
    page.locator(f"#{slider}").evaluate(
        """(range, to) => {
          const steps = 6, from = Number(range.value);
          for (let k = 1; k <= steps; k++) {
            range.value = from + (to - from) * k / steps;
            range.dispatchEvent(new Event("input", { bubbles: true }));
          }
        }""",
        to,
    )


def test_home_says_what_it_may_do_why_not_more_and_what_next(demo, visit) -> None:  # type: ignore[no-untyped-def]
    page = visit()
    page.goto(demo.address)
    said = page.locator("main").inner_text()
    for use in ("move", "turn over", "run", "drive", "full load"):
        assert use in said
    assert page.locator("main svg").count() >= 1
    assert "safe" not in said.lower()
    assert "passed" not in said.lower()


def test_a_corner_answers_while_its_slider_moves_and_is_kept_as_a_draft(demo, visit) -> None:  # type: ignore[no-untyped-def]
    page = visit()
    page.goto(demo.address)
    _go(page, "Corners")
    page.get_by_role("link", name="rear left", exact=True).click()
    page.get_by_role("heading", name="rear left", exact=False).first.wait_for()
    page.wait_for_load_state()  # the script that listens has come
    before = page.locator("#tried").inner_html()
    offset = float(page.locator("#offset").input_value())
    _moved(page, "offset", offset - 12)
    page.wait_for_function("was => document.getElementById('tried').innerHTML !== was", arg=before)
    page.locator("#moves", has_text=re.compile(r"\d")).wait_for()
    assert f"{offset - 12:g} mm" in page.locator("output[for=offset]").inner_text()
    page.fill("#title", "further out")
    page.get_by_role("button", name="Keep as a draft").click()
    page.get_by_role("heading", name="further out").wait_for()
    assert "further out" in [draft.title for draft in drafts(demo.folder)]
    assert read_build(demo.folder).jobs == read_build(demo.folder).jobs


def test_a_reading_by_the_large_keys_makes_the_doubt_smaller(demo, visit) -> None:  # type: ignore[no-untyped-def]
    page = visit("phone")
    page.goto(demo.address + "/measure")
    page.fill("#words", "site temperature")
    page.get_by_role("button", name="Look it up").tap()
    page.locator("ul.found a", has_text="site temperature").first.tap()
    page.locator(".keypad").wait_for()
    figure = _middle(page)
    for key in figure:
        page.locator(f'.keypad button[data-key="{key}"]').tap()
    assert page.input_value("#reading") == figure
    page.fill("#who", "Ilse")
    page.get_by_role("button", name="Write it down").tap()
    page.get_by_role("heading", name=re.compile("^Written down")).wait_for()
    assert _shrank(page)
    assert Journal(demo.folder).entries()


def _middle(page: Page) -> str:
    """The figure that stands there now, as somebody would read it off the car."""
    stands = page.locator("main").inner_text()
    found = re.search(r"It stands at\s+(?:about )?(\d+(?:\.\d+)?)", stands)
    assert found, stands
    return found[1]


def _shrank(page: Page) -> bool:
    widths = page.locator('.band svg path[d$="Z"]').evaluate_all(
        "all => all.map(p => p.getBBox().width)"
    )
    return len(widths) >= 2 and min(widths) < 0.9 * max(widths)


def test_two_parts_are_compared_in_sentences(demo, visit) -> None:  # type: ignore[no-untyped-def]
    page = visit()
    page.goto(demo.address)
    _go(page, "Parts")
    row = page.locator(".places > li", has=page.locator("details")).filter(has_text="16x").first
    row.locator("summary").click()
    row.get_by_role("link", name=re.compile("what it would move")).first.click()
    page.get_by_role("heading", name="What else moves in the car").wait_for()
    assert re.search(r"\d", page.locator("main").inner_text())


def test_a_value_is_set_in_the_file_and_comments_stay(demo, visit) -> None:  # type: ignore[no-untyped-def]
    file = demo.folder / "build.toml"
    comments = [line for line in file.read_text("utf-8").splitlines() if line.startswith("#")]
    page = visit()
    page.goto(demo.address + "/set?address=site.temperature")
    page.fill("#value", "27 ± 3 °C")
    page.get_by_role("button", name="Write it").click()
    page.get_by_role("status").filter(has_text="Written into build.toml").wait_for()
    after = file.read_text("utf-8")
    assert "27 ± 3 °C" in after
    assert [line for line in after.splitlines() if line.startswith("#")] == comments
    assert page.locator("main").inner_text().count("27") >= 1


def test_a_finding_opens_its_workings_and_its_source(demo, visit) -> None:  # type: ignore[no-untyped-def]
    page = visit()
    page.goto(demo.address + "/findings")
    page.get_by_role("link", name=re.compile("^workings of")).first.click()
    page.locator("ol.steps").wait_for()
    assert page.locator(".formula").count() >= 1


def test_a_card_is_worked_with_one_thumb_and_taken_back(shop, visit, ticked) -> None:  # type: ignore[no-untyped-def]
    page = visit("phone")
    page.goto(shop.address + "/work/cards")
    page.get_by_role("link", name=re.compile("^Next: card")).tap()
    page.get_by_role("button", name="Ilse", exact=True).tap()
    page.locator(".bar button.main").wait_for()
    before = len(Journal(shop.folder).work())
    first = page.locator(".bar button.main").inner_text()
    ticked(page)
    page.locator(".bar .back button").wait_for()
    assert len(Journal(shop.folder).work()) > before
    page.locator(".bar .back button").tap()
    page.locator(".bar button.main", has_text=first).wait_for()


def test_the_book_is_taken_as_paper_and_as_one_page(demo, visit, tmp_path) -> None:  # type: ignore[no-untyped-def]
    page = visit()
    page.goto(demo.address)
    page.get_by_text("More", exact=True).click()
    page.get_by_role("link", name=re.compile("Book")).first.click()
    page.get_by_role("heading", name="The build book").wait_for()
    with page.expect_download() as taken:
        page.get_by_role("link", name=re.compile("^PDF")).or_(
            page.get_by_role("button", name=re.compile("^PDF"))
        ).first.click()
    taken.value.save_as(tmp_path / "book.pdf")
    assert (tmp_path / "book.pdf").read_bytes().startswith(b"%PDF-")
    with page.expect_download() as taken:
        page.get_by_role("button", name="As one HTML file").click()
    taken.value.save_as(tmp_path / "book.html")
    page.goto((tmp_path / "book.html").as_uri())
    assert "fingerprint" in page.locator("body").inner_text().lower()
