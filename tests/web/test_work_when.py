"""Work sessions added, changed and taken out on screen."""

from __future__ import annotations

import json
import re
import shutil
import time
from collections import Counter
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest
from forms import token_in
from small_demo import copy_with
from starlette.testclient import TestClient

import drybuild
from drybuild.web.app import make_app
from drybuild.web.desk import Desk
from drybuild.web.planner import Planner
from drybuild.work.at_hand import at_hand
from drybuild.work.examined import plan_examined
from drybuild.work.model import Plan
from drybuild.work.plan_file import keep

HOST = "127.0.0.1:8000"
JOBS = ("bar-links", "intake", "springs-front")
DAYS = ("sat-1", "sat-2", "sat-3")


def test_a_work_session_is_added_from_the_page(tmp_path: Path) -> None:
    """Without a session the page counts the jobs and asks for a day; a bad time is not written."""
    folder = copy_with(tmp_path, JOBS, ())
    build = folder / "build.toml"
    build.write_text(re.sub(r"\[\[need\]\]\n(.+\n)*", "", build.read_text("utf-8")), "utf-8")
    before = build.read_bytes()
    app = make_app(Desk(folder), hosts=frozenset({HOST}))
    with TestClient(app, base_url=f"http://{HOST}", client=("127.0.0.1", 1)) as here:
        page = here.get("/work").text
        assert f"{len(JOBS)} jobs to do" in page
        assert "No job is to do" not in page
        assert "cannot be planned" not in page
        token = token_in(page)
        form = {"token": token, "day": "2027-03-06", "start": "09:00", "end": "17:00"}
        people = "Ilse, Marten 13:00-15:00"
        for wrong in ({"end": "08:00"}, {"day": "6.3.2027"}, {"start": "9h"}, {"people": " , "}):
            refused = here.post("/work/when", data={**form, "people": people, **wrong})
            assert refused.status_code in (409, 422), wrong
            assert build.read_bytes() == before
        gone = here.post("/work/when", data={**form, "people": people, "day": "2020-02-29"})
        assert gone.status_code == 409
        assert "2020-02-29, which is past, expected today or a day ahead" in gone.text
        assert build.read_bytes() == before
        added = here.post("/work/when", data={**form, "people": people})
        assert added.status_code == 200, added.text
        (session,) = drybuild.open_build(folder).build.sessions
        assert (session.id, session.people) == ("sat-1", ("Ilse", "Marten 13:00-15:00"))
        again = here.post("/work/when", data={**form, "people": people})
        assert again.status_code == 409  # the car is in one place at a time


