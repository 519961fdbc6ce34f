"""Every page there is, found by following links: a screen reader's rules, both lights, a phone."""

from __future__ import annotations

import json
import re
from pathlib import Path
from urllib.parse import unquote, urlsplit

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

ROOT = Path(__file__).parents[3]
SCREENS = ROOT / "results" / "screens"
"""Where pictures of the pages are kept, to be looked at."""

FOUND_OTHERWISE = {
    "/pair": "a device that nobody has let in yet is sent there",
    "/cures/{check}/{subject}": "only what is short has cures; its workings lead to them",
}
ONE_OF_THEM = {"/cures/{check}/{subject}": "/cures/ride.spring_captive/rear.left"}
"""Pages of which this one is looked at, for want of a link to follow."""

PIECES = {
    "/start": "is the first visit's, before there is a build",
    "/corner/{axle}/{side}/tried": "is the picture beside the sliders",
    "/corner/{axle}/{side}/moves": "is the sentence under the sliders",
    "/book/build-book.html": "is the printed book as one file, behind a form",
    "/work/planning": "is how far the planner came",
}
"""Pages that no link leads to, and pieces of pages, each with its reason."""

GRAVE = ("moderate", "serious", "critical")
STANDARD = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]

PALE = """() => {
  const light = (rgb) => {
    const [r, g, b] = rgb.match(/[0-9.]+/g).slice(0, 3).map((v) => v / 255)
      .map((v) => v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4);
    return 0.2126 * r + 0.7152 * g + 0.0722 * b;
  };
  const behind = (e) => {
    for (let at = e; at; at = at.parentElement) {
      const paint = getComputedStyle(at).backgroundColor;
      if (!/, 0\\)$|transparent/.test(paint)) return paint;
    }
    return "rgb(255, 255, 255)";
  };
  return [...document.querySelectorAll("svg text")].map((e) => {
    const style = getComputedStyle(e);
    const [a, b] = [light(style.fill), light(behind(e))].sort((x, y) => y - x);
    return { ratio: (a + 0.05) / (b + 0.05), at: `${e.textContent}: ${style.fill}` };
  }).filter((found) => found.ratio < 4.5).map((f) => `${f.at} ${f.ratio.toFixed(1)}`);
}"""
"""Words of drawings too pale to be read (WCAG 1.4.3), which the other rules leave open."""

SMALL = """() => {
  const inline = (e) => e.closest("p, li, td, th, dd, figcaption, summary, label") !== null
    && getComputedStyle(e).display === "inline";
  const hidden = (e) => !e.checkVisibility({ visibilityProperty: true })
    || e.closest(".unseen, .past, svg") !== null;
  const aim = (e) => {
    const box = e.getBoundingClientRect();
    const label = e.labels?.[0]?.getBoundingClientRect();
    const larger = /^(radio|checkbox)$/.test(e.type) && label ? label : box;
    return Math.max(box.height, larger.height);
  };
  return [...document.querySelectorAll("main a, nav a, button, input, select, textarea, summary")]
    .filter((e) => e.type !== "hidden" && !hidden(e) && !inline(e) && aim(e) < 43.5)
    .map((e) => `${e.outerHTML.slice(0, 120)}: ${aim(e).toFixed(0)} px`);
}"""
"""Targets lower than a finger; a link inside a sentence is as high as its line (WCAG 2.5.8)."""

WIDER = """() => {
  const root = document.documentElement;
  if (root.scrollWidth <= root.clientWidth) return [];
  return [`${root.scrollWidth} of ${root.clientWidth} px`,
    ...[...document.querySelectorAll("main *")]
      .filter((e) => e.getBoundingClientRect().right > root.clientWidth + 1)
      .slice(0, 5).map((e) => e.outerHTML.slice(0, 120))];
}"""


@pytest.fixture(scope="module")
def reached(looked_at, chrome) -> dict[str, str]:  # type: ignore[no-untyped-def]
    """Template of each page's path → the first of its pages that links lead to, if any."""
    context = chrome.new_context()
    page = context.new_page()
    templates = _templates(context.request.get(f"{looked_at.address}/openapi.json").json())
    found: dict[str, str] = {}
    waiting, seen = ["/"], {"/"}
    while waiting:
        where = waiting.pop(0)
        template = next((t for t, shape in templates.items() if shape.fullmatch(_path(where))), "")
        if not template or template in found:
            continue
        answer = page.goto(looked_at.address + where)
        assert answer is not None
        assert answer.status == 200, (where, answer.status)
        found[template] = where
        links = page.eval_on_selector_all("a[href]", "all => all.map(a => a.getAttribute('href'))")
        for link in links:
            target = link.partition("#")[0]
            if target.startswith("/") and target not in seen:
                seen.add(target)
                waiting.append(target)
    context.close()
    return found | {t: "" for t in templates if t not in found}


