"""What a screen reader says of the pages: names, where they lead, headings, and what was refused.

Chromium's own accessibility tree is read, which is what it hands to a screen reader.
"""

from __future__ import annotations

import re
import shutil
from collections import defaultdict
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path
from typing import Any, NamedTuple
from urllib.parse import urlencode

import pytest
from playwright.sync_api import Error, FilePayload, Page

from real_server import Served, served

MAIN = (
    "/", "/corner/rear/left", "/work", "/work/session/sat-1", "/work/cards", "/work/cards/1",
    "/work/cards/2", "/work/happened", "/measure", "/measure?words=tyre",
    "/measure/at/car.wheelbase", "/set?address=car.wheelbase", "/findings", "/records",
    "/parts", "/parts/add", "/engine", "/book", "/drafts", "/devices",
)  # fmt: skip
NAMED = {
    "link", "button", "textbox", "searchbox", "combobox", "checkbox", "radio", "slider",
    "spinbutton", "Date", "InputTime", "DisclosureTriangle", "image", "progressbar", "region",
    "navigation",
}  # fmt: skip
"""Roles of what must say what it is."""

SHAPES = re.compile("[▼◆■○✓⌫]")
"""Marks for the eye, each beside a word that says the same."""

OPENED = "document.querySelectorAll('details').forEach((one) => { one.open = true; })"

LEADS = """(e) => {
  if (e.matches("a")) return e.href;
  if (e.matches("summary")) return `fold ${[...document.querySelectorAll("summary")].indexOf(e)}`;
  if (!e.form) return `key ${e.dataset.key}`;
  const sent = [...new FormData(e.form, e.type === "submit" ? e : null)];
  return JSON.stringify([e.getAttribute("formaction") ?? e.form.getAttribute("action"), e.type,
    sent.filter(([name]) => name !== "token")]);
}"""
"""Where a link or button leads: its address, or its form with what it sends."""

FOCUSED = """() => {
  const e = document.activeElement;
  const words = (e.getAttribute("aria-describedby") ?? "").split(" ").filter(Boolean)
    .map((id) => document.getElementById(id)?.textContent ?? `nothing is called ${id}`);
  return { id: e.id, amiss: e.getAttribute("aria-invalid"), words: words.join(" ") };
}"""


class Said(NamedTuple):
    """One thing that is read out."""

    role: str
    name: str
    level: int
    node: int


def _read(page: Page) -> list[Said]:
    """All of the page in the order in which it is read."""
    session = page.context.new_cdp_session(page)
    nodes = session.send("Accessibility.getFullAXTree")["nodes"]
    session.detach()
    by_id = {node["nodeId"]: node for node in nodes}
    return list(_below(nodes[0], by_id))


def _below(node: dict[str, Any], by_id: dict[str, dict[str, Any]]) -> Iterator[Said]:
    if not node.get("ignored"):
        told = {p["name"]: p["value"].get("value") for p in node.get("properties", ())}
        name = " ".join(str(node.get("name", {}).get("value", "")).split())
        role = str(node.get("role", {}).get("value", ""))
        yield Said(role, name, int(told.get("level") or 0), node.get("backendDOMNodeId", 0))
    for child in node.get("childIds", ()):
        if child in by_id:
            yield from _below(by_id[child], by_id)


def _faults(page: Page) -> list[str]:
    said = _read(page)
    mute = [f"{one.role} without a name, after {before.name!r}"
            for before, one in pairwise(said)
            if one.role in NAMED and not one.name]  # fmt: skip
    shapes = [f"{one.role} {one.name!r} is read with its shape" for one in said
              if one.role in ("link", "button") and SHAPES.search(one.name)]  # fmt: skip
    legends = [f"a legend of shapes is read: {one.name!r}" for one in said
               if one.role == "StaticText" and len(SHAPES.findall(one.name)) > 1]  # fmt: skip
    return mute + shapes + legends + _twice(said) + _skipped(said) + _alike(page, said)


def _twice(said: list[Said]) -> list[str]:
    """A heading, and right behind it a region that is called the same."""
    heard = [one for one in said if one.role in ("heading", "region")]
    return [f"{one.name!r} is heard twice" for before, one in pairwise(heard)
            if (before.role, one.role) == ("heading", "region")
            and before.name == one.name]  # fmt: skip


def _skipped(said: list[Said]) -> list[str]:
    faults, last = [], 0
    for one in said:
        if one.role == "heading":
            if one.level > last + 1:
                faults.append(f"heading {one.name!r} of level {one.level} after one of {last}")
            last = one.level
    return faults


def _alike(page: Page, said: list[Said]) -> list[str]:
    """Links, buttons and folds of one name that lead to different places."""
    session = page.context.new_cdp_session(page)
    leads: dict[tuple[str, str], set[str]] = defaultdict(set)
    for one in said:
        if one.role not in ("link", "button", "DisclosureTriangle"):
            continue
        found = session.send("DOM.resolveNode", {"backendNodeId": one.node})["object"]
        asked = {"objectId": found["objectId"], "functionDeclaration": _of_this(LEADS),
                 "returnByValue": True}  # fmt: skip
        answer = session.send("Runtime.callFunctionOn", asked)["result"].get("value")
        if answer is not None:
            leads[one.role, one.name].add(str(answer))
    session.detach()
    return [f"{role} {name!r} leads to {len(where)} places: {sorted(where)[:3]}"
            for (role, name), where in leads.items() if len(where) > 1]  # fmt: skip


def _of_this(function: str) -> str:
    """A function of an element, asked of itself; what the browser adds by itself leads nowhere."""
    ours = "this.matches('a, button, summary')"
    return f"function () {{ return {ours} ? ({function})(this) : null; }}"


