"""The guard before the app, attacked: each of its promises has somebody who tries to break it."""

from __future__ import annotations

import asyncio
import re
from pathlib import Path

import pytest
from forms import token_in
from starlette.responses import Response
from starlette.testclient import TestClient
from starlette.types import Message, Receive, Scope, Send
from tests.web.conftest import HOSTS

from drybuild.web.app import make_app
from drybuild.web.guard import BODY, HEADERS, Guard
from drybuild.web.guests import Guests


def token_of(client: TestClient, where: str = "/devices") -> str:
    return token_in(client.get(where).text)


def code_from(client: TestClient, role: str = "look") -> str:
    page = client.post("/devices/code", data={"token": token_of(client), "role": role}).text
    found = re.search(r"Code (\d{4}) (\d{4})", page)
    assert found is not None
    return found[1] + found[2]


def paired(browser, role: str = "look", name: str = "phone"):  # type: ignore[no-untyped-def]
    here, away = browser(), browser(away=True)
    code = code_from(here, role)
    assert away.post("/pair", data={"code": code, "name": name}).status_code == 303
    return here, away, code


# A page elsewhere reaches the app under a name of its own (DNS rebinding).
@pytest.mark.parametrize("host", ["evil.example", "evil.example:8000", "127.0.0.1", "localhost:1"])
def test_no_other_name_reaches_the_app(browser, host: str) -> None:  # type: ignore[no-untyped-def]
    assert browser().get("/", headers={"host": host}).status_code == 421


@pytest.mark.parametrize(
    "headers",
    [
        {"origin": "http://evil.example"},
        {"origin": "null"},
        {"referer": "http://evil.example/page"},
        {"origin": "http://127.0.0.1:9999"},
        {"sec-fetch-site": "cross-site"},
        {"sec-fetch-site": "same-site"},
    ],
)
def test_a_change_sent_from_another_page_is_refused_even_with_the_right_token(  # type: ignore[no-untyped-def]
    browser, headers: dict[str, str]
) -> None:
    here = browser()
    data = {"token": token_of(here), "role": "look"}
    assert here.post("/devices/code", data=data, headers=headers).status_code == 403
    assert here.post("/devices/code", data=data).status_code == 200


@pytest.mark.parametrize("token", ["", "0" * 64, None])
def test_a_form_without_the_token_of_this_browser_is_refused(  # type: ignore[no-untyped-def]
    browser, token: str | None
) -> None:
    here = browser()
    token_of(here)
    data = {"role": "look"} if token is None else {"token": token, "role": "look"}
    assert here.post("/devices/code", data=data).status_code == 403
    assert here.post("/devices/code", json=data).status_code == 403
    headers = {"x-drybuild-token": token or ""}
    assert here.post("/devices/code", data={"role": "look"}, headers=headers).status_code == 403


def test_the_token_of_another_browser_is_of_no_use(browser) -> None:  # type: ignore[no-untyped-def]
    one, other = browser(), browser()
    stolen = token_of(one)
    token_of(other)
    assert other.post("/devices/code", data={"token": stolen, "role": "look"}).status_code == 403


def test_every_answer_forbids_what_is_not_the_apps_own(browser) -> None:  # type: ignore[no-untyped-def]
    here, away = browser(), browser(away=True)
    answers = [
        here.get("/"), here.get("/static/sheet.css"), here.get("/no such page"),
        here.post("/devices/code", data={}), away.get("/"), away.get("/pair"),
        here.get("/", headers={"host": "evil.example"}),
    ]  # fmt: skip
    for answer in answers:
        for name, value in HEADERS.items():
            assert answer.headers[name] == value
    policy = answers[0].headers["content-security-policy"]
    assert "unsafe" not in policy
    assert "default-src 'none'" in policy


def test_pages_need_nothing_that_the_policy_forbids(browser) -> None:  # type: ignore[no-untyped-def]
    here = browser()
    routes = [
        r for r in here.get("/openapi.json").json()["paths"].items()
        if "get" in r[1] and "{" not in r[0] and r[0] not in ("/events",)
    ]  # fmt: skip
    assert len(routes) >= 3
    for path, _ in routes:
        answer = here.get(path)
        if "text/html" not in answer.headers.get("content-type", ""):
            continue
        text, policy = answer.text, answer.headers["content-security-policy"]
        if policy != HEADERS["content-security-policy"]:
            # A page to keep has its own style inside it; it runs and reaches nothing at all.
            assert "default-src 'none'" in policy, path
            assert "sandbox" in policy, path
            assert "allow-" not in policy, path
            assert not re.search(r"script-src|connect-src|form-action", policy), path
            assert "<script" not in text, path
            continue
        assert not re.search(r"<script(?![^>]*\bsrc=)", text), path
        assert not re.search(r"<style|\sstyle=|\son[a-z]+=|javascript:", text), path
        assert not re.search(r'(?:src|href|action)="(?:https?:)?//', text), path


def test_the_cookie_is_kept_from_scripts_and_from_other_sites(browser) -> None:  # type: ignore[no-untyped-def]
    told = browser().get("/devices").headers["set-cookie"]
    assert "HttpOnly" in told
    assert "SameSite=Strict" in told


