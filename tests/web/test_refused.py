"""A form that is refused: a browser can show the answer again, and nobody else can."""

from __future__ import annotations

import asyncio
import re

from forms import token_in
from starlette.requests import Request
from starlette.testclient import TestClient
from starlette.types import ASGIApp
from tests.web.conftest import Browser

from drybuild.web import kept

PAGE = {"accept": "text/html,*/*;q=0.8", "referer": "http://127.0.0.1:8000/measure/at/car.wheelbase"}
WRONG = {"reading": "12 parsecs", "who": "Ann"}


def _sent(here, data=WRONG, to="/measure/at/car.wheelbase", **headers):  # type: ignore[no-untyped-def]
    token = token_in(here.get("/").text)
    return here.post(to, data={"token": token, **data}, headers={**PAGE, **headers})


def test_a_refused_form_leads_to_a_page_that_can_be_loaded_again(browser: Browser) -> None:
    here = browser()
    answer = _sent(here)
    assert answer.status_code == 303
    there = answer.headers["location"]
    assert re.fullmatch(r"/measure/at/car\.wheelbase\?refused=[\w-]{16}", there)
    for _ in range(2):
        page = here.get(there)
        assert page.status_code == 409
        assert 'value="12 parsecs"' in page.text
        assert page.headers["cache-control"] == "no-store"


def test_what_is_taken_goes_its_way(browser: Browser) -> None:
    answer = _sent(browser(), {"reading": "2330 mm", "who": "Ann"})
    assert answer.status_code == 303
    assert "receipt=" in answer.headers["location"]


def test_a_program_is_told_at_once(browser: Browser) -> None:
    assert _sent(browser(), accept="*/*").status_code == 409


def test_it_leads_to_no_other_place(browser: Browser) -> None:
    for elsewhere in ("http://127.0.0.1:8000//evil.example/x", "http://127.0.0.1:8000", "http://["):
        answer = _sent(browser(), referer=elsewhere)
        assert "evil" not in answer.headers.get("location", "")
        assert answer.status_code in (403, 409)


def test_nobody_else_sees_it(browser: Browser) -> None:
    there = _sent(browser()).headers["location"]
    other = browser().get(there)
    assert other.status_code == 200
    assert "parsecs" not in other.text


def test_a_mark_that_is_not_kept_shows_the_page_itself(browser: Browser) -> None:
    page = browser().get("/measure/at/car.wheelbase?refused=nothing")
    assert (page.status_code, "role=\"alert\"" in page.text) == (200, False)


def test_refused_again_and_again_it_stays_one_mark_and_few_are_kept(
    browser: Browser, monkeypatch
) -> None:  # type: ignore[no-untyped-def]
    monkeypatch.setattr(kept, "MOST", 3)
    here = browser()
    first = _sent(here).headers["location"]
    marks = [first]
    for _ in range(3):
        back = "http://127.0.0.1:8000" + marks[-1]
        marks.append(_sent(here, referer=back).headers["location"])
    assert all(mark.count("refused=") == 1 for mark in marks)
    assert here.get(first).status_code == 200
    assert here.get(marks[-1]).status_code == 409


def test_a_page_without_the_form_says_what_was_typed(browser: Browser) -> None:
    here = browser()
    answer = _sent(
        here, {"title": "one <b>out", "state": "finished"}, to="/corner/rear/left/draft",
        referer="http://127.0.0.1:8000/corner/rear/left?state=finished",
    )  # fmt: skip
    page = here.get(answer.headers["location"])
    assert page.status_code == 409
    assert "<dt>Title</dt><dd>one &lt;b&gt;out</dd>" in page.text
    assert "finished</dd>" not in page.text
    assert 'href="/corner/rear/left?state=finished"' in page.text


def test_what_is_amiss_in_a_field_is_said_in_words(browser: Browser) -> None:
    page = browser().get("/parts/compare", headers=PAGE).text
    assert "place: not said<br>part: not said" in page
    page = browser().get("/parts/compare?place=wheel.rear&part=" + "x" * 500, headers=PAGE).text
    assert "part: " in page
    for word in ("Field required", "String should", "pattern"):
        assert word not in page


def _passed_on(kind: str, parts: list[bytes]) -> tuple[list[bytes], bytearray | None]:
    """What the page hears of a form, and what is held of it meanwhile."""
    scope = {
        "type": "http", "method": "POST", "path": "/", "query_string": b"", "state": {},
        "headers": [(b"content-type", kind.encode())],
    }  # fmt: skip
    messages = [{"type": "http.request", "body": body, "more_body": True} for body in parts]

    async def receive():  # type: ignore[no-untyped-def]
        return messages.pop(0)

    async def all_of_it() -> list[bytes]:
        heard = kept._heard(Request(scope), receive)
        return [(await heard())["body"] for _ in parts]

    return asyncio.run(all_of_it()), scope["state"].get("sent")  # type: ignore[attr-defined]


def test_no_file_and_no_long_form_is_held_a_second_time() -> None:
    parts = [b"a=1&", b"b=" + b"x" * 500]
    assert _passed_on(kept.TYPED, parts) == (parts, bytearray(b"".join(parts)))
    assert _passed_on("multipart/form-data; boundary=q", parts) == (parts, None)
    long = [b"x" * 40_000, b"y" * 40_000, b"z"]
    assert _passed_on(kept.TYPED, long) == (long, bytearray())


def test_a_long_form_that_is_refused_is_answered_all_the_same(browser: Browser) -> None:
    here = browser()
    answer = _sent(
        here, {"title": "y" * 70_000, "state": "finished"}, to="/corner/rear/left/draft",
        referer="http://127.0.0.1:8000/corner/rear/left?state=finished",
    )  # fmt: skip
    page = here.get(answer.headers["location"])
    assert page.status_code == 422
    assert "title: too long, 60 letters at the most" in page.text
    assert "yyyy" not in page.text


def test_a_fault_of_ours_is_a_page_with_the_way_on(app: ASGIApp, monkeypatch) -> None:  # type: ignore[no-untyped-def]
    def broken(frame: object) -> None:
        raise IndexError("tuple index out of range")

    monkeypatch.setattr("drybuild.web.pages.work.found_work", broken)
    here = TestClient(
        app, base_url="http://127.0.0.1:8000", client=("127.0.0.1", 50000),
        raise_server_exceptions=False,
    )  # fmt: skip
    page = here.get("/work", headers=PAGE)
    assert page.status_code == 500
    assert "The fault is in Drybuild, not in what you did" in page.text
    assert "(IndexError)" in page.text
    assert "tuple index" not in page.text
    for where in ("/", "/measure", "/records", "/book", "/records#journal"):
        assert f'href="{where}"' in page.text
    said = here.get("/work", headers={"accept": "text/plain"})
    assert (said.status_code, "<" in said.text) == (500, False)
