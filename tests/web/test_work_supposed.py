"""What a plan supposes, on the pages of the work: said loudly, refusable, releasing nothing."""

from __future__ import annotations

import json
import re
import time
from pathlib import Path

import pytest
import supposed_car as cars
from forms import token_in

from drybuild.web.planner import Planner
from drybuild.work.plan_file import keep


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return cars.car(tmp_path, None)


def test_what_is_supposed_stands_on_every_page_of_the_first_session(browser, folder: Path) -> None:  # type: ignore[no-untyped-def]
    hand = cars.hand(folder)
    plan = cars.planned(hand)
    keep(hand.opened, hand.todo.problem, plan)
    here = browser()
    page = here.get("/work").text
    assert "<li><a" in page.split("Measure first")[1]
    assert "</a>, " not in page.split("Measure first")[1].split("</ol>")[0]  # no line begins so
    page = _plain(page)
    many = len({one.check for one in plan.supposed})
    said = f"{many} checks come out well that nobody can answer yet"
    assert f"Supposed while planning: {said}" in page
    assert "a supposition releases nothing" in page
    assert page.index("Supposed while planning") < page.index("Next: card 1")
    assert here.get(f"/measure/at/{plan.measure[0].note_as}").status_code == 200
    first, last = plan.steps[0].session, plan.steps[-1].session
    assert said in _plain(here.get(f"/work/session/{first}").text)
    assert said not in _plain(here.get(f"/work/session/{last}").text)
    assert said in _plain(here.get("/work/cards/1").text)
    assert said in _plain(here.get("/work/quote").text)
    assert "no chance of a day covers what is supposed" in _plain(here.get("/work/quote").text)
    free = re.findall(r"<strong>([^<]*)</strong>: nothing recorded", _end(here, last))
    assert not any("drive" in line for line in free)


def test_on_screen_too_it_may_be_refused(browser, folder: Path) -> None:  # type: ignore[no-untyped-def]
    here = browser()
    page = here.get("/work").text
    assert 'name="suppose_nothing"' in page
    token = token_in(page)
    form = {"token": token, "near": "anew", "suppose_nothing": "true"}
    assert here.post("/work/plan", data=form).status_code == 303
    ends = time.monotonic() + 60
    while "<progress" in here.get("/work/planning").text:
        assert time.monotonic() < ends
        time.sleep(0.1)
    page = here.get("/work").text
    assert "No plan meets every need" in page
    assert "nothing was to be supposed" in page
    assert page.lower().count("no plan meets every need") == 1
    assert not (folder / "plan.json").exists()


def test_a_build_that_refuses_it_is_not_asked(browser, folder: Path) -> None:  # type: ignore[no-untyped-def]
    build = folder / "build.toml"
    text = build.read_text(encoding="utf-8")
    build.write_text(text.replace("[work]\n", "[work]\nsuppose = false\n"), encoding="utf-8")
    page = browser().get("/work").text
    assert "The build plans only with what is measured" in page
    assert 'name="suppose_nothing"' not in page


def test_the_planner_supposes_unless_it_is_told_not_to(folder: Path) -> None:
    planner = Planner(folder)
    planner.start("anew", seconds=2)
    ends = time.monotonic() + 60
    while planner.now.running:
        assert time.monotonic() < ends
        time.sleep(0.1)
    assert planner.now.ended == "kept"
    kept = json.loads((folder / "plan.json").read_text(encoding="utf-8"))
    assert cars.CAPTIVE in {one["check"] for one in kept["plan"]["supposed"]}


def _end(here, session: str) -> str:  # type: ignore[no-untyped-def]
    """What the page of a session says of the car at its end."""
    return here.get(f"/work/session/{session}").text.partition("What it may do then")[2]


def _plain(page: str) -> str:
    return " ".join(re.sub(r"<[^>]+>", " ", page).split())
