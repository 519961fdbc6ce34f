"""From nothing to a build: a folder that is not there yet, a few questions, a band that shrinks."""

from __future__ import annotations

import re
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page

from drybuild.cli import main
from real_server import Served, served

ROOT = Path(__file__).parents[3]
SCREENS = ROOT / "results" / "screens"
GRAVE = ("serious", "critical")
ANSWERS = {
    "tyre": "205/55 R16 91V", "wheel": "6.5Jx16 ET46", "new-wheel": "8Jx17 ET40",
    "new-tyre": "225/45 R17 91W",
}  # fmt: skip
MOST = 10
GAP = "14"


@pytest.fixture
def nothing(tmp_path: Path, chrome: Browser) -> Iterator[Served]:
    with served(tmp_path / "my-car") as one:
        yield one


def _width(page: Page) -> float:
    """How wide the lowest band of doubt is drawn."""
    bands = page.locator('.bands svg path[d$="Z"]').evaluate_all(
        "all => all.map(p => p.getBBox()).map(b => b.width).filter(w => w > 2)"
    )
    return float(bands[-1])


def _answer(page: Page) -> None:
    """The question on the page, answered as somebody with a new set of wheels would."""
    field = page.locator("form.ask input#answer")
    if field.count():
        field.fill(ANSWERS[field.get_attribute("name") or ""])
        field.press("Enter")
        return
    question = page.locator("form.ask button.answer").first.get_attribute("name")
    words = {"first": "Wheels and tyres", "car": re.compile("front.*turbo", re.I), "driving": "Yes"}
    page.get_by_role("button", name=words[question or ""]).first.click()


def test_from_nothing_to_a_useful_answer_and_a_build(nothing, visit) -> None:  # type: ignore[no-untyped-def]
    page = visit("phone")
    began = time.monotonic()
    page.goto(nothing.address)
    assert page.get_by_role("heading", name="What are you changing first?").is_visible()
    SCREENS.mkdir(parents=True, exist_ok=True)
    asked = 0
    while not page.get_by_role("heading", name=re.compile("^Measure one")).count():
        asked += 1
        assert asked <= MOST
        assert not _grave(page), _grave(page)
        page.screenshot(path=SCREENS / f"start-{asked}-phone.png", full_page=True)
        before = page.url
        _answer(page)
        page.wait_for_url(lambda url, before=before: url != before)
    assert re.search(r"mm.* to ", page.locator(".known").inner_text())
    wide = _width(page)
    page.screenshot(path=SCREENS / "start-measure-phone.png", full_page=True)
    page.fill("#answer", GAP)
    page.fill("#who", "Ilse")
    page.get_by_role("button", name="Go on").click()
    page.get_by_role("heading", name="What is known").first.wait_for()
    assert _width(page) < 0.5 * wide
    assert "The doubt shrank to" in page.locator(".known").inner_text()
    assert "not covered yet" in page.locator("main").inner_text()
    page.screenshot(path=SCREENS / "start-known-phone.png", full_page=True)
    assert not (nothing.folder / "build.toml").exists()
    page.get_by_role("button", name="Make the folder and open the car").click()
    page.wait_for_url(nothing.address + "/")
    assert (nothing.folder / "build.toml").is_file()
    assert page.locator("h1").is_visible()
    page.screenshot(path=SCREENS / "start-made-phone.png", full_page=True)
    assert time.monotonic() - began < 60
    assert main(["check", str(nothing.folder)]) == 0


def _grave(page: Page) -> list[str]:
    found = Axe().run(page, options={"resultTypes": ["violations"]}).response["violations"]
    return [f"{rule['id']}: {rule['nodes'][0]['html'][:200]}" for rule in found
            if rule["impact"] in GRAVE]  # fmt: skip
