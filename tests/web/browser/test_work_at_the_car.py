"""At the car: two phones, one thumb, large keys, and what was tapped by mistake taken back."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from drybuild.journal import Journal
from real_server import Served, served

PHONE = {"width": 390, "height": 844}
THUMB = 56.0
"""Height of what is tapped at the car, px."""

HEIGHTS = """() => [...document.querySelectorAll(".bar a, .bar button, .keypad button, .big")]
  .filter((e) => e.checkVisibility()).map((e) => e.getBoundingClientRect().height)"""


@pytest.fixture
def garage(planned: Path, tmp_path: Path) -> Iterator[Served]:
    with served(Path(shutil.copytree(planned, tmp_path / "car"))) as one:
        yield one


@pytest.fixture
def phones(garage: Served, chrome: Browser) -> Iterator[list[Page]]:
    with _at_the_car(chrome, garage, ("Ilse", "Marten")) as pages:
        yield pages


@pytest.fixture
def phone(looked_at: Served, chrome: Browser) -> Iterator[Page]:
    """One phone at a server that is only looked at."""
    with _at_the_car(chrome, looked_at, ("Ilse",)) as pages:
        yield pages[0]


@contextmanager
def _at_the_car(chrome: Browser, at: Served, names: tuple[str, ...]) -> Iterator[list[Page]]:
    contexts = [chrome.new_context(viewport=PHONE, has_touch=True, is_mobile=True) for _ in names]
    pages = [context.new_page() for context in contexts]
    for page, who in zip(pages, names, strict=True):
        page.goto(f"{at.address}/work/cards/1")
        page.get_by_text("Who are you?").tap()
        page.get_by_role("button", name=who, exact=True).tap()
        page.locator(".bar button.main").wait_for()
        page.wait_for_load_state()  # its style has come, too
    yield pages
    for context in contexts:
        context.set_offline(True)  # a page that brings itself up to date just then holds closing up
    for context in contexts:
        context.close()


def folder_of(tmp_path: Path) -> Path:
    return tmp_path / "car"


def test_the_second_phone_sees_the_first_one_s_done_and_undo(
    phones: list[Page], tmp_path: Path, ticked: Callable[..., None]
) -> None:
    one, two = phones
    first = one.locator(".bar .main").inner_text()
    ticked(one)
    two.locator("#task-1.over").wait_for(timeout=10_000)
    assert two.locator(".bar .main").inner_text() != first
    assert "Ilse" in two.locator(".bar .back").inner_text()
    two.locator(".bar .back button").tap()
    one.locator(f'.bar .main:has-text("{first.removeprefix("Done: ")}")').wait_for(timeout=10_000)
    journal = Journal(folder_of(tmp_path))
    assert journal.work() == ()
    assert {e.who for e in journal.entries() if e.kind == "undo"} == {"Marten"}
    assert journal.verify().fault is None


def test_hours_are_typed_on_large_keys(
    phones: list[Page], tmp_path: Path, ticked: Callable[..., None]
) -> None:
    one, other = phones
    one.locator("#task-1 summary").tap()
    field = one.locator("#hours-1")
    field.tap()
    for key in ("7", "back", "1", ".", "5"):
        one.locator(f'.keypad [data-key="{key}"]').tap()
    assert field.input_value() == "1.5"
    assert min(one.evaluate(HEIGHTS)) >= THUMB
    ticked(one, "#task-1 form:first-of-type p button")
    one.locator("#task-1.over").wait_for()
    (work,) = Journal(folder_of(tmp_path)).work()
    assert (work.hours, work.who) == (1.5, "Ilse")
    other.locator("#task-1.over").wait_for()  # it brings itself up to date


def test_a_figure_has_keys_for_its_unit_and_a_refused_one_has_them_at_once(
    phones: list[Page], garage: Served, tmp_path: Path
) -> None:
    one, _ = phones
    for number in range(1, 30):
        one.goto(f"{garage.address}/work/cards/{number}")
        if one.locator("#joint-1").count():
            break
    one.locator("#joint-1 summary").tap()
    field = one.locator("#figure-1")
    field.tap()
    for key in "85":
        one.locator(f'.keypad [data-key="{key}"]').tap()
    one.locator("#joint-1 form").get_by_role("button").last.tap()
    one.locator("#joint-1 #refused").wait_for()
    assert "a number without a unit" in one.locator("#joint-1 #refused").inner_text()
    assert field.input_value() == "85"
    one.locator('.keypad [data-unit="N·m"]').tap()
    one.locator("#joint-1 form").get_by_role("button").last.tap()
    one.locator("#joint-1 .mark").wait_for()
    (torque,) = Journal(folder_of(tmp_path)).torques()
    assert torque.figure == "85 N·m"


def test_what_the_thumb_reaches_stays_where_it_is(phone: Page) -> None:
    """The bar lies at the foot of the screen, wherever one reads."""
    for part in (0.0, 0.5, 1.0):
        phone.evaluate(
            "(s) => scrollTo({ top: s * document.body.scrollHeight, behavior: 'instant' })", part
        )
        box = phone.locator(".bar .main").bounding_box()
        assert box is not None
        assert PHONE["height"] / 2 < box["y"] < PHONE["height"] - THUMB
    assert min(phone.evaluate(HEIGHTS)) >= THUMB


def test_planning_is_seen_and_survives_loading_again(phones: list[Page], garage: Served) -> None:
    one, two = phones
    one.goto(f"{garage.address}/work")
    one.get_by_role("button", name="Plan anew").tap()
    one.locator("#planner progress, #planner .said").first.wait_for()
    one.reload()
    two.goto(f"{garage.address}/work")
    for page in (one, two):
        page.get_by_text("Planned and kept.").wait_for(timeout=60_000)


def test_what_else_lies_open_is_counted_when_it_is_opened(phone: Page, looked_at: Served) -> None:
    phone.goto(f"{looked_at.address}/work")
    assert phone.locator(".piece").count() == 0
    phone.get_by_text("While it is apart: what else lies open").tap()
    phone.locator("details .piece").wait_for()
    assert "next 5 years" in phone.locator("details .piece").inner_text()


def test_without_script_a_card_is_worked_through_all_the_same(
    garage: Served, chrome: Browser, tmp_path: Path, ticked: Callable[..., None]
) -> None:
    context = chrome.new_context(viewport=PHONE, java_script_enabled=False)
    page = context.new_page()
    for number in range(1, 9):  # the first card with more than one task
        page.goto(f"{garage.address}/work/cards/{number}")
        if page.locator("#task-2").count():
            break
    page.get_by_role("button", name="Marten", exact=True).click()
    ticked(page)
    expect(page.locator("#task-1.over")).to_have_count(1)
    page.locator("#task-2 summary").click()
    page.locator("#hours-2").fill("0.5")
    ticked(page)  # the button under the thumb keeps what was typed above
    expect(page.locator("#task-2.over")).to_have_count(1)
    assert [w.hours for w in Journal(folder_of(tmp_path)).work()] == [None, 0.5]
    page.locator(".bar .back button").press("Enter")
    expect(page.locator("#task-2.over")).to_have_count(0)
    assert [(w.who, w.hours) for w in Journal(folder_of(tmp_path)).work()] == [("Marten", None)]
    page.goto(f"{garage.address}/work")
    page.get_by_role("button", name="Plan anew").click()
    told = page.locator("#planner progress, #planner .said")
    expect(told).to_have_count(1)
    for _ in range(60):
        if page.get_by_text("Planned and kept.").count():
            break
        page.wait_for_timeout(1000)
        page.reload()
    expect(page.get_by_text("Planned and kept.")).to_have_count(1)
    context.close()


def test_without_script_a_broken_stud_is_said_and_taken_back(
    garage: Served, chrome: Browser, tmp_path: Path
) -> None:
    """From the card on which it broke: one form, one press; and one more press back."""
    context = chrome.new_context(viewport=PHONE, java_script_enabled=False)
    page = context.new_page()
    page.goto(f"{garage.address}/work/cards/1")
    page.get_by_role("link", name="Something happened").click()
    page.get_by_text("Something broke: there is more to do").click()
    page.locator("#extra-title").fill("stud drilled out")
    assert page.locator("#extra-task").input_value(), "the card's task is chosen beforehand"
    page.locator("#extra-hours").fill("1:30")
    page.locator("#extra-who").fill("Marten")
    page.locator("#extra-who").press("Enter")
    expect(page.get_by_role("status").filter(has_text="Written down, entry 1")).to_have_count(1)
    (work,) = Journal(folder_of(tmp_path)).work()
    assert (work.what, work.who, work.more["hours"]) == ("extra", "Marten", [1.5, 1.5, 1.5])
    expect(page.get_by_role("button", name="Plan again, near to this plan")).to_have_count(1)
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
    page.get_by_role("button", name="Take it back").click()
    expect(page.get_by_role("button", name="Take it back")).to_have_count(0)
    assert Journal(folder_of(tmp_path)).work() == ()
    context.close()