@pytest.fixture(scope="module")
def planned(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = copy_with(tmp_path_factory.mktemp("when"), ("bar-links", "intake"), DAYS)
    opened = drybuild.open_build(folder)
    hand = at_hand(opened)
    found = plan_examined(hand.opened, hand.todo, seconds=2, lessons=hand.lessons)
    assert isinstance(found, Plan)
    keep(opened, hand.todo.problem, found)
    return folder


@pytest.fixture
def here(planned: Path, tmp_path: Path) -> Iterator[TestClient]:
    folder = Path(shutil.copytree(planned, tmp_path / "car"))
    app = make_app(Desk(folder), hosts=frozenset({HOST}))
    with TestClient(
        app, base_url=f"http://{HOST}", client=("127.0.0.1", 1), follow_redirects=False
    ) as client:
        client.folder = folder  # type: ignore[attr-defined]
        yield client


def build_of(here: TestClient) -> Path:
    return Path(here.folder / "build.toml")  # type: ignore[attr-defined]


def form_of(here: TestClient, session: str) -> dict[str, str]:
    """What the page of a session would send."""
    page = here.get(f"/work/when/{session}").text
    main = page[page.index("<main") :]
    names = ("token", "seen", "day", "start", "end", "people")
    found = {name: re.search(rf'name="{name}"[^>]*value="([^"]*)"', main) for name in names}
    return {name: match[1] for name, match in found.items() if match is not None}


def busiest(here: TestClient) -> str:
    plan = json.loads((build_of(here).parent / "plan.json").read_text("utf-8"))["plan"]
    return Counter(str(step["session"]) for step in plan["steps"]).most_common(1)[0][0]


def test_a_session_is_changed_and_the_page_says_what_no_longer_fits(here: TestClient) -> None:
    session = busiest(here)
    day = date.fromisoformat(form_of(here, session)["day"])
    assert f"<h1>Work session {day:%a} {day.day} {day:%b}" in here.get(f"/work/when/{session}").text
    text = build_of(here).read_text("utf-8")
    form = form_of(here, session)
    there = form["people"].split(", ")
    assert len(there) > 1
    short = {**form, "end": "09:30", "people": "Ilse"}
    assert here.post(f"/work/when/{session}", data=short).status_code == 303
    changed = build_of(here).read_text("utf-8")
    assert len(changed.splitlines()) == len(text.splitlines())
    both = zip(text.splitlines(), changed.splitlines(), strict=True)
    differing = [(was, now) for was, now in both if was != now]
    assert differing == [
        ('end = "17:00"', 'end = "09:30"'),
        (f"people = {json.dumps(there)}", 'people = ["Ilse"]'),
    ]
    page = here.get("/work").text
    assert "The plan no longer fits the work sessions" in page
    assert "outside the session as it is now" in page
    assert "Plan again, near to this plan" in page
    form = form_of(here, session)
    back = {**form, "end": "17:00", "people": "Odile"}
    assert here.post(f"/work/when/{session}", data=back).status_code == 303
    page = here.get("/work").text
    assert re.search(r"tasks? planned with Ilse on [^,]+, who is not there then", page)
    assert "outside the session" not in page


def test_a_session_is_taken_out_and_its_tasks_are_counted(here: TestClient) -> None:
    session = busiest(here)
    form = form_of(here, session)
    sent = {"token": form["token"], "seen": form["seen"]}
    assert here.post(f"/work/when/{session}/remove", data=sent).status_code == 303
    assert session not in {s.id for s in drybuild.open_build(build_of(here).parent).build.sessions}
    page = here.get("/work").text
    assert re.search(rf"\d+ tasks planned for [^,]+, and the session {session} is gone", page)
    assert 'value="near"' in page
    assert here.get(f"/work/when/{session}").status_code == 404
    assert here.post(f"/work/when/{session}", data=form).status_code == 404
    assert here.post(f"/work/when/{session}/remove", data=sent).status_code == 404


def test_what_somebody_else_changed_is_not_written_over(here: TestClient) -> None:
    form = form_of(here, "sat-1")
    text = build_of(here).read_text("utf-8")
    other = text.replace('people = ["Ilse", "Marten"]', 'people = ["Ilse"]', 1)
    build_of(here).write_text(other, "utf-8")
    answer = here.post("/work/when/sat-1", data={**form, "start": "10:00"})
    assert answer.status_code == 409
    assert "Somebody changed it meanwhile" in answer.text
    sent = {"token": form["token"], "seen": form["seen"]}
    assert here.post("/work/when/sat-1/remove", data=sent).status_code == 409
    assert build_of(here).read_text("utf-8") == other
    elsewhere = text.replace("percentile = 80", "percentile = 85")
    build_of(here).write_text(elsewhere, "utf-8")
    assert here.post("/work/when/sat-1", data={**form, "start": "10:00"}).status_code == 303
    assert build_of(here).read_text("utf-8") == elsewhere.replace(
        'start = "09:00"', 'start = "10:00"', 1
    ), "what others changed elsewhere stays"


@pytest.mark.parametrize(
    ("wrong", "why"),
    [
        ({"end": "08:00"}, "after the start"),
        ({"day": "soon"}, "a date"),
        ({"start": "9.15"}, "time of day"),
        ({"people": " , "}, "Nobody is there"),
        ({"day": "2026-12-12"}, "overlaps"),
    ],
)
def test_a_session_that_cannot_be_is_not_written(
    here: TestClient, wrong: dict[str, str], why: str
) -> None:
    before = build_of(here).read_bytes()
    answer = here.post("/work/when/sat-1", data={**form_of(here, "sat-1"), **wrong})
    assert answer.status_code == 409
    assert why in answer.text
    assert build_of(here).read_bytes() == before


@pytest.mark.parametrize(
    ("before", "named", "why"),
    [
        ('id = "intake"\n', 'session = "sat-1"\n', "names it in the job intake"),
        ('id = "intake"\n', 'booked = ["sat-1", "sat-2"]\n', "names it in the job intake"),
        ("", '\n[[need]]\nuse = "move"\nafter = "sat-1"\n', "the use move that is needed after it"),
        ("", '\n[[lent]]\ntool = "rack"\nsessions = ["sat-1"]\n', "the tool rack that is lent"),
    ],
)
def test_a_session_that_something_else_names_stays(
    here: TestClient, before: str, named: str, why: str
) -> None:
    text = build_of(here).read_text("utf-8")
    booked = text.replace(before, before + named) if before else text + named
    assert booked != text
    build_of(here).write_text(booked, "utf-8")
    form = form_of(here, "sat-1")
    answer = here.post(
        "/work/when/sat-1/remove", data={"token": form["token"], "seen": form["seen"]}
    )
    assert answer.status_code == 409
    assert why in answer.text
    assert build_of(here).read_text("utf-8") == booked


@pytest.mark.parametrize("how", ["gone", "alone"])
def test_the_plan_after_it_says_which_session_moved_a_job(here: TestClient, how: str) -> None:
    session = busiest(here)
    form = form_of(here, session)
    if how == "gone":
        sent = {"token": form["token"], "seen": form["seen"]}
        assert here.post(f"/work/when/{session}/remove", data=sent).status_code == 303
    else:
        short = {**form, "end": "09:30", "people": "Ilse"}
        assert here.post(f"/work/when/{session}", data=short).status_code == 303
    planner = Planner(build_of(here).parent)
    planner.start("near", seconds=2)
    ends = time.monotonic() + 90
    while planner.now.running:
        assert time.monotonic() < ends, "the planner took too long"
        time.sleep(0.05)
    assert planner.now.ended == "kept", planner.now
    moved = planner.now.moved
    assert moved
    why = f"the session {session} is gone" if how == "gone" else "outside the session as it is now"
    assert any(re.search(rf"from .* to .*, because .*{why}", line) for line in moved), moved