def test_a_device_that_was_not_let_in_sees_only_where_to_type_its_code(browser) -> None:  # type: ignore[no-untyped-def]
    away = browser(away=True)
    for path in ("/", "/devices", "/openapi.json", "/events", "/no such page"):
        answer = away.get(path)
        assert (answer.status_code, answer.headers["location"]) == (303, "/pair")
        assert "Plover" not in answer.text
    assert "Plover" not in away.get("/pair").text


def test_without_share_nobody_else_is_answered(folder: Path, browser) -> None:  # type: ignore[no-untyped-def]
    alone = make_app(folder, hosts=frozenset({"127.0.0.1:8000", "192.0.2.7:8000"}))
    assert browser(away=True, serving=alone).get("/pair").status_code == 403
    here = browser(serving=alone)
    said = here.post("/devices/code", data={"token": token_of(here), "role": "look"})
    assert said.status_code == 409


def test_both_ends_of_a_plain_link_say_that_it_is_not_encrypted(browser) -> None:  # type: ignore[no-untyped-def]
    here, away = browser(), browser(away=True)
    page = here.post("/devices/code", data={"token": token_of(here), "role": "look"}).text
    assert "The link on the local network is not encrypted." in page
    assert "This link is not encrypted." in away.get("/pair").text


def test_a_code_lets_one_device_in_once(browser) -> None:  # type: ignore[no-untyped-def]
    _, away, code = paired(browser)
    assert away.get("/").status_code == 200
    assert browser(away=True).post("/pair", data={"code": code}).status_code == 403


@pytest.mark.parametrize("gap", [" ", "-", "\u2009", " – "])
def test_a_code_may_be_typed_as_it_is_shown(browser, gap) -> None:  # type: ignore[no-untyped-def]
    here = browser()
    code = code_from(here)
    typed = f" {code[:4]}{gap}{code[4:]} "
    assert browser(away=True).post("/pair", data={"code": typed}).status_code == 303


def test_guessing_ends_the_code(browser) -> None:  # type: ignore[no-untyped-def]
    here, away = browser(), browser(away=True)
    code = code_from(here)
    for _ in range(10):
        wrong = f"{(int(code) + 1) % 10**8:08d}"
        assert away.post("/pair", data={"code": wrong}).status_code == 403
    assert away.post("/pair", data={"code": code}).status_code == 403


def test_an_old_code_lets_nobody_in(browser, monkeypatch) -> None:  # type: ignore[no-untyped-def]
    from datetime import timedelta

    monkeypatch.setattr("drybuild.web.guests.CODE_LASTS", timedelta(seconds=-1))
    code = code_from(browser())
    assert browser(away=True).post("/pair", data={"code": code}).status_code == 403


def test_a_session_that_is_taken_back_is_over(browser) -> None:  # type: ignore[no-untyped-def]
    here, away, _ = paired(browser, name="Marten's phone")
    page = here.get("/devices").text
    assert "Marten&#39;s phone" in page
    (mark,) = re.findall(r'name="mark" value="([0-9a-f]{10})"', page)
    here.post("/devices/out", data={"token": token_of(here), "mark": mark})
    assert away.get("/").headers["location"] == "/pair"


@pytest.mark.parametrize("taken_out", [False, True])
def test_a_form_under_way_ends_with_the_session_that_sent_it(taken_out: bool) -> None:
    """A slow form: its first half comes before the session is taken back, the rest after it."""
    taken: list[str] = []
    guests = Guests()

    async def page(scope: Scope, receive: Receive, send: Send) -> None:
        taken.append((await receive())["body"].decode())
        await Response("written")(scope, receive, send)

    guard = Guard(page, guests, HOSTS, share=True)
    guest = guests.pair(guests.offer("edit").digits, "lent")
    assert guest is not None
    form = f"token={guests.form_token(guest)}&words=late".encode()
    halves = [form[:20], form[20:]]

    async def receive() -> Message:
        if len(halves) == 1 and taken_out:
            assert guests.revoke(guest.mark)
        return {"type": "http.request", "body": halves.pop(0), "more_body": bool(halves)}

    answers: list[int] = []

    async def send(message: Message) -> None:
        if message["type"] == "http.response.start":
            answers.append(message["status"])

    head = {
        "host": "127.0.0.1:8000", "cookie": f"drybuild-8000={guest.token}",
        "content-type": "application/x-www-form-urlencoded", "content-length": str(len(form)),
    }  # fmt: skip
    scope = {
        "type": "http", "method": "POST", "path": "/records/remark", "query_string": b"",
        "scheme": "http", "client": ("192.0.2.9", 1), "server": ("127.0.0.1", 8000),
        "headers": [(k.encode(), v.encode()) for k, v in head.items()],
    }  # fmt: skip
    asyncio.run(guard(scope, receive, send))
    assert (answers, taken) == (([403], []) if taken_out else ([200], [form.decode()]))


