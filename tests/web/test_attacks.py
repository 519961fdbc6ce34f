"""The app attacked on every route, and by devices that were let in for less."""

from __future__ import annotations

import inspect
import os
import re
import shutil
import socket
import threading
import time
from datetime import timedelta
from pathlib import Path

import pytest
from forms import token_in
from starlette.testclient import TestClient

from drybuild.web import guests
from drybuild.web.app import make_app
from drybuild.web.guard import HEADERS
from drybuild.web.guests import Guests
from drybuild.web.pages import pages

TEMPLATES = Path(inspect.getfile(make_app)).parent / "templates"


def left(folder: Path) -> dict[str, bytes]:
    return {
        str(p.relative_to(folder)): p.read_bytes()
        for p in sorted(folder.rglob("*"))
        if p.is_file() and "journal.db-" not in p.name
    }


def paired(browser, role: str) -> tuple[TestClient, TestClient]:  # type: ignore[no-untyped-def]
    here, away = browser(), browser(away=True)
    data = {"token": token_in(here.get("/devices").text), "role": role}
    page = here.post("/devices/code", data=data).text
    code = "".join(re.search(r"Code (\d{4}) (\d{4})", page).groups())  # type: ignore[union-attr]
    assert away.post("/pair", data={"code": code, "name": "phone"}).status_code == 303
    return here, away


# Every route


def routes() -> list[tuple[str, str]]:
    """Method and path of every route of the pages."""
    return [
        (method, route.path)
        for page in pages()
        for route in page.router.routes
        for method in sorted(getattr(route, "methods", None) or ())
    ]


WAYS = (
    "%2e%2e", "..%2f..%2f..%2f..%2fetc%2fpasswd", "%2fetc%2fpasswd", "..%5c..%5cbuild.toml",
    "....%2f%2fbuild.toml", "a%00.toml", "%252e%252e%252fbuild.toml", "build.toml", "~root",
    "%EF%BC%8E%EF%BC%8E%EF%BC%8Fbuild.toml", "a" * 3000, "%F0%9F%9A%97", "%ff%fe", "{0.__class__}",
    "{{7*7}}", "';--", "%0d%0aset-cookie:%20a=b",
)  # fmt: skip


@pytest.mark.parametrize("path", sorted({p for m, p in routes() if m == "GET" and "{" in p}))
def test_no_parameter_is_a_way_into_the_folder_or_out_of_it(  # type: ignore[no-untyped-def]
    browser, folder: Path, path: str
) -> None:
    (folder.parent / "secret.toml").write_text("root:x:0:0 secret", encoding="utf-8")
    here = browser()
    before = left(folder.parent)
    names = re.findall(r"{(\w+)}", path)
    for way in WAYS:
        for name in names:
            asked = re.sub(r"{(\w+)}", lambda m, n=name, w=way: w if m[1] == n else "front", path)
            answer = here.get(asked)
            assert answer.status_code in (303, 307, 400, 404, 422), (asked, answer.status_code)
            assert "root:" not in answer.text, asked
            assert "set-cookie: a" not in str(answer.headers), asked
            for header in HEADERS:
                assert header in answer.headers, asked
    assert left(folder.parent) == before


QUERIES = ("state", "address", "place", "part", "against", "kind", "fuel", "words", "code")


@pytest.mark.parametrize("path", sorted({p for m, p in routes() if m == "GET" and "{" not in p}))
def test_no_question_is_a_way_either(browser, folder: Path, path: str) -> None:  # type: ignore[no-untyped-def]
    here = browser()
    before = left(folder)
    for way in ("../../etc/passwd", "draft:../build", "after:../x", "draft:", "\x00", "é" * 500):
        answer = here.get(path, params=dict.fromkeys(QUERIES, way))
        assert answer.status_code in (200, 303, 400, 404, 409, 422), (path, way, answer.text[:300])
        assert "root:" not in answer.text
    assert left(folder) == before


