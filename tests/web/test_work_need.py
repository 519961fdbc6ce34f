"""Days on which the car is needed, named and taken out on screen."""

from __future__ import annotations

import re
from pathlib import Path

from forms import token_in
from small_demo import copy_with
from starlette.testclient import TestClient

import drybuild
from drybuild.web.app import make_app
from drybuild.web.desk import Desk
from drybuild.work.times import read_needs, read_times

HOST = "127.0.0.1:8000"


def test_a_day_of_need_is_named_and_taken_out(tmp_path: Path) -> None:
    folder = copy_with(tmp_path, ("bar-links", "intake"), ("sat-1", "sat-2"))
    build = folder / "build.toml"
    build.write_text(re.sub(r"\[\[need\]\]\n(.+\n)*", "", build.read_text("utf-8")), "utf-8")
    before = build.read_bytes()
    app = make_app(Desk(folder), hosts=frozenset({HOST}))
    with TestClient(app, base_url=f"http://{HOST}", client=("127.0.0.1", 1)) as here:
        page = here.get("/work").text
        assert "No day is named" in page
        token = token_in(page)
        form = {"token": token, "use": "drive", "weekday": "Monday", "at": "07:00"}
        for wrong in ({"use": "fly"}, {"at": "7h"}, {"at": "07:07"}, {"weekday": "Moonday"},
                      {"weekday": ""}, {"date": "31.12.26"}):  # fmt: skip
            refused = here.post("/work/need", data=form | wrong)
            assert refused.status_code in (409, 422), wrong
            assert build.read_bytes() == before
        added = here.post("/work/need", data=form)
        assert added.status_code == 200, added.text
        seen = "<summary>When you need the car: drive: every Monday, from 07:00</summary>"
        assert seen in added.text  # without opening the fold
        assert "No day is named" not in added.text
        (need,) = drybuild.open_build(folder).build.needs
        assert (need.use, need.day, need.at) == ("drive", "Monday", "07:00")
        assert here.post("/work/need", data=form).status_code == 409  # said already
        once = here.post("/work/need", data=form | {"date": "2027-01-05"})
        assert "drive: 2027-01-05, from 07:00" in once.text
        out = {"token": token, "use": "drive", "day": "2027-01-05", "at": "07:00"}
        assert "2027-01-05, from" not in here.post("/work/need/remove", data=out).text
        out = {"token": token, "use": "drive", "day": "Monday", "at": "07:00"}
        gone = here.post("/work/need/remove", data=out)
        assert "No day is named" in gone.text
        assert drybuild.open_build(folder).build.needs == ()
        assert here.post("/work/need/remove", data=out).status_code == 409


def test_one_date_of_every_week_is_left_out_by_a_press_and_put_back(tmp_path: Path) -> None:
    folder = copy_with(tmp_path, ("bar-links", "intake"), ("sat-1", "sat-2"))
    build = folder / "build.toml"
    far = build.read_text("utf-8").replace('date = "2026-12-05', 'date = "2126-11-30')
    far = far.replace('date = "2026-12-12', 'date = "2126-12-07')
    build.write_text(far, "utf-8")  # Saturdays too, and ahead on whatever day this is run
    app = make_app(Desk(folder), hosts=frozenset({HOST}))
    with TestClient(app, base_url=f"http://{HOST}", client=("127.0.0.1", 1)) as here:
        page = here.get("/work").text
        presses = re.findall(r'<form method="post" action="/work/need/not".*?</form>', page)
        assert [re.findall(r"Not needed then: (.*?)\"", one)[0] for one in presses] == [
            "Mon 2 Dec", "Mon 9 Dec"
        ]  # fmt: skip
        form = dict(re.findall(r'name="(\w+)" value="([^"]*)"', presses[0]))
        assert here.post("/work/need/not", data=form | {"date": "2126-12-03"}).status_code == 409
        said = here.post("/work/need/not", data=form).text
        assert "every Monday, from 07:00, not on Mon 2 Dec" in said
        assert "<s>Mon 2 Dec</s>" in said
        (need,) = drybuild.open_build(folder).build.needs
        assert need.not_on == ("2126-12-02",)
        now = drybuild.open_build(folder).build
        assert [n.session for n in read_needs(now, read_times(now, None, []), [])] == ["sat-2"]
        again = form | {"weekday": "Monday", "date": ""}
        assert here.post("/work/need", data=again).status_code == 409
        assert "<s>" not in here.post("/work/need/not", data=form | {"back": "true"}).text
        assert build.read_text("utf-8") == far


def test_of_two_that_differ_in_rank_alone_the_one_meant_is_taken_out(tmp_path: Path) -> None:
    folder = copy_with(tmp_path, ("bar-links", "intake"), ("sat-1", "sat-2"))
    build = folder / "build.toml"
    without = re.sub(r"\[\[need\]\]\n(.+\n)*", "", build.read_text("utf-8"))
    two = "".join(
        f'\n[[need]]\nuse = "drive"\nday = "Monday"\nat = "07:00"\nwaive = {rank}\n'
        for rank in (1, 2)
    )
    build.write_text(without + two, "utf-8")
    app = make_app(Desk(folder), hosts=frozenset({HOST}))
    with TestClient(app, base_url=f"http://{HOST}", client=("127.0.0.1", 1)) as here:
        page = here.get("/work").text
        forms = re.findall(r'<form [^>]*action="/work/need/remove".*?</form>', page)
        second = dict(re.findall(r'name="(\w+)" value="([^"]*)"', forms[1]))
        assert second["waive"] == "2"
        assert here.post("/work/need/remove", data=second).status_code == 200
        assert [need.waive for need in drybuild.open_build(folder).build.needs] == [1]
        assert here.post("/work/need/remove", data=second).status_code == 409


def test_who_works_alone_reads_on_the_page_what_wants_two(tmp_path: Path) -> None:
    folder = copy_with(tmp_path, ("springs-front",), ("sat-1",))
    build = folder / "build.toml"
    text = build.read_text("utf-8")
    alone = re.sub(r"^people = \[.*\]$", 'people = ["Ilse"]', text, flags=re.MULTILINE)
    build.write_text(alone, "utf-8")
    app = make_app(Desk(folder), hosts=frozenset({HOST}))
    with TestClient(app, base_url=f"http://{HOST}", client=("127.0.0.1", 1)) as here:
        page = here.get("/work").text
    assert "Never more than one person at a time; expected 2 people at once for: " in page
    assert "Somebody else may come for part of a session" in page
