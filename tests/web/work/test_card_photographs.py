"""Photographs of a card: what it asks for is offered, kept under its task, shown, taken back."""

from __future__ import annotations

import io
import re
from pathlib import Path

from forms import mark_in, named, token_in
from PIL import Image
from starlette.testclient import TestClient

import drybuild
from drybuild.examine.photographs import kept


def picture() -> bytes:
    out = io.BytesIO()
    Image.new("RGB", (300, 200), "grey").save(out, "JPEG")
    return out.getvalue()


def send(client: TestClient, number: int, **fields: str):  # type: ignore[no-untyped-def]
    page = client.get("/work/cards/1").text
    mark = fields.get("mark") or mark_in(page)
    data = {"token": token_in(page), "card": str(number), **fields, "mark": mark}
    return client.post("/photographs", data=data, files={"file": ("p.jpg", picture())})


def test_a_card_offers_what_it_asks_for_and_shows_what_was_taken(browser, folder: Path) -> None:  # type: ignore[no-untyped-def]
    here = named(browser)
    number, wanted = next(
        (n, asked)
        for n in range(1, 30)
        if (asked := here.get(f"/work/cards/{n}").text.partition('name="shows" value="')[2])
    )
    shows = wanted.partition('"')[0]
    answer = send(here, number, shows=shows)
    assert answer.headers["location"] == f"/work/cards/{number}#photographs"
    opened = drybuild.open_build(folder)
    [one] = kept(opened)
    assert (one.shows, one.by) == (shows, "Ilse")
    assert one.task
    page = here.get(f"/work/cards/{number}").text
    assert f'src="/photographs/{one.entry}.jpg"' in page
    assert f'name="shows" value="{shows}"' not in page
    assert f"/photographs/{one.entry}.jpg" not in here.get("/book").text
    # it is no reason to plan again: nothing about the work is another than was known
    assert "stands beside the plan" not in here.get("/work").text
    back = {"token": token_in(page), "entry": str(one.entry), "who": "Ilse",
            "back": f"/work/cards/{number}"}  # fmt: skip
    assert here.post("/records/undo", data=back).status_code == 303
    page = here.get(f"/work/cards/{number}").text
    assert f"/photographs/{one.entry}.jpg" not in page
    assert f'name="shows" value="{shows}"' in page


def test_a_photograph_is_not_sent_without_words_where_a_card_has_none_for_it(browser) -> None:  # type: ignore[no-untyped-def]
    """A browser that knows the field is wanted keeps the file that was chosen."""
    here = named(browser)
    seen = set()
    count = int(re.findall(r"Card 1 of (\d+)", here.get("/work/cards/1").text)[0])
    for n in range(1, count + 1):
        page = here.get(f"/work/cards/{n}").text
        words = re.findall(r'<input id="photograph-other"[^>]*>', page)[0]
        offered = 'name="shows"' in page
        assert ("required" in words) != offered
        seen.add(offered)
    assert seen == {True, False}


def test_a_card_of_another_plan_or_of_nobody_takes_none(browser, folder: Path) -> None:  # type: ignore[no-untyped-def]
    here = named(browser)
    for fields, said in (
        ({"mark": "0" * 12}, "planned again meanwhile"),
        ({"shows": ""}, "what is to be seen"),
    ):
        answer = send(here, 1, **{"shows": "x", **fields})
        assert answer.status_code == 409
        assert said in answer.text
    assert send(here, 9999, shows="x").status_code == 404
    nobody = browser()
    assert "Take one" not in nobody.get("/work/cards/1").text
    answer = send(nobody, 1, shows="x", mark=mark_in(here.get("/work/cards/1").text))
    assert answer.status_code == 409
    assert kept(drybuild.open_build(folder)) == ()