def test_looking_changes_nothing_and_asks_no_other_machine(  # type: ignore[no-untyped-def]
    browser, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[object] = []
    for name in ("connect", "connect_ex", "sendto"):
        monkeypatch.setattr(socket.socket, name, lambda _, *to: asked.append(to), raising=False)
    for name in ("getaddrinfo", "gethostbyname", "create_connection"):
        monkeypatch.setattr(socket, name, lambda *to, **_: asked.append(to))
    here = browser()
    before = left(folder)
    for method, path in routes():
        if method == "GET" and "{" not in path:
            here.get(path)
    assert left(folder) == before
    assert asked == []


ELSEWHERE = re.compile(r"""(?:src|href|action|url|import|fetch)\W{1,3}(?:https?:)?//[^\s"')]+""")


def test_nothing_that_a_page_is_made_of_names_another_machine() -> None:
    assert ELSEWHERE.search('<img src="//evil.example/x">')
    assert ELSEWHERE.search("fetch('https://evil.example/x')")
    made_of = [p for p in TEMPLATES.parent.rglob("*") if p.suffix in (".j2", ".js", ".css", ".svg")]
    assert len(made_of) > 30
    found = {p.name: ELSEWHERE.findall(p.read_text(encoding="utf-8")) for p in made_of}
    assert {name: said for name, said in found.items() if said} == {}


@pytest.mark.parametrize("path", sorted({p for m, p in routes() if m == "POST" and p != "/pair"}))
def test_a_device_that_may_look_changes_nothing_anywhere(  # type: ignore[no-untyped-def]
    browser, folder: Path, path: str
) -> None:
    _, away = paired(browser, "look")
    token = token_in(away.get("/findings").text)
    before = left(folder)
    asked = re.sub(r"{(\w+)}", "front", path)
    for send in (
        {"data": {"token": token, "who": "x", "words": "x", "entry": "1"}},
        {"files": {"file": ("a.toml", b"form = 1")}, "data": {"token": token}},
        {"json": {}, "headers": {"x-drybuild-token": token}},
        {},
    ):
        assert away.post(asked, **send).status_code == 403  # type: ignore[arg-type]
    stranger = browser(away=True)
    assert stranger.post(asked, data={"token": token}).headers["location"] == "/pair"
    assert left(folder) == before


def test_every_page_that_changes_something_names_the_role_that_may() -> None:
    seen = 0
    for page in pages():
        for route in page.router.routes:
            if "POST" not in (getattr(route, "methods", None) or ()) or route.path == "/pair":
                continue
            source = inspect.getsource(route.endpoint)
            helpers = inspect.getsource(page)
            named = re.search(r"role=\"(cards|edit)\"|\.may\(\"(cards|edit)\"\)", source)
            through = any(
                re.search(rf"def {helper}\b(?:(?!\ndef ).)*role=\"(cards|edit)\"", helpers, re.S)
                for helper in re.findall(r"\b(_\w+)\(", source)
            )
            assert named or through, f"{page.__name__}: {route.path}"
            seen += 1
    assert seen >= 10


@pytest.mark.parametrize(
    ("path", "data"),
    [
        ("/set", {"address": "part.tolland_disc_310.ring_mass", "value": "6 kg"}),
        ("/parts/add", {"kind": "wheel", "fact": "name", "value": "x"}),
        ("/parts/draft", {"place": "wheel.front", "part": "x"}),
        ("/parts/map", {"part": "x", "points": "1; 2; 3"}),
        ("/drafts/x/keep", {}),
        ("/drafts/x/drop", {}),
        ("/corner/front/left/draft", {"offset": "20"}),
        ("/devices/code", {"role": "edit"}),
        ("/devices/out", {"mark": "x"}),
        ("/book/calibrator/note", {"mark": "x"}),
    ],
)
def test_a_device_that_may_work_does_not_edit(  # type: ignore[no-untyped-def]
    browser, folder: Path, path: str, data: dict[str, str]
) -> None:
    _, away = paired(browser, "cards")
    token = token_in(away.get("/findings").text)
    before = left(folder)
    refused = away.post(path, data={"token": token, **data})
    assert refused.status_code == 403
    assert "form is not from this page" not in refused.text
    assert left(folder) == before


def test_a_page_that_breaks_says_nothing_of_the_inside_and_carries_the_policy(  # type: ignore[no-untyped-def]
    app, monkeypatch
) -> None:
    def broken(*_: object, **__: object) -> None:
        raise RuntimeError("a secret place")

    monkeypatch.setattr("drybuild.web.desk.Desk.opened", broken)
    here = TestClient(
        app,
        base_url="http://127.0.0.1:8000",
        client=("127.0.0.1", 1),
        raise_server_exceptions=False,
    )
    answer = here.get("/")
    assert answer.status_code == 500
    assert "secret" not in answer.text
    for name, value in HEADERS.items():
        assert answer.headers[name] == value


@pytest.mark.parametrize(
    ("path", "status", "said"),
    [
        ("/no such page", 404, "There is no such page here"),
        ("/parts/no_such", 404, "no part"),
        ("/drafts/NO", 422, "name:"),
        ("/corner/front/left/tried?camber=<script>x</script>", 422, "camber:"),
        ("/corner/front/left/tried?camber=-1_5", 422, "camber: found"),
        ("/measure/at/x.<script>", 422, "address:"),
        ("/set?address=part.nobody.mass", 404, "nothing is stated"),
    ],
)
def test_an_error_is_a_page_of_ours_with_nothing_of_the_askers_in_it(  # type: ignore[no-untyped-def]
    browser, path: str, status: int, said: str
) -> None:
    here = browser()
    page = here.get(path, headers={"accept": "text/html,*/*;q=0.8"})
    assert (page.status_code, said in page.text) == (status, True), page.text
    ours = '<script src="/static/typed.js" defer></script>'
    assert "<script" not in page.text.replace(ours, "")
    assert page.headers["content-type"].startswith("text/html")
    for name, value in HEADERS.items():
        assert page.headers[name] == value
    data = here.get(path)
    assert data.status_code == status
    assert data.headers["content-type"].startswith("application/json")


def test_a_broken_file_is_said_in_words_on_a_page(browser, folder: Path) -> None:  # type: ignore[no-untyped-def]
    (folder / "car.toml").write_text("format = <b>1", encoding="utf-8")
    page = browser().get("/", headers={"accept": "text/html"})
    assert page.status_code == 500
    assert "car.toml:1" in page.text
    assert "<b>" not in page.text
    assert str(folder) not in page.text


@pytest.mark.parametrize("template", sorted(TEMPLATES.glob("*.j2")), ids=lambda p: p.name)
def test_no_template_has_script_or_style_inside(template: Path) -> None:
    text = template.read_text(encoding="utf-8")
    assert not re.search(r"<script(?![^>]*\bsrc=\"/static/)", text)
    assert not re.search(r"<style|\sstyle=|\son[a-z]+\s*=|javascript:|<iframe|<object|<embed", text)
    assert not re.search(r"(?:src|href|action)=\"(?:https?:)?//", text)
    for form in re.findall(r"<form[^>]*method=\"post\".*?</form>", text, re.S):
        if 'action="/pair"' not in form:
            token = r'<form[^>]*>\s*(<input type="hidden" name="token"|{{ hidden\(token)'
            assert re.search(token, form), form[:200]


# Sessions


def test_one_code_lets_one_of_many_in() -> None:
    kept = Guests()
    code = kept.offer("look").digits
    gate, let_in = threading.Barrier(8), []

    def run() -> None:
        gate.wait()
        let_in.append(kept.pair(code, "phone"))

    threads = [threading.Thread(target=run) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sum(one is not None for one in let_in) == 1
    assert len(kept.all()) == 1


def test_guessing_from_many_places_has_no_more_tries(monkeypatch: pytest.MonkeyPatch) -> None:
    kept = Guests()
    code = kept.offer("look").digits
    wrong = [f"{(int(code) + n) % 10**8:08d}" for n in range(1, 200)]
    threads = [threading.Thread(target=kept.pair, args=(one, "x")) for one in wrong]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert kept.pair(code, "owner") is None
    assert kept.pair(kept.offer("look").digits, "owner") is not None


@pytest.mark.parametrize("code", ["", "0", "٠" * 8, "\ud800" * 8, "1" * 5000])
def test_no_odd_code_gets_in_or_falls_over(code: str) -> None:
    kept = Guests()
    kept.offer("edit")
    assert kept.pair(code, "x") is None


def test_a_session_that_nobody_used_for_long_is_over(monkeypatch: pytest.MonkeyPatch) -> None:
    kept = Guests()
    guest = kept.pair(kept.offer("look").digits, "phone")
    assert guest is not None
    monkeypatch.setattr(guests, "UNUSED", timedelta(seconds=0.05))
    assert kept.known(guest.token) is not None
    time.sleep(0.1)
    assert kept.known(guest.token) is None
    assert not kept.stands(guest)
    assert kept.all() == ()


def test_pages_elsewhere_that_ask_without_a_cookie_fill_no_memory() -> None:
    kept = Guests()
    phone = kept.pair(kept.offer("look").digits, "phone")
    assert phone is not None
    for _ in range(3 * guests.MOST_HERE):
        kept.here()
    assert len(kept._guests) == guests.MOST_HERE + 1
    assert len(kept._used) == guests.MOST_HERE + 1
    assert kept.known(phone.token) is not None


def test_two_builds_beside_each_other_keep_their_own_sessions(folder: Path) -> None:
    """A browser tells ports apart for pages, and not for cookies."""
    apps = {p: make_app(folder, hosts=frozenset({f"127.0.0.1:{p}"})) for p in (8001, 8002)}
    jar: dict[str, str] = {}
    tokens = {}
    for port, app in apps.items():
        one = TestClient(app, base_url=f"http://127.0.0.1:{port}", client=("127.0.0.1", 1),
                         cookies=jar)  # fmt: skip
        tokens[port] = token_in(one.get("/findings").text)
        jar.update(dict(one.cookies))
    assert len(jar) == 2
    for port, app in apps.items():
        one = TestClient(app, base_url=f"http://127.0.0.1:{port}", client=("127.0.0.1", 1),
                         cookies=jar)  # fmt: skip
        assert token_in(one.get("/findings").text) == tokens[port]


@pytest.mark.parametrize("mode", ["no-cors", "cors"])
def test_a_page_elsewhere_loads_nothing_of_ours_unseen(browser, mode: str) -> None:  # type: ignore[no-untyped-def]
    headers = {"sec-fetch-site": "cross-site", "sec-fetch-mode": mode, "sec-fetch-dest": "image"}
    assert browser().get("/corner/front/left/moves?camber=-2", headers=headers).status_code == 403
    framed = {**headers, "sec-fetch-mode": "navigate", "sec-fetch-dest": "iframe"}
    assert browser().get("/", headers=framed).status_code == 403
    link = {**framed, "sec-fetch-dest": "document"}
    assert browser().get("/findings", headers=link).status_code == 200


# Files on the way


def test_two_drafts_of_one_name_at_once_are_two(folder: Path) -> None:
    from drybuild.build import Change
    from drybuild.web.drafts import begin, drafts

    gate, names = threading.Barrier(12), []

    def run(number: int) -> None:
        gate.wait()
        change = Change("set", "corner.front.camber_now", f"-{number} deg")
        names.append(begin(folder, "same words", (change,)))

    threads = [threading.Thread(target=run, args=(n,)) for n in range(12)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(set(names)) == 12
    assert len({d.changes for d in drafts(folder)}) == 12


@pytest.mark.skipif(os.name == "nt", reason="links want rights there")
def test_a_link_in_the_folder_is_no_way_out(  # type: ignore[no-untyped-def]
    browser, folder: Path, tmp_path: Path
) -> None:
    """A folder came with links in it: nothing is written, shown or dropped through them."""
    outside = tmp_path / "outside"
    outside.mkdir()
    (outside / "kept.toml").write_text('format = 1\ntitle = "private words"\nchange = []\n')
    shutil.rmtree(folder / "drafts", ignore_errors=True)
    (folder / "drafts").symlink_to(outside)
    here = browser()
    token = token_in(here.get("/findings").text)
    data = {"token": token, "title": "out", "camber": "-2.4"}
    assert here.post("/corner/front/left/draft", data=data).status_code == 409
    assert here.post("/drafts/kept/drop", data={"token": token}).status_code == 404
    assert "private words" not in here.get("/drafts").text
    assert [p.name for p in outside.iterdir()] == ["kept.toml"]


@pytest.mark.skipif(os.name == "nt", reason="links want rights there")
def test_a_photograph_that_is_a_link_out_is_refused(folder: Path, tmp_path: Path) -> None:
    from drybuild.build import BuildFaults, read_build

    (tmp_path / "private.png").write_bytes(b"\x89PNG\r\n\x1a\n private")
    (folder / "photos").mkdir(exist_ok=True)
    car = folder / "car.toml"
    text = car.read_text(encoding="utf-8")
    named = '\n[[photograph]]\nfile = "odd.png"\nshows = "the car"\n'
    car.write_text(text + named, encoding="utf-8")
    (folder / "photos" / "odd.png").write_bytes(b"\x89PNG\r\n\x1a\n own")
    assert read_build(folder)
    (folder / "photos" / "odd.png").unlink()
    (folder / "photos" / "odd.png").symlink_to(tmp_path / "private.png")
    with pytest.raises(BuildFaults, match="link out of the build's folder"):
        read_build(folder)


def test_the_token_is_for_our_own_pages(browser) -> None:  # type: ignore[no-untyped-def]
    here = browser()
    answer = here.get("/token")
    assert "access-control-allow-origin" not in answer.headers
    assert answer.headers["cross-origin-resource-policy"] == "same-origin"
    cross = {"sec-fetch-site": "cross-site", "sec-fetch-mode": "cors", "sec-fetch-dest": "empty"}
    assert here.get("/token", headers=cross).status_code == 403
    assert browser(away=True).get("/token").headers["location"] == "/pair"
