"""Without a mouse: skip link, focus that is seen, sliders by arrows, forms by Enter."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Page

FOCUS = """() => {
  const e = document.activeElement;
  if (!e || e === document.body) return null;
  const style = getComputedStyle(e), box = e.getBoundingClientRect();
  const drawn = style.outlineStyle !== "none" && parseFloat(style.outlineWidth) >= 2;
  const top = document.elementFromPoint(
    Math.min(Math.max(box.x + box.width / 2, 0), innerWidth - 1),
    Math.min(Math.max(box.y + box.height / 2, 0), innerHeight - 1));
  const own = top && (e.contains(top) || top.contains(e)
    || [...(e.labels || [])].some((l) => l.contains(top)));
  return { at: e.outerHTML.slice(0, 110), seen: drawn && box.width > 0,
    shown: box.bottom > 0 && box.top < innerHeight, over: Boolean(own) };
}"""
MOST = 400
PATHS = [
    "/", "/corner/rear/left", "/engine", "/measure", "/set?address=site.temperature",
    "/parts/compare?place=wheel.rear&part=plover_16x6", "/work/cards/1", "/records",
]  # fmt: skip


def _tabbed(page: Page) -> tuple[int, list[str]]:
    """How many places Tab comes to before it leaves the page, and what is wrong with them."""
    faults = []
    for passed in range(MOST):
        page.keyboard.press("Tab")
        found = page.evaluate(FOCUS)
        if found is None:
            return passed, faults
        if not found["seen"]:
            faults.append(f"focus is not seen: {found['at']}")
        if not found["shown"] or not found["over"]:
            faults.append(f"focus is hidden: {found['at']}")
    pytest.fail(f"tab does not come to the end: {found['at']}")


@pytest.mark.parametrize("path", PATHS)
def test_tab_goes_through_the_page_and_focus_is_seen(looked_at, visit, path) -> None:  # type: ignore[no-untyped-def]
    page = visit()
    page.goto(looked_at.address + path)
    passed, faults = _tabbed(page)
    assert passed > 12
    assert not faults, "\n".join(faults[:10])


def test_a_focus_that_is_not_drawn_would_be_found(looked_at, visit) -> None:  # type: ignore[no-untyped-def]
    page = visit()
    page.goto(looked_at.address)
    page.evaluate("""() => {
      const plain = new CSSStyleSheet();
      plain.replaceSync("* { outline: none !important; } main { visibility: visible; }"
        + "main::after { content: ''; position: fixed; inset: 0; }");
      document.adoptedStyleSheets = [plain];
    }""")
    _, faults = _tabbed(page)
    assert any("not seen" in fault for fault in faults)
    assert any("is hidden" in fault for fault in faults)


def test_the_first_tab_skips_to_the_page(looked_at, visit) -> None:  # type: ignore[no-untyped-def]
    page = visit()
    page.goto(looked_at.address)
    page.keyboard.press("Tab")
    skip = page.locator("a.past")
    assert skip.evaluate("e => e === document.activeElement")
    assert page.evaluate(FOCUS)["shown"]
    page.keyboard.press("Enter")
    assert page.evaluate("document.activeElement.id") == "main"
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.closest('main') !== null")


def test_a_slider_answers_to_the_arrows_and_says_its_figure(own, visit) -> None:  # type: ignore[no-untyped-def]
    page = visit()
    page.goto(own.address + "/corner/rear/left")
    page.wait_for_load_state()  # the script that listens has come
    before = page.locator("#tried").inner_html()
    offset = page.get_by_role("slider", name=re.compile("offset"))
    offset.focus()
    was = float(offset.input_value())
    for _ in range(5):
        page.keyboard.press("ArrowLeft")
    assert float(offset.input_value()) == was - 5
    page.wait_for_function("was => document.getElementById('tried').innerHTML !== was", arg=before)
    assert f"{was - 5:g} mm" in page.locator("output[for=offset]").inner_text()
    said = page.get_by_role("status").filter(has_text=re.compile(r"\d"))
    said.first.wait_for()


def test_a_reading_is_typed_and_sent_by_enter(own, visit) -> None:  # type: ignore[no-untyped-def]
    page = visit()
    page.goto(own.address + "/measure/at/site.temperature")
    page.get_by_label("Reading", exact=True).focus()
    page.keyboard.type("23")
    page.get_by_label("Who took it").focus()
    page.keyboard.type("Ilse")
    page.keyboard.press("Enter")
    page.get_by_role("heading", name=re.compile("^Written down")).wait_for()