def _open(page: Page, address: str) -> None:
    page.goto(address)
    page.evaluate(OPENED)


def _read_whole(page: Page, address: str) -> list[str]:
    """The faults of a page; read once more where it brought itself up to date meanwhile."""
    _open(page, address)
    try:
        return _faults(page)
    except Error as error:
        if "No node with given id" not in str(error):
            raise
        _open(page, address)
        return _faults(page)


@pytest.fixture
def garage(planned: Path, tmp_path: Path) -> Iterator[Served]:
    with served(Path(shutil.copytree(planned, tmp_path / "car"))) as one:
        yield one


def test_the_main_pages_are_read_in_order_with_names_that_tell(looked_at, visit) -> None:  # type: ignore[no-untyped-def]
    page = visit()
    faults = []
    for where in MAIN:
        faults += [f"{where}: {fault}" for fault in _read_whole(page, looked_at.address + where)]
    assert not faults, "\n".join(faults)


def test_a_card_in_somebody_s_hands_is_read_so_too(garage, visit, ticked) -> None:  # type: ignore[no-untyped-def]
    page = visit()
    page.goto(f"{garage.address}/work/cards/1")
    page.get_by_role("button", name="Ilse", exact=True).first.click()
    ticked(page)
    page.locator("#task-1.over").wait_for()
    page.evaluate(OPENED)
    assert _faults(page) == []
    cards = page.request.get(f"{garage.address}/work/cards").text()
    for number in range(2, cards.count('<li value="') + 1):
        _open(page, f"{garage.address}/work/cards/{number}")
        assert _faults(page) == [], number


def test_what_is_mute_alike_or_out_of_order_is_found(looked_at, visit) -> None:  # type: ignore[no-untyped-def]
    page = visit()
    page.goto(looked_at.address)
    assert _faults(page) == []
    page.evaluate("""() => document.querySelector("main").insertAdjacentHTML("beforeend",
      `<h4>Too deep</h4><a href="/one"></a><a href="/one">Read</a><a href="/two">Read</a>
       <button>■ Go</button><form action="/a"><button>Send</button></form>
       <form action="/b"><button>Send</button></form>`)""")
    found = "\n".join(_faults(page))
    for words in ("'Too deep' of level 4", "link without a name", "link 'Read' leads to 2",
                  "button '■ Go' is read", "button 'Send' leads to 2"):  # fmt: skip
        assert words in found, (words, found)


NO_PICTURE: FilePayload = {
    "name": "film.jpg", "mimeType": "image/jpeg", "buffer": b"no picture",
}  # fmt: skip

REFUSED = {
    "reading": ("/measure/at/car.wheelbase", {"#reading": "12 parsecs", "#who": "Ilse"},
                "form.keyed button.wide", "expected a length"),
    "fact": ("/set?address=car.wheelbase", {"#value": "12 parsecs"}, "form.sheet button",
             "parsecs"),
    "hours": ("/work/cards/1", {"#hours-1": "many"}, "#task-1 form button.wide",
              "expected hours"),
    "left": ("/work/cards/1", {"#left-1": "some"}, "#task-1 form button.second",
             "expected hours"),
    "happened": ("/work/happened",
                 {"#extra-title": "stud drilled out", "#extra-hours": "long", "#extra-who": "Ilse"},
                 "form[action$='/extra'] button", "expected hours"),
    "photograph": ("/book", {"#photograph-file": "", "#photograph-who": "Ilse"},
                   "form[action='/photographs'] button", "no JPEG and no PNG"),
}  # fmt: skip
"""Page, what is typed, the button, and words of the refusal."""


@pytest.mark.parametrize("kind", REFUSED)
def test_a_refused_field_says_so_and_why_and_has_the_focus(garage, visit, kind: str) -> None:  # type: ignore[no-untyped-def]
    where, typed, button, why = REFUSED[kind]
    page = visit()
    page.goto(garage.address + where)
    if where.startswith("/work/cards"):
        page.get_by_role("button", name="Ilse", exact=True).first.click()
        page.locator(".bar button.main").wait_for()
    page.evaluate(OPENED)
    for field, value in typed.items():
        if field == "#photograph-file":
            page.set_input_files(field, [NO_PICTURE])
        else:
            page.fill(field, value)
    page.locator(button).first.click()
    page.get_by_role("alert").wait_for()
    amiss = next(iter(typed)) if kind != "happened" else "#extra-hours"
    page.wait_for_function("(id) => document.activeElement?.id === id", arg=amiss.removeprefix("#"))
    found = page.evaluate(FOCUSED)
    assert found["amiss"] == "true"
    assert why in found["words"]
    assert page.locator("[aria-invalid=true]").count() == 1


def test_the_first_visit_is_read_so_too(chrome, visit, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    page = visit()
    said = {"first": "wheels", "car": "front-turbo-hatch", "driving": "yes"}
    known = {"tyre": "205/55 R16 91V", "wheel": "6.5Jx16 ET46", "new-wheel": "8Jx17 ET40",
             "new-tyre": "225/45 R17 91W"}  # fmt: skip
    with served(tmp_path / "my-car") as nothing:
        for asked in ({}, said, {**said, **known}):
            page.goto(f"{nothing.address}/start?{urlencode(asked)}")
            page.evaluate(OPENED)
            assert _faults(page) == [], asked
            if not asked:
                continue
            page.fill("#answer", "no such thing")
            page.locator("#answer").press("Enter")
            page.get_by_role("alert").wait_for()
            page.wait_for_function("() => document.activeElement?.id === 'answer'")
            found = page.evaluate(FOCUSED)
            assert found["amiss"] == "true"
            assert page.get_by_role("alert").inner_text() in " ".join(found["words"].split())
