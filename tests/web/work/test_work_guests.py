"""The work on screen: who may, and what somebody may type by mistake or not."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from forms import mark_in, named, post, token_in
from starlette.testclient import TestClient

import drybuild
from drybuild.journal import Journal
from drybuild.work.as_planned import mark_of


def plan_mark(folder: Path) -> str:
    return mark_of(drybuild.open_build(folder))


# ---- who may


def guest(browser, role: str) -> TestClient:  # type: ignore[no-untyped-def]
    here, away = browser(), browser(away=True)
    token = token_in(here.get("/devices").text)
    page = here.post("/devices/code", data={"token": token, "role": role})
    found = re.search(r"Code (\d{4}) (\d{4})", page.text)
    assert found is not None
    code = found[1] + found[2]
    assert away.post("/pair", data={"code": code, "name": role}).status_code == 303
    away.cookies.set("drybuild-who", "Eve", domain="192.0.2.7")
    return away  # type: ignore[no-any-return]


CARD_POSTS = (
    ("/work/cards/1/who", {"who": "Eve"}),
    ("/work/cards/1/done", {"task": "1"}),
    ("/work/cards/1/undo", {"entry": "1"}),
    ("/work/cards/1/tight", {"joint": "1", "value": "110 N·m", "tool": "wrench"}),
    ("/work/cards/1/seen", {"record": "ride.headlamps_aimed", "value": "x"}),
)
PLAN_POSTS = (
    ("/work/plan", {"near": "anew"}),
    ("/work/plan/stop", {}),
    ("/work/plan/enough", {}),
    ("/work/plan/seen", {}),
)


def test_who_may_look_writes_nothing_and_is_offered_nothing(browser, folder: Path) -> None:  # type: ignore[no-untyped-def]
    assert post(named(browser), "/work/cards/1/done", task="1").status_code == 303
    entries = Journal(folder).entries()
    away = guest(browser, "look")
    page = away.get("/work/cards/1").text
    assert "This device may look" in page
    assert "<form" not in page[page.index("<main") :]
    assert "<form" not in away.get("/work").text
    token = token_in(page)
    for where, fields in (*CARD_POSTS, *PLAN_POSTS):
        data = {"token": token, "mark": plan_mark(folder), **fields}
        assert away.post(where, data=data).status_code == 403, where
    assert Journal(folder).entries() == entries


def test_who_may_work_through_cards_does_and_does_not_plan(browser, folder: Path) -> None:  # type: ignore[no-untyped-def]
    away = guest(browser, "cards")
    page = away.get("/work/cards/1").text
    data = {"token": token_in(page), "mark": plan_mark(folder), "task": "1"}
    assert away.post("/work/cards/1/done", data=data).status_code == 303
    assert Journal(folder).work()[-1].who == "Eve"
    for where, fields in PLAN_POSTS:
        assert away.post(where, data={"token": token_in(page), **fields}).status_code == 403, where


@pytest.mark.parametrize("where", [where for where, _ in (*CARD_POSTS, *PLAN_POSTS)])
def test_a_form_without_this_page_s_token_is_refused(browser, folder: Path, where: str) -> None:  # type: ignore[no-untyped-def]
    here = named(browser)
    fields = dict((*CARD_POSTS, *PLAN_POSTS))[where]
    data = {"token": "0" * 64, "mark": plan_mark(folder), **fields}
    assert here.post(where, data=data).status_code == 403
    assert Journal(folder).entries() == ()


def test_names_are_shown_as_words(browser) -> None:  # type: ignore[no-untyped-def]
    one = named(browser, "<b>Eve</b>")
    assert post(one, "/work/cards/1/done", task="1").status_code == 303
    page = one.get("/work/cards/1").text
    assert "<b>Eve" not in page
    assert "&lt;b&gt;Eve" in page


# ---- what somebody may type by mistake or not

ODD = (
    "", " ", "1e400", "nan", "-0", "9" * 59, "\u0661\u0662", "x\x00y", "\u202e", "\ud800", "--",
    "'\"", "1;2", "2026-02-30", "0000-00-00", "9999-12-31", "{{ 7 * 7 }}", "<i>", "110 N\u00b7m",
)  # fmt: skip


def test_odd_words_are_refused_or_shown_as_words_and_the_journal_stays_whole(  # type: ignore[no-untyped-def]
    browser, folder: Path
) -> None:
    one = named(browser)
    page = one.get("/work/cards/1").text
    own = {"token": token_in(page), "mark": mark_in(page)}
    for odd in ODD:
        sent = odd.encode("utf-8", "surrogatepass").decode("utf-8", "replace")
        asked = [
            ("done", {"task": "1", "hours": sent}),
            ("done", {"task": "1", "left": sent}),
            ("done", {"task": "1", "people": sent}),
            ("done", {"task": "1", "day": sent}),
            ("done", {"task": sent}),
            ("undo", {"entry": sent}),
            ("tight", {"joint": "1", "value": sent, "tool": sent, "second": sent}),
            ("seen", {"record": sent, "value": sent, "tool": sent}),
            ("who", {"who": sent}),
        ]
        for what, fields in asked:
            answer = one.post(f"/work/cards/1/{what}", data={**own, **fields})
            assert answer.status_code in (303, 409, 422), (what, fields, answer.text[:300])
        cards = one.get("/work/cards/1").text
        assert "<i>" not in cards
    assert Journal(folder).verify().fault is None
    assert drybuild.open_build(folder).journal.entries()