def _templates(openapi: dict) -> dict[str, re.Pattern[str]]:  # type: ignore[type-arg]
    """Paths of what a browser shows as a page, those without a parameter first."""
    shown = [
        path for path, methods in openapi["paths"].items()
        if "text/html" in json.dumps(methods.get("get", {}).get("responses", {}).get("200", {}))
    ]  # fmt: skip
    return {
        path: re.compile(re.sub(r"\{[^}]+\}", "[^/]+", path))
        for path in sorted(shown, key=lambda p: (p.count("{"), p))
    }


def _open(page: Page, address: str) -> None:
    answer = page.goto(address)
    assert answer is not None
    assert answer.status == 200, (address, answer.status, answer.text()[:200])


def _path(where: str) -> str:
    return unquote(urlsplit(where).path)


def _named(template: str) -> str:
    return re.sub(r"\W+", "_", template).strip("_") or "home"


@pytest.fixture(scope="module")
def pages(reached) -> dict[str, str]:  # type: ignore[no-untyped-def]
    """Template of each page's path → one of its pages."""
    return {t: where or ONE_OF_THEM.get(t, t) for t, where in reached.items() if t not in PIECES}


def test_what_is_short_leads_to_its_cures(own, visit) -> None:  # type: ignore[no-untyped-def]
    page = visit()
    _open(page, f"{own.address}/workings/ride.spring_captive/rear.left?state=finished")
    page.get_by_role("link", name="What would cure it").click()
    page.wait_for_url(f"**{ONE_OF_THEM['/cures/{check}/{subject}']}")
    assert page.get_by_role("button", name="Try it beside the plan").count() >= 1


def test_links_lead_to_every_page(reached) -> None:  # type: ignore[no-untyped-def]
    missing = {template for template, where in reached.items() if not where}
    assert missing == {*FOUND_OTHERWISE, *PIECES}


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
def test_every_page_reads_well_to_a_screen_reader(pages, looked_at, visit, dark) -> None:  # type: ignore[no-untyped-def]
    page = visit(dark=dark)
    SCREENS.mkdir(parents=True, exist_ok=True)
    faults = []
    for template, where in pages.items():
        _open(page, looked_at.address + where)
        name = f"{_named(template)}-{'dark' if dark else 'wide'}.png"
        page.screenshot(path=SCREENS / name, full_page=True)
        asked = {"runOnly": STANDARD, "resultTypes": ["violations"]}
        for rule in Axe().run(page, options=asked).response["violations"]:
            if rule["impact"] in GRAVE:
                faults += [f"{where}: {rule['id']}: {n['html'][:160]}" for n in rule["nodes"][:4]]
        faults += [f"{where}: too pale: {fault}" for fault in page.evaluate(PALE)[:4]]
    assert not faults, "\n".join(faults)


def test_the_rules_find_what_is_wrong(looked_at, visit) -> None:  # type: ignore[no-untyped-def]
    page = visit("phone")
    page.goto(looked_at.address)
    page.evaluate("""() => {
      document.querySelector("h1").style.color = "#ddd6c4";
      const field = document.createElement("input");
      field.style.width = "70rem"; field.style.maxWidth = "none"; field.style.minHeight = "9px";
      field.style.height = "12px"; field.style.padding = "0";
      document.querySelector("main").append(field);
    }""")
    found = Axe().run(page, options={"runOnly": STANDARD}).response["violations"]
    page.evaluate("() => document.querySelector('svg text').style.fill = '#b9b4a4'")
    assert page.evaluate(PALE)
    grave = {rule["id"] for rule in found if rule["impact"] in GRAVE}
    assert {"color-contrast", "label"} <= grave
    assert page.evaluate(WIDER)
    assert page.evaluate(SMALL)


def test_every_page_fits_a_phone_and_a_finger(pages, looked_at, visit) -> None:  # type: ignore[no-untyped-def]
    page = visit("phone")
    SCREENS.mkdir(parents=True, exist_ok=True)
    faults = []
    for template, where in pages.items():
        _open(page, looked_at.address + where)
        page.screenshot(path=SCREENS / f"{_named(template)}-phone.png", full_page=True)
        faults += [f"{where}: wider than the screen: {fault}" for fault in page.evaluate(WIDER)]
        faults += [f"{where}: small: {fault}" for fault in page.evaluate(SMALL)]
        # WCAG 1.4.10: a page of 1280 px at four times the size
        page.set_viewport_size({"width": 320, "height": 640})
        faults += [f"{where}: wider than 320 px: {fault}" for fault in page.evaluate(WIDER)]
        page.set_viewport_size({"width": 390, "height": 844})
    assert not faults, "\n".join(faults)


def test_every_page_has_one_heading_a_title_and_named_regions(pages, looked_at, visit) -> None:  # type: ignore[no-untyped-def]
    page = visit()
    titles: dict[str, str] = {}
    for where in pages.values():
        _open(page, looked_at.address + where)
        assert page.locator("h1").count() == 1, where
        assert page.locator("html").get_attribute("lang") == "en"
        assert page.title() not in titles, (where, titles[page.title()], page.title())
        titles[page.title()] = where
