"""What is written down is spoken, the focus stays, and a page that shows the same stays."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from drybuild.journal import Journal
from real_server import Served, served


@pytest.fixture
def garage(planned: Path, tmp_path: Path) -> Iterator[Served]:
    with served(Path(shutil.copytree(planned, tmp_path / "car"))) as one:
        yield one


@pytest.fixture
def page(garage: Served, chrome: Browser) -> Iterator[Page]:
    context = chrome.new_context()
    made = context.new_page()
    made.goto(f"{garage.address}/work/cards/1")
    made.locator("#who-now button").first.click()
    made.locator(".bar button.main").wait_for()
    yield made
    context.close()


def test_what_is_done_is_said_with_what_is_next_and_the_focus_stays(
    page: Page, ticked: Callable[..., None]
) -> None:
    done = page.locator(".bar .main").inner_text().removeprefix("Done: ")
    ticked(page)
    said = page.locator("#recorded:not(:empty)")
    said.wait_for(state="attached")  # on the page that comes after
    page.wait_for_function("() => document.activeElement?.matches('.bar .main')")
    assert said.get_attribute("role") == "status"
    words = said.inner_text()
    assert words.startswith(f"Written down: {done}. Next")
    following = page.locator(".bar .main").inner_text()
    assert following.partition(": ")[2] in words
    assert "written=" not in page.url
    page.reload()
    assert page.locator("#recorded").inner_text() == ""


def test_a_page_that_shows_the_same_is_not_loaded_again(page: Page, tmp_path: Path) -> None:
    page.evaluate("window.stayed = true")
    stamp = "document.querySelector('meta[name=drybuild-stamp]').content"
    before = page.evaluate(stamp)
    Journal(tmp_path / "car").remark("rust on the sill", who="Marten")
    page.wait_for_function(f"(before) => {stamp} !== before", arg=before)
    assert page.evaluate("window.stayed")
    page.goto(page.url.partition("/work/")[0] + "/records")
    page.evaluate("window.stayed = true")
    Journal(tmp_path / "car").remark("and on the other", who="Marten")
    page.wait_for_function("() => window.stayed === undefined")
    page.locator("text=and on the other").first.wait_for()


def test_what_is_done_is_told_in_one_notice(page: Page, ticked: Callable[..., None]) -> None:
    """Its day lies ahead: what is said of that stands in the notice that is spoken."""
    ticked(page)
    page.locator("#early #recorded").filter(has_text="Written down: ").wait_for()
    page.wait_for_timeout(600)  # it is spoken by then
    assert page.get_by_text("Written down:").count() == 1
    assert page.locator("[role=status]:not(:empty), [role=alert]").count() == 1