def test_a_guest_makes_no_codes_and_takes_no_session_back(browser) -> None:  # type: ignore[no-untyped-def]
    _, away, _ = paired(browser, role="edit")
    token = token_of(away, "/")
    assert away.get("/devices").status_code == 403
    assert away.post("/devices/code", data={"token": token, "role": "edit"}).status_code == 403
    assert away.post("/devices/out", data={"token": token, "mark": "0"}).status_code == 403


def test_a_name_is_text_and_nothing_else(browser) -> None:  # type: ignore[no-untyped-def]
    here, _, _ = paired(browser, name="<script>alert(1)</script>")
    assert "<script>alert" not in here.get("/devices").text


def test_a_body_beyond_all_use_is_refused_by_what_it_says_and_by_what_it_is(browser) -> None:  # type: ignore[no-untyped-def]
    here = browser()
    token = token_of(here)
    big = b"token=" + token.encode() + b"&role=look&x=" + b"a" * BODY
    kind = {"content-type": "application/x-www-form-urlencoded"}
    assert here.post("/devices/code", content=big, headers=kind).status_code == 413

    def in_pieces():  # type: ignore[no-untyped-def]
        yield from (big[i : i + 65536] for i in range(0, len(big), 65536))

    assert here.post("/devices/code", content=in_pieces(), headers=kind).status_code == 413


@pytest.mark.parametrize(
    "path",
    ["/static/../desk.py", "/static/%2e%2e/desk.py", "/static/..%2fdesk.py",
     "/static/%2e%2e%2f%2e%2e%2f__init__.py", "/static//etc/passwd"],
)  # fmt: skip
def test_no_path_leads_out_of_what_is_served(browser, path: str) -> None:  # type: ignore[no-untyped-def]
    assert browser().get(path).status_code == 404


def test_the_square_is_dark_on_light_whatever_the_page_is(browser) -> None:  # type: ignore[no-untyped-def]
    from urllib.parse import unquote

    here = browser()
    data = {"token": token_of(here), "role": "cards"}
    page = here.post("/devices/code", data=data).text
    picture = unquote(re.search(r'src="data:image/svg\+xml[^,]*,([^"]+)"', page)[1])  # type: ignore[index]
    assert "fill='#fff'" in picture
    assert "it may work." in page


def test_after_a_new_start_two_requests_at_once_leave_one_session(folder: Path, browser) -> None:  # type: ignore[no-untyped-def]
    """Each answer gives the browser a cookie, and the last stands: it must be that of each page."""
    old = browser().get("/measure").cookies["drybuild-8000"]
    anew = make_app(folder, hosts=HOSTS)
    answers = []
    for _ in range(3):  # two tabs, and what was under way with the old one
        tab = browser(serving=anew)
        answers.append(tab.get("/token", headers={"cookie": f"drybuild-8000={old}"}))
    tokens = {answer.text for answer in answers}
    given = [answer.cookies.get("drybuild-8000") for answer in answers]
    assert len(tokens) == 1
    assert len(set(given)) == 1
    assert given[0] not in (None, old)
    page = browser(serving=anew).get("/token", headers={"cookie": f"drybuild-8000={given[0]}"})
    assert page.text in tokens


def test_a_session_cannot_be_told_from_the_cookie_that_was_brought(folder: Path, browser) -> None:  # type: ignore[no-untyped-def]
    given = set()
    for _ in range(2):
        here = browser(serving=make_app(folder, hosts=HOSTS))
        answer = here.get("/token", headers={"cookie": "drybuild-8000=chosen-by-somebody-else"})
        given.add(answer.cookies["drybuild-8000"])
    assert len(given) == 2


@pytest.mark.parametrize("role", ["look", "cards"])
def test_no_page_offers_a_device_what_is_refused_to_it(browser, role: str) -> None:  # type: ignore[no-untyped-def]
    here, away, _ = paired(browser, role=role)
    title = here.post(
        "/corner/front/left/draft",
        data={"token": token_of(here, "/corner/front/left"), "camber": "-2", "title": "camber"},
    ).headers["location"]
    pages = (
        "/", "/corner/front/left", title, "/drafts", "/parts", "/work", "/records", "/measure",
        "/findings", "/book",
    )  # fmt: skip
    for page in pages:
        text = away.get(page).text
        for action in re.findall(r'<form[^>]*method="post" action="([^"]+)"', text):
            form = text.partition(f'action="{action}"')[2].partition("</form>")[0]
            if re.search(r'<button(?! type="reset")', form):
                sent = away.post(action, data={"token": token_in(text)})
                assert sent.status_code != 403, (page, action)


def test_a_refusal_says_how_far_the_device_reaches(browser) -> None:  # type: ignore[no-untyped-def]
    _, away, _ = paired(browser, role="cards")
    sent = away.post("/corner/front/left/draft", data={"token": token_of(away, "/records")})
    assert sent.status_code == 403
    assert "may work through cards and write readings; drafts" in sent.text
    assert "not change anything" not in sent.text


def test_a_device_that_may_not_plan_reads_where_that_is_done(browser) -> None:  # type: ignore[no-untyped-def]
    _, away, _ = paired(browser, role="cards")
    assert "planned at the machine that Drybuild runs on" in away.get("/work").text
