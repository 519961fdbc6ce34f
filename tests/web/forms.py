"""The forms of the app as a browser meets them: what a page carries, what is sent."""

from __future__ import annotations

import re
from pathlib import Path

from starlette.testclient import TestClient

import drybuild
from drybuild.web.app import make_app
from drybuild.web.workshop import Work, Workshop


def token_in(page: str) -> str:
    """The form token of a page."""
    found = re.search(r'name="drybuild-token" content="([0-9a-f]{64})"', page)
    assert found is not None
    return found[1]


def mark_in(page: str) -> str:
    found = re.search(r'name="mark" value="([0-9a-f]{12})"', page)
    assert found is not None
    return found[1]


def named(browser, who: str = "Ilse", **how: bool) -> TestClient:  # type: ignore[no-untyped-def]
    """A browser whose owner said who they are."""
    one: TestClient = browser(**how)
    token = token_in(one.get("/devices").text)
    answer = one.post("/work/cards/1/who", data={"token": token, "who": who})
    assert answer.status_code == 303
    return one


def post(client: TestClient, where: str, **fields: str):  # type: ignore[no-untyped-def]
    page = client.get("/work/cards/1").text
    return client.post(where, data={"token": token_in(page), "mark": mark_in(page), **fields})


def token_of(client: TestClient) -> str:
    return token_in(client.get("/drafts").text)


def add(client: TestClient, kind: str, by: str = "maker", **facts: str):  # type: ignore[no-untyped-def]
    """Sends the form that adds a part."""
    data = {
        "token": token_of(client), "kind": kind, "by": by, "fact": list(facts),
        "value": list(facts.values()),
    }  # fmt: skip
    return client.post("/parts/add", data=data)


def visit(folder: Path) -> TestClient:
    """A browser on this machine, of a folder of its own."""
    return TestClient(make_app(folder, hosts=frozenset({"127.0.0.1:8000"})),
                      base_url="http://127.0.0.1:8000", client=("127.0.0.1", 1),
                      follow_redirects=False)  # fmt: skip


def on_the_table(folder: Path) -> Work:
    """The plan of a folder as the pages have it."""
    found = Workshop().work(drybuild.open_build(folder))
    assert found is not None
    return found


def bar(page: str) -> str:
    """What the bar under the thumb offers."""
    return page[page.index('<div class="bar"') :]


SPRINGS = {
    "first": "springs", "car": "light-roadster", "driving": "yes", "tyre": "195/50 R15 82V",
    "wheel": "6.5Jx15 4x100 ET40",
}  # fmt: skip
WHEELS = {
    "first": "wheels", "car": "front-turbo-hatch", "driving": "yes", "tyre": "205/55 R16 91V",
    "wheel": "6.5Jx16 ET46", "new-wheel": "8Jx17 ET40", "new-tyre": "225/45 R17 91W",
}  # fmt: skip
"""Answers of two first visits."""
