"""A real browser before a real server. Where there is no Chromium these tests are skipped."""

from __future__ import annotations

import shutil
import signal
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, Playwright, sync_playwright
from small_demo import copy_with

from drybuild.build import Change
from drybuild.cli import main
from drybuild.web.drafts import Draft, write
from real_server import NAMES, Served, chromium, served

ROOT = Path(__file__).parents[3]
EXAMPLE = ROOT / "examples" / "plover"

SIZES = {"wide": (1280, 900), "phone": (390, 844)}

LONGEST = 150
"""Seconds that a test may take on a machine that does much else."""

JOBS = ("brake-fluid", "catch-tank", "bar-links")
SESSIONS = ("sat-1", "sat-2", "sat-3")
WIDER = (Change("set", "wheel.rear.offset", "28 mm"),)

Visit = Callable[..., Page]


@pytest.fixture(autouse=True)
def _not_for_ever() -> Iterator[None]:
    """A page whose script never answers is waited for without end: the test is ended instead."""
    if not hasattr(signal, "SIGALRM"):
        yield
        return

    def over(*_: object) -> None:
        raise TimeoutError(f"the test took more than {LONGEST} s")

    before = signal.signal(signal.SIGALRM, over)
    signal.alarm(LONGEST)
    yield
    signal.alarm(0)
    signal.signal(signal.SIGALRM, before)


def _wanted() -> str:
    """Where the browser is; without one the test is skipped."""
    path = chromium()
    if path is None:
        pytest.skip("no browser here: looked for " + ", ".join(NAMES))
    return path


# A module and no longer: while it runs, no other test of this process can have a loop of its own.
@pytest.fixture(scope="module")
def playing() -> Iterator[Playwright]:
    _wanted()
    with sync_playwright() as playwright:
        yield playwright


@pytest.fixture(scope="module")
def chrome(playing: Playwright) -> Iterator[Browser]:
    path = _wanted()
    # no sandbox: the tests run as root in CI, and open pages of this repository alone
    browser = playing.chromium.launch(
        executable_path=path, args=["--no-sandbox", "--disable-dev-shm-usage"]
    )
    yield browser
    browser.close()


@pytest.fixture(scope="session")
def planned(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with a plan and a draft, so that every page has something to show."""
    _wanted()
    folder = copy_with(tmp_path_factory.mktemp("planned"), JOBS, SESSIONS)
    made = main(["plan", str(folder), "--seconds", "10"])
    assert made == 0, "the small demo was not planned"
    write(folder, Draft("wider", "wider at the rear", WIDER))
    return folder


@pytest.fixture(scope="session")
def looked_at(planned: Path) -> Iterator[Served]:
    """A server for all tests that change nothing."""
    with served(planned) as one:
        yield one


@pytest.fixture
def own(tmp_path: Path, chrome: Browser) -> Iterator[Served]:
    """A server of a test's own, of a folder that it may change."""
    with served(Path(shutil.copytree(EXAMPLE, tmp_path / "plover"))) as one:
        yield one


@pytest.fixture
def visit(chrome: Browser) -> Iterator[Visit]:
    """A new browser window, like one of another person. Errors of its scripts fail the test."""
    contexts: list[BrowserContext] = []
    wrong: list[str] = []

    def open_one(size: str = "wide", *, dark: bool = False) -> Page:
        width, height = SIZES[size]
        context = chrome.new_context(
            viewport={"width": width, "height": height}, has_touch=size == "phone",
            color_scheme="dark" if dark else "light", reduced_motion="reduce",
        )  # fmt: skip
        contexts.append(context)
        page = context.new_page()
        page.set_default_timeout(30_000)
        page.on("pageerror", lambda error: wrong.append(f"{page.url}: {error}"))
        page.on("console", lambda said: wrong.append(said.text) if _refused(said.text) else None)
        return page

    yield open_one
    for context in contexts:
        context.close()
    assert not wrong, wrong


@pytest.fixture
def plain(chrome: Browser) -> Iterator[Page]:
    """A browser that runs no script."""
    context = chrome.new_context(java_script_enabled=False)
    page = context.new_page()
    page.set_default_timeout(30_000)
    yield page
    context.close()


def tick(page: Page, button: str = ".bar button.main") -> None:
    """Write down the next task of a card; where its day lies ahead by the clock of the machine,
    which is asked for once, it is so all the same."""
    with page.expect_navigation():
        page.locator(button).first.click()
    page.locator("#ahead button, .bar .back button").first.wait_for()
    ahead = page.locator("#ahead button")
    if ahead.count():
        with page.expect_navigation():
            ahead.click()


@pytest.fixture
def ticked() -> Callable[..., None]:
    return tick


def _refused(said: str) -> bool:
    return "Content Security Policy" in said
