"""A newcomer with a car of their own who lowers it: from nothing to a plan that can be made.

The whole list is said at the end of the first visit; what stops the car is tried and kept by
presses alone, with no file written by hand; what is bought is read off and typed in.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from lowered_car import short_bar
from playwright.sync_api import Browser, Page

from drybuild.build import read_build
from drybuild.cli import main
from real_server import Served, served

GRAVE = ("serious", "critical")


@pytest.fixture
def nothing(tmp_path: Path, chrome: Browser) -> Iterator[Served]:
    with served(tmp_path / "quarrel-hatch") as one:
        yield one


def _dont_know(page: Page, first: str) -> None:
    """The first visit, answered by nothing but the first change."""
    page.get_by_role("button", name=re.compile(first)).click()
    for _ in range(10):
        if page.get_by_role("heading", name="What is known", exact=True).count():
            return
        page.get_by_text(re.compile("^(Don't know|Not now)$")).first.click()
        page.wait_for_load_state()
    pytest.fail("the questions do not end")


def test_lowered_by_presses_alone_until_nothing_short_stops_it(nothing, visit) -> None:  # type: ignore[no-untyped-def]
    page = visit("phone")
    page.goto(nothing.address)
    _dont_know(page, "Springs")
    assert not _grave(page), _grave(page)
    assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")
    page.get_by_label("Brakes").check()
    page.get_by_role("button", name=re.compile("Make the folder")).click()
    page.wait_for_url(nothing.address + "/")
    assert not _grave(page), _grave(page)
    assert not page.get_by_text("anti-roll bar").count()  # its links stop no lowered car
    page.goto("about:blank")  # an open page loads itself anew when a file changes
    short_bar(nothing.folder)
    kept = []
    for name in ("adjustable anti-roll bar links",):  # camber stays within its window
        page.goto(f"{nothing.address}/workings/ride.bar_link_length/front.left?state=finished")
        page.locator("details").evaluate_all("all => all.forEach(d => d.open = true)")
        press = page.get_by_role("button", name=re.compile(f"Try it beside the plan.*{name}", re.S))
        assert press.bounding_box()["height"] >= 44
        press.click()
        page.get_by_role("heading", name=re.compile(f"Draft: {name}")).wait_for()
        assert not _grave(page), _grave(page)
        kept.append(page.url.rpartition("/")[2])
        page.get_by_role("button", name=re.compile("Keep")).click()
        page.wait_for_url(re.compile("/work/jobs/"))
    jobs = [job.id for job in read_build(nothing.folder).jobs]
    assert jobs == ["lower-it", "brakes", *kept] == ["lower-it", "brakes", "bar-links"]
    page.goto(f"{nothing.address}/measure/at/part.my_bar_links_front.length_least")
    _type_in(page, "40 mm")
    page.goto(f"{nothing.address}/measure/at/part.my_bar_links_front.length_most")
    _type_in(page, "260 mm")
    page.goto(f"{nothing.address}/workings/ride.bar_link_length/front.left")
    assert page.locator(".mark-enough").first.is_visible()
    assert main(["check", str(nothing.folder)]) == 0


def _type_in(page: Page, reading: str) -> None:
    page.fill("#reading", reading)
    page.fill("#who", "Ann")
    page.get_by_role("button", name="Write it down").click()
    page.get_by_role("heading", name="Written down").wait_for()


def test_the_list_and_a_usual_cure_go_without_script(nothing, plain) -> None:  # type: ignore[no-untyped-def]
    plain.goto(nothing.address)
    _dont_know(plain, "Springs")
    plain.get_by_label("Brakes").check()
    plain.get_by_role("button", name=re.compile("Make the folder")).click()
    plain.get_by_role("heading", name="What it may do now").wait_for()
    short_bar(nothing.folder)
    cure = plain.get_by_role("button", name=re.compile("Try it beside the plan")).first
    for _ in range(20):  # the files were written beside the app
        plain.goto(f"{nothing.address}/workings/ride.bar_link_length/front.left?state=finished")
        if cure.count():
            break
        plain.wait_for_timeout(500)
    cure.click()
    plain.get_by_role("heading", name=re.compile("Draft: ")).wait_for()
    plain.get_by_role("button", name=re.compile("Keep")).click()
    plain.wait_for_url(re.compile("/work/jobs/"))
    jobs = [job.id for job in read_build(nothing.folder).jobs]
    assert jobs[:2] == ["lower-it", "brakes"]
    assert len(jobs) == 3


def _grave(page: Page) -> list[str]:
    found = Axe().run(page, options={"resultTypes": ["violations"]}).response["violations"]
    return [f"{rule['id']}: {rule['nodes'][0]['html'][:200]}" for rule in found
            if rule["impact"] in GRAVE]  # fmt: skip
