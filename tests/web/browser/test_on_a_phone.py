"""At a phone's width: no long walk where a page can be folded, no picture that scrolls sideways."""

from __future__ import annotations

from itertools import pairwise


def test_the_engines_page_is_three_screens_and_unfolds(looked_at, visit) -> None:  # type: ignore[no-untyped-def]
    page = visit("phone")
    page.goto(looked_at.address + "/engine")
    tall = page.evaluate("document.documentElement.scrollHeight / window.innerHeight")
    assert tall < 3.2
    chart = page.locator(".charts details").first
    assert not chart.locator("img").is_visible()
    chart.locator("summary").click()
    assert chart.locator("img").is_visible()
    smallest = page.evaluate(
        "Math.min(...[...document.querySelectorAll('.network text')]"
        ".map((one) => one.getBoundingClientRect().height))"
    )
    assert smallest > 12


def test_where_there_is_room_nothing_is_folded(looked_at, visit) -> None:  # type: ignore[no-untyped-def]
    page = visit()
    page.goto(looked_at.address + "/engine")
    page.wait_for_function("() => !document.querySelector('details.wide-open:not([open])')")
    assert page.locator(".charts img").count() >= 1


def test_the_opened_car_does_not_scroll_sideways(looked_at, visit) -> None:  # type: ignore[no-untyped-def]
    page = visit("phone")
    page.goto(looked_at.address + "/work")
    days = page.eval_on_selector_all(
        "a[href^='/work/session/']", "(all) => [...new Set(all.map((one) => one.href))]"
    )
    assert days
    for day in days:
        page.goto(day)
        wider = page.evaluate(
            "[...document.querySelectorAll('main, main *')]"
            ".filter((e) => getComputedStyle(e).overflowX !== 'visible'"
            " && !e.closest('.unseen') && e.scrollWidth > e.clientWidth + 1)"
            ".map((e) => e.className || e.tagName)"
        )
        assert wider == []
        assert page.evaluate("document.documentElement.scrollWidth") <= 390


def test_the_letters_of_a_corner_are_read_and_their_list_stands_under_them(  # type: ignore[no-untyped-def]
    looked_at, visit
) -> None:
    page = visit("phone")
    page.goto(looked_at.address + "/corner/rear/left")
    drawn = page.locator("#tried svg.section")
    box = drawn.bounding_box()
    scale = box["width"] / float(drawn.get_attribute("viewBox").split()[2])
    size = "(one) => parseFloat(getComputedStyle(one).fontSize)"
    labels = drawn.locator("text.label").all()
    assert len(labels) > 4
    for one in labels:
        assert scale * one.evaluate(size) >= 13
        at = one.bounding_box()
        assert at["x"] >= box["x"] - 1
        assert at["x"] + at["width"] <= box["x"] + box["width"] + 1
    tops = sorted(
        (one.bounding_box() for one in labels), key=lambda b: (b["x"] < 195, b["y"])
    )  # fmt: skip
    for above, below in pairwise(tops):
        assert below["y"] < above["y"] or below["y"] >= above["y"] + 0.7 * above["height"]
    figure = page.locator("#tried figure").first.bounding_box()
    listed = page.locator("#tried .gaps").bounding_box()
    sliders = page.locator("#sliders").bounding_box()
    assert 0 < listed["y"] - figure["y"] - figure["height"] < 60
    assert sliders["y"] > listed["y"] + listed["height"] - 1


def test_the_picture_stays_in_sight_while_a_slider_moves(looked_at, visit) -> None:  # type: ignore[no-untyped-def]
    page = visit("phone")
    page.goto(looked_at.address + "/corner/rear/left")
    slider = page.locator("#camber")
    slider.scroll_into_view_if_needed()
    page.evaluate("document.querySelector('#camber').scrollIntoView({block: 'end'})")
    picture = page.locator("#tried svg").first.bounding_box()
    moved = slider.bounding_box()
    assert picture["y"] >= 0
    assert picture["y"] + picture["height"] <= moved["y"] < 844
