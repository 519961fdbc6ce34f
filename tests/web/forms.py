"""The forms of the app as a browser meets them: what a page carries, what is sent."""

from __future__ import annotations

import re

from starlette.testclient import TestClient


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
